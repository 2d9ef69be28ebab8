"""The report's table of what the grower saw in a field beside what was simulated."""

import math
from typing import Any

import pandas as pd

from maps.assessment import Assessment
from maps.legend import Legend
from maps.of_field import rows_of
from maps.report_table import Table
from maps.sentences import Teller

# What is less and more than simulated is called, by kind.
_LESS_MORE = {
    "emerged": ("sooner", "later"),
    "soil-temperature": ("colder", "warmer"),
    "height": ("shorter", "taller"),
    "cut-weight": ("lighter", "heavier"),
}
_HEADS = ("day", "what", "seen", "simulated", "beside")


def seen_table(assessment: Assessment, teller: Teller, field_id: str) -> Table | None:
    """Every line of the log of one field; None where there is none."""
    if assessment.seen is None:
        return None
    mine = rows_of(assessment.seen, field_id)
    if mine.empty:
        return None
    rows = tuple(_row(row, teller) for row in mine.itertuples(index=False))
    heads = tuple(teller.words(f"seen.head.{head}") for head in _HEADS)
    return Table(heads, rows, (1.5, 1.9, 1.5, 2.2, 2.9))


def _row(row: Any, teller: Teller) -> tuple[str, ...]:
    words, legend = teller.words, teller.legend
    kind = row.what.replace("-", "_")
    return (
        legend.full_day(row.day),
        words(f"seen.what.{kind}"),
        "" if math.isnan(row.seen) else _shown(row.what, row.seen, teller),
        _simulated(row, teller),
        _beside(row, teller),
    )


def _simulated(row: Any, teller: Teller) -> str:
    words = teller.words
    if row.what == "wet-spot":
        if not row.drawn:
            return words("seen.not_drawn")
        odds = row.years_in_ten
        years = "" if pd.isna(odds) else teller.spoken_years(float(odds))
        return words("seen.drawn_odds", years=years) if years else words("seen.drawn")
    if math.isnan(row.mid):
        return words(f"seen.why_not.{row.why_not}")
    if row.what in ("sown", "stand"):
        if row.of_year:
            return words("seen.came_up" if row.mid > 0 else "seen.failed")
        return words(f"seen.{row.what}_odds", years=teller.spoken_years(row.mid), n=row.n_years)
    low, mid, high = (_shown(row.what, value, teller) for value in (row.low, row.mid, row.high))
    if row.of_year:
        return words("seen.of_year", value=mid)
    return words("seen.of_years", mid=mid, low=low, high=high)


def _beside(row: Any, teller: Teller) -> str:
    """Plainly: how far what was seen is from what was simulated."""
    words = teller.words
    if row.what == "wet-spot":
        return words("seen.counts_as_mark")
    if row.what not in _LESS_MORE or math.isnan(row.mid) or math.isnan(row.seen):
        return ""
    less, more = _LESS_MORE[row.what]
    if not row.of_year:
        word = less if row.seen < row.low else more if row.seen > row.high else ""
        return words("seen.outside", word=words(f"seen.{word}")) if word else words("seen.inside")
    apart = row.seen - row.mid
    shown = _apart(row.what, abs(apart), teller.legend, teller)
    zero = _apart(row.what, 0.0, teller.legend, teller)
    if shown == zero:
        return words("seen.same")
    return words("seen.apart", value=shown, word=words(f"seen.{less if apart < 0 else more}"))


def _shown(what: str, value: float, teller: Teller) -> str:
    words, legend = teller.words, teller.legend
    if what == "emerged":
        return words("seen.days_one" if round(value) == 1 else "seen.days", n=f"{value:.0f}")
    if what == "soil-temperature":
        return legend.temperature(value)
    if what == "height":
        return legend.height(value)
    if what == "cut-weight":
        return f"{legend.dry_matter(value)} {legend.dry_matter_unit}"
    if what == "stand":
        return words(f"seen.plants_{legend.units}", n=legend.plants(value))
    if what == "grazing-days":
        return words("seen.head_days", n=f"{value:,.0f}")
    return f"{value:g}"


def _apart(what: str, value: float, legend: Legend, teller: Teller) -> str:
    if what == "emerged":
        key = "seen.day_apart" if round(value) == 1 else "seen.days_apart"
        return teller.words(key, n=f"{value:.0f}")
    return legend.warmth(value) if what == "soil-temperature" else _shown(what, value, teller)
