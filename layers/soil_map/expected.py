"""Which tables and columns of a soil survey are read, and what is not known without them."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from layers.soil_map.survey import LAYER, RawSurvey
from suitability.errors import InputError, listed
from suitability.notes import Note


@dataclass(frozen=True)
class Wanted:
    """One survey table: columns it must have, columns read where it has them, what it tells."""

    must: tuple[str, ...]
    may: tuple[str, ...]
    tells: str
    required: bool = False


# Names as in the survey's own list of columns (mstabcol).
TABLES: dict[str, Wanted] = {
    "mapunit": Wanted(("mukey",), ("musym", "muname", "mukind"), "names of map units"),
    "component": Wanted(
        must=("cokey", "mukey", "compname", "comppct_r"),
        may=(
            *("compkind", "majcompflag", "slope_r", "drainagecl", "hydgrp", "hydricrating"),
            *("localphase", "otherph", "geomdesc"),
        ),
        tells="which soils a map unit holds",
        required=True,
    ),
    "chorizon": Wanted(
        must=("chkey", "cokey", "hzdept_r", "hzdepb_r"),
        may=(
            *("hzname", "sandtotal_r", "silttotal_r", "claytotal_r", "siltco_r", "siltfine_r"),
            *("om_r", "dbthirdbar_r", "ksat_r", "awc_r", "wthirdbar_r", "wfifteenbar_r"),
            *("wsatiated_r", "ph1to1h2o_r", "ec_r"),
        ),
        tells="texture, density, pH and water of the soil's layers",
    ),
    "comonth": Wanted(
        must=("cokey",),
        may=(
            *("comonthkey", "monthseq", "month", "flodfreqcl", "floddurcl", "pondfreqcl"),
            *("ponddurcl", "ponddep_r"),
        ),
        tells="flooding and ponding by month",
    ),
    "cosoilmoist": Wanted(
        must=("comonthkey", "soimoistdept_r", "soimoiststat"),
        may=("soimoistdepb_r",),
        tells="the water table by month",
    ),
    "corestrictions": Wanted(
        must=("cokey", "reskind", "resdept_r"), may=(), tells="layers that stop roots or water"
    ),
}


def table_name(found: str) -> str | None:
    """The survey's name for a table found as ``found``, None where it is none of ``TABLES``.

    Case, a plural s and a prefix or schema before ``_`` or ``.`` do not matter:
    ``main.Components`` and ``ssurgo_component`` are both component.
    """
    last = re.split(r"[._\s-]", found.strip().lower())[-1]
    singular = {name.rstrip("s"): name for name in TABLES}
    return singular.get(last.rstrip("s"))


def by_table(found: Iterable[str], where: str) -> dict[str, str]:
    """Survey table -> the name it was found under; InputError where one was found twice."""
    chosen: dict[str, list[str]] = {}
    for name in found:
        table = table_name(name)
        if table is not None:
            chosen.setdefault(table, []).append(name)
    faults = []
    for table, names in chosen.items():
        exact = [name for name in names if name.lower() == table]
        chosen[table] = exact if len(exact) == 1 else names
        if len(chosen[table]) > 1:
            faults.append(f"{table} could be any of {', '.join(sorted(names))}")
    if faults:
        remedy = "Keep one of each, named as the survey names it."
        raise InputError(listed(f"{where} holds tables twice", faults, remedy))
    return {table: names[0] for table, names in chosen.items()}


def lower_columns(table: pd.DataFrame) -> pd.DataFrame:
    """The same table with the names of its columns in lower case and without blanks."""
    return table.rename(columns={name: str(name).strip().lower() for name in table.columns})


def check_tables(raw: RawSurvey) -> list[Note]:
    """Notes on tables and columns the survey lacks.

    Raises
    ------
    InputError : a table the program cannot do without is missing or empty, or one that is there
        lacks the columns that tie it to the others; all faults at once.
    """
    faults, notes = [], []
    found = ", ".join(sorted(raw.tables)) or "none"
    for name, wanted in TABLES.items():
        if name not in raw.tables:
            if wanted.required:
                faults.append(f"table {name} is missing ({wanted.tells}); tables found: {found}")
            else:
                notes.append(_lacks(raw, f"table {name}", wanted.tells))
            continue
        table, where = raw.tables[name], raw.table_files[name]
        lacking = [column for column in wanted.must if column not in table]
        if lacking:
            columns = ", ".join(str(column) for column in table.columns)
            faults.append(
                f"{where}: table {name} lacks the columns {', '.join(lacking)}; found: {columns}"
            )
        elif wanted.required and not len(table):
            faults.append(f"{where}: table {name} is empty")
        absent = [column for column in wanted.may if column not in table]
        if absent and not lacking:
            notes.append(_lacks(raw, f"in table {name} the columns {', '.join(absent)}", ""))
    if faults:
        remedy = (
            "Give the survey's folder, zip or database with its tables (mapunit, component, "
            "chorizon, comonth, cosoilmoist, corestrictions) as the survey delivers them."
        )
        raise InputError(listed(f"The soil survey {raw.name} cannot be read", faults, remedy))
    return notes


def _lacks(raw: RawSurvey, what: str, tells: str) -> Note:
    told = f" Not known without it: {tells}." if tells else " What they tell is not known."
    return Note(LAYER, "caution", f"The survey {raw.name} does not have {what}.{told}")
