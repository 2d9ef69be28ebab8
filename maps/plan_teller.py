"""How the pages of the plan name fields, say words and head tables."""

from dataclasses import dataclass

import pandas as pd

from maps.assessment import Assessment
from maps.drawing import field_numbers
from maps.legend import Legend
from maps.of_field import field_rows
from maps.report_table import Table
from maps.shown_names import shown
from maps.words import Words
from suitability.plan import Plan


@dataclass(frozen=True)
class Section:
    """A heading, what stands under it, and its table if there is one."""

    heading: str
    lines: list[str]
    table: Table | None = None
    hint: str = ""


@dataclass(frozen=True)
class PlanTeller:
    """The plan of a run with words and units to tell it in."""

    assessment: Assessment
    plan: Plan
    words: Words
    legend: Legend

    def say(self, key: str, **values: object) -> str:
        """Sentence of the plan."""
        return self.words(f"plan.{key}", **values)

    def name(self, field_id: str) -> str:
        """Number and name of a field."""
        number = field_numbers(self.assessment).get(field_id, "")
        row = field_rows(self.assessment).get(field_id)
        person = None if row is None else row["name"]
        called = shown(person) if isinstance(person, str) and person else shown(field_id)
        return f"{number} {called}".strip()

    def names(self, field_ids: "pd.Series[str]") -> str:
        """Names of some fields."""
        return ", ".join(self.name(i) for i in field_ids)

    def table(
        self,
        heads: tuple[str, ...],
        rows: tuple[tuple[str, ...], ...],
        widths: tuple[float, ...],
        numbers: tuple[int, ...] = (),
        unit: str = "",
    ) -> Table:
        """Table with the plan's headings; ``unit`` is that of all but areas."""
        named = tuple(
            self.say(f"head.{head}", unit=self.legend.area_unit if head == "area" else unit)
            for head in heads
        )
        return Table(named, rows, widths, numbers)

    def per(self) -> str:
        """What money is counted by: acre or ha."""
        return self.legend.one_area
