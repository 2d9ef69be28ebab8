"""Reads the published tables that ship with the program."""

from functools import lru_cache
from importlib.resources import files

import pandas as pd


@lru_cache
def table(name: str) -> pd.DataFrame:
    """A table of ``suitability/tables`` by name; its first line, the source, is skipped."""
    with (files("suitability") / "tables" / f"{name}.csv").open("r", encoding="utf-8") as lines:
        return pd.read_csv(lines, comment="#")


@lru_cache
def indexed(name: str, key: str) -> pd.DataFrame:
    """The same table with one of its columns as index."""
    return table(name).set_index(key)


def source(name: str) -> str:
    """The source that a table's first line names."""
    text = (files("suitability") / "tables" / f"{name}.csv").read_text("utf-8")
    return text.split("\n", 1)[0].removeprefix("# source: ")
