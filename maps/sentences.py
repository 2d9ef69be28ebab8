"""The plain sentences that map, report and command line share: verdict, why, what to mind."""

import math
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeAlias

import pandas as pd

from maps.assessment import Assessment
from maps.flood_years import flood_years
from maps.legend import Legend
from maps.missing import is_missing
from maps.of_field import field_rows, verdict_rows
from maps.words import Words
from suitability.columns import CLASSES, QUALITIES
from suitability.crop import Crop
from suitability.week_odds import flood_class

_CARE = {  # the condition that a quality sets when it is worse than the crop file's care_from
    "germination": "germination_care",
    "waterlogging": "watch_wet",
    "inoculation": "inoculation_care",
    "season": "season_tight",
}
_ASKS = {  # conditions that ask for care whatever the ratings
    "herbicide",
    "leave_wet_ground",
    "wet_unplaced",
    "herbicide_not_known",
    *(f"{quality}_not_known" for quality in QUALITIES),
}
_CAUSES = {
    "germination": ("cold_soil", "dry_seedbed", "crust", "wet_seedbed"),
    "waterlogging": ("drowned",),
    "season": ("early_cold", "next_crop", "too_little_growth"),
}
_WORTH_NAMING = 0.25  # years in ten: rarer causes are not named in the sentence
_FAR_APART = 2  # classes between survey rule and years that are told of
_NEARLY_ALL_PCT = 90.0  # a fact that holds on more of the field is told without its share
_QUALITY_WORD = {
    "germination": "germination_risk",
    "waterlogging": "waterlogging",
    "inoculation": "inoculation_need",
    "season": "season_length",
}


# A row of the verdicts or of the weeks.
Row: TypeAlias = "pd.Series[Any] | dict[Hashable, Any]"


@dataclass(frozen=True)
class Rating:
    """One of the four ratings in words: its label, its word and the fact behind it."""

    quality: str
    label: str
    word: str
    why: str
    klass: str


@dataclass(frozen=True)
class Teller:
    """Tells rows of the verdict table in a reader's words and units."""

    words: Words
    legend: Legend

    def verdict(self, row: "pd.Series[Any]") -> str:
        """The verdict in words, such as ``sow with care``."""
        return self.words(f"verdict.{_key(row.verdict)}")

    def factor(self, name: str, value: float, text: str | None, *, good: bool) -> str:
        """The fact behind a rating as a clause."""
        shown = self.value(name, value, text)
        if name == "water_table_cm" and shown == self.legend.depth(0.0):
            return self.words("factor.water_table_at_surface")
        return self.words(f"factor.{name}{'_good' if good else ''}", value=shown)

    def value(self, name: str, value: float, text: str | None) -> str:
        """A factor's value as people read it, with its unit where it has one."""
        if isinstance(text, str) and text:
            return self.words.term(text)
        if name.endswith("_years_in_ten"):
            return self.spoken_years(value)
        if name.endswith("ksat_um_s"):
            return self.legend.rate_ksat(value)
        if name.endswith("_cm"):
            return self.legend.depth(value)
        if is_missing(value):
            return ""
        return f"{value:.1f}" if name in ("soil_ph", "crust_index") else f"{value:.0f}"

    def rating(self, row: "pd.Series[Any]", quality: str) -> Rating:
        """One quality of a field."""
        word, klass = row[_QUALITY_WORD[quality]], row[f"{quality}_class"]
        if quality == "inoculation":
            why = self.words(f"inoculant_why.{row.inoculant_reason}")
        else:
            why = self.fact(row, quality)
        label = self.words(f"quality.{quality}")
        shown = self.words(f"word.{_key(word)}") if isinstance(word, str) else ""
        return Rating(
            quality,
            label,
            shown or self.words("word.not_known"),
            why,
            klass if isinstance(klass, str) else "",
        )

    def fact(self, row: "pd.Series[Any]", quality: str) -> str:
        """The fact that governs one quality of a field, empty where nothing is known."""
        factor = row[f"{quality}_factor"]
        if not isinstance(factor, str) or not factor:
            return ""
        value, text = row[f"{quality}_value"], row[f"{quality}_value_text"]
        good = row[f"{quality}_class"] == "S1"
        if factor.endswith("_years_in_ten"):
            return self._fact_of_years(row, quality, factor, value, good=good)
        fact = self.factor(factor, value, text, good=good)
        share = row[f"{quality}_share_pct"]
        if good or is_missing(share) or share > _NEARLY_ALL_PCT:
            return fact
        return self.words("factor.on_part", fact=fact, pct=self.legend.pct(share))

    def _fact_of_years(
        self, row: "pd.Series[Any]", quality: str, factor: str, value: float, *, good: bool
    ) -> str:
        causes = {c: row[f"{c}_years_in_ten"] for c in _CAUSES[quality]}
        return self.words(
            f"factor.{factor}{'_good' if good else ''}",
            value=self.spoken_years(value),
            rest=self.spoken_years(10 - value),
            cause=self.words(f"cause.{max(causes, key=lambda c: causes[c])}"),
        )

    def spoken_years(self, years_in_ten: float) -> str:
        """``9.3 years``, ``1 year`` or ``no year``; "of 10" follows in the sentence."""
        number = years_text(years_in_ten)
        key = {"0": "years.none", "1": "years.one"}.get(number, "years.many")
        return self.words(key, n=number)

    def fails(self, row: Row) -> str:
        """What fails the other years, the most frequent first; empty where nothing does."""
        causes = {c: row[f"{c}_years_in_ten"] for group in _CAUSES.values() for c in group}
        causes["flood"] = flood_years(row)
        fails = [
            self.words(
                "reason.years_fail_one",
                cause=self.words(f"cause.{c}"),
                years=self.spoken_years(v),
            )
            for c, v in sorted(causes.items(), key=lambda item: -item[1])
            if v >= _WORTH_NAMING
        ]
        listed = [", ".join(fails[:-1]), fails[-1]] if len(fails) > 1 else fails
        return self.words("reason.years_and").join(listed)

    def years(self, row: "pd.Series[Any]") -> str:
        """In how many years in ten the recommended week works, and what fails the others."""
        works = self.spoken_years(row.works_years_in_ten)
        parts = {"day": self.legend.day(row.sow_date), "works": works}
        fails = self.fails(row)
        key = "reason.years_fails" if fails else "reason.years"
        return self.words(key, fails=fails, **parts)

    def brief(self, row: "pd.Series[Any]") -> str:
        """What the week and its years do not say already: what to mind, or what fails it."""
        if row.score_basis != "years in ten":
            return self.reason(row)
        if row.verdict == "sow with care":
            return " ".join(self._asks(row, some=True))
        fails = self.fails(row)
        return self.words("map.weeks_fails", fails=fails) if fails else ""

    def doubts(self, row: "pd.Series[Any]", crop: Crop) -> list[str]:
        """What makes the years in ten doubtful; empty where the survey's rules judge."""
        if row.score_basis != "years in ten":
            return []
        low, high = (row[f"works_{end}_years_in_ten"] for end in ("low", "high"))
        few = crop.number("odds.few_years")
        said = [
            self.words(
                "reason.years_few" if row.n_years < few else "reason.years_behind",
                n=f"{row.n_years:.0f}",
                least=years_text(row.works_least_years_in_ten),
                most=self.spoken_years(row.works_most_years_in_ten),
            ),
            self.words(
                "reason.years_range"
                if years_text(low) != years_text(high)
                else "reason.years_range_same",
                low=years_text(low)
                if years_text(low) != years_text(high)
                else self.spoken_years(low),
                high=self.spoken_years(high),
            ),
        ]
        said[1:1] = self._floods(row, crop)
        if row.verdict_flips:
            said.append(self.words("reason.years_flips"))
        classes = [row.survey_class, row.suitability_class or row.at_best]
        if all(klass in CLASSES for klass in classes):
            survey, years = (CLASSES.index(klass) for klass in classes)
            if abs(survey - years) >= _FAR_APART:
                told = self.words(
                    "reason.years_by_survey", survey=CLASSES[survey], years=CLASSES[years]
                )
                said.append(told)
        return said

    def _floods(self, row: "pd.Series[Any]", crop: Crop) -> list[str]:
        """What the flood class of the survey leaves open; nothing where no flood is counted."""
        flood = flood_years(row)
        found = flood_class(flood, crop)
        if found is None:
            return []
        name, low, high = found
        dry = row.works_years_in_ten / (10 - flood)  # of years without a flood, as floods are apart
        return [
            self.words(
                "reason.years_flood",
                flood=self.spoken_years(flood),
                **{"class": self.words.term(name)},
                low=years_text(low),
                high=self.spoken_years(high),
                least=self.spoken_years(dry * (10 - high)),
                most=self.spoken_years(dry * (10 - low)),
            )
        ]

    def ratings(self, row: "pd.Series[Any]") -> list[Rating]:
        """The four ratings in their fixed order."""
        return [self.rating(row, quality) for quality in QUALITIES]

    def reason(self, row: "pd.Series[Any]") -> str:
        """Why, in one plain sentence."""
        if row.verdict == "not known":
            return self.words("reason.not_known")
        if row.score_basis == "years in ten":
            # The odds alone would not say why good odds still ask for care.
            care = self._asks(row, some=True) if row.verdict == "sow with care" else []
            return " ".join([self.years(row), *care])
        wet_out = row.verdict == "leave out" and row.limiting == "waterlogging"
        if wet_out and row.waterlogging_class != "N":
            return self.words("reason.leave_out_wet")
        if row.verdict == "sow":
            double = row.inoculation_need == "double rate"
            return self.words("reason.sow_double" if double else "reason.sow")
        governs = isinstance(row.limiting, str) and (
            row.verdict == "leave out" or row.limiting in self._caring(row)
        )
        if governs:
            rating = self.rating(row, row.limiting)
            key = "reason.inoculation" if row.limiting == "inoculation" else "reason.governs"
            fact = self.fact(row, row.limiting)
            told = self.words(key, quality=rating.label, word=rating.word, factor=fact)
            return " ".join([told, *self._asks(row, some=False)])
        return " ".join(self._asks(row, some=True))

    def _asks(self, row: "pd.Series[Any]", *, some: bool) -> list[str]:
        """Conditions that alone ask for care; with ``some`` at least the first of all."""
        codes = row.conditions.split() if isinstance(row.conditions, str) else []
        told = dict(zip(codes, self.conditions(row), strict=True))
        asks = [c for c in codes if c in _ASKS] if row.verdict == "sow with care" else []
        return [told[c] for c in asks or codes[: int(some)]]

    def _caring(self, row: "pd.Series[Any]") -> set[str]:
        """Qualities whose class alone makes the verdict "sow with care"."""
        codes = row.conditions.split() if isinstance(row.conditions, str) else []
        return {quality for quality, code in _CARE.items() if code in codes}

    def mind(self, row: "pd.Series[Any]") -> list[str]:
        """What to mind that the reason does not say already, a sentence each."""
        why = self.reason(row)
        return [text for text in self.conditions(row) if text and text not in why]

    def conditions(self, row: "pd.Series[Any]") -> list[str]:
        """Every condition of the answer, a sentence each."""
        codes = row.conditions.split() if isinstance(row.conditions, str) else []
        legend = self.legend
        values = {
            "wet": legend.area(row.area_ha - row.sowable_ha),
            "sowable": legend.area(row.sowable_ha),
            "inoculation_fact": self.fact(row, "inoculation"),
            "herbicide": self._herbicide(row),
        }
        values["what"] = self.left_out(row)
        share = {"wet_unplaced": row.wet_unplaced_pct, "soil_cover_low": row.soil_cover_pct}
        return [
            self.words(f"condition.{code}", pct=legend.pct(share.get(code, math.nan)), **values)
            for code in codes
        ]

    def _herbicide(self, row: "pd.Series[Any]") -> str:
        """The product that the grower named, with its day where they gave one."""
        if not isinstance(row.herbicide_on, str):
            return row.herbicide_product or ""
        day = self.legend.full_day(date.fromisoformat(row.herbicide_on))
        return self.words("condition.herbicide_put_on", product=row.herbicide_product, day=day)

    def left_out(self, row: "pd.Series[Any]") -> str:
        """What the ground is that is not to be sown: wet ground, open water, or both."""
        water_ha = 0.0 if is_missing(row.water_ha) else row.water_ha
        wet_ha = row.area_ha - row.sowable_ha - water_ha
        kind = "wet" if not water_ha else "both" if wet_ha > 1e-6 * row.area_ha else "water"
        return self.words(f"condition.left_{kind}")

    def flowers(self, row: "pd.Series[Any]") -> list[tuple[str, str]]:
        """``first_flower`` and ``first_pods`` with their days; empty where nothing is known."""
        if not isinstance(row.first_flower_mmdd, str):
            return []
        day, seed = self.legend.day, f"flower.seed_{_key(row.seed_type)}"
        latest = day(row.latest_flower_mmdd)
        key = "flower.range" if latest else "flower.from"
        days = {"first": day(row.first_flower_mmdd), "latest": latest}
        told = [("first_flower", self.words(key, seed=self.words(seed), **days))]
        if isinstance(row.first_pods_mmdd, str):
            frozen = isinstance(row.first_freeze_28f_p50, str) and (
                row.first_pods_mmdd >= row.first_freeze_28f_p50
                or row.first_pods_mmdd < row.first_flower_mmdd
            )
            key = "flower.pods_frozen" if frozen else "flower.pods"
            told.append(("first_pods", self.words(key, day=day(row.first_pods_mmdd))))
        return told

    def inoculant(self, assessment: Assessment, field_id: str) -> str:
        """Why the inoculant goes on at this rate."""
        last_year = field_rows(assessment)[field_id]["legume_last_year"]
        row = verdict_rows(assessment)[field_id]
        return self.words(
            f"inoculant.{row.inoculant_reason}",
            year=f"{last_year:.0f}" if row.inoculant_reason == "recent_legume" else "",
            years=f"{assessment.crop.number('policy.legume_years'):.0f}",
        )


def years_text(years_in_ten: float) -> str:
    """``7`` or ``9.3``: one decimal only where it says something."""
    whole = abs(years_in_ten - round(years_in_ten)) < 0.05
    return f"{years_in_ten:.0f}" if whole else f"{years_in_ten:.1f}"


def _key(text: str) -> str:
    return text.replace(" ", "_")
