"""When a year works, and by which rule a week is recommended, in a sentence each."""

from maps.legend import Legend
from maps.words import Words
from suitability.crop import Crop


def works_meaning(crop: Crop, words: Words, legend: Legend) -> str:
    """Tell both by the limits of the crop file."""
    return words(
        "farm.works_meaning",
        ground=legend.pct(100 - crop.number("policy.field_fails_pct")),
        days=f"{crop.number('odds.season_needed_d'):.0f}",
        dry_matter=legend.dry_matter(crop.number("odds.least_dry_matter_kg_ha")),
        unit=legend.dry_matter_unit,
        near=f"{crop.number('odds.near_best_years_in_ten'):.0f}",
    )
