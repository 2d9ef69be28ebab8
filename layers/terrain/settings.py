"""The numbers of ``suitability/tables/terrain.csv``, which gives unit, basis and source of each."""

from suitability.published import indexed


def setting(name: str) -> float:
    """A number of the table, in the unit that stands beside it."""
    return float(indexed("terrain", "name").at[name, "value"])
