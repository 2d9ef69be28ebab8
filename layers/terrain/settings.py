"""The numbers of ``suitability/tables/terrain.csv``, which gives unit, basis and source of each."""

from suitability.published import table


def setting(name: str) -> float:
    """A number of the table, in the unit that stands beside it."""
    return float(table("terrain").set_index("name").at[name, "value"])
