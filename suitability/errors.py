"""Errors that the user can mend; each message says what, where, what was expected, what to do.

::

    SuitabilityError
    ├── InputError        a file or a value in it
    │   └── CrsError      a layer whose place on earth is not stated or cannot be
    ├── ColumnError       a table that breaks its contract (``suitability.columns``)
    └── CropFileError     a crop file that breaks its rules
"""


class SuitabilityError(Exception):
    """Any fault the user can mend. The command prints it and ends with exit code 2."""


class InputError(SuitabilityError):
    """A file, or a value in one, that cannot be used."""


class CrsError(InputError):
    """A layer without a coordinate reference system, or with an impossible one."""


class ColumnError(SuitabilityError):
    """A table that lacks declared columns, or holds values outside their plausible range."""


class CropFileError(SuitabilityError):
    """A crop file with missing sources, unordered limits or unknown columns."""


def listed(what: str, faults: list[str], remedy: str) -> str:
    """One message out of all faults at once: a heading, a line each, and what to do."""
    lines = "\n".join(f"  - {fault}" for fault in faults)
    return f"{what}:\n{lines}\n{remedy}"
