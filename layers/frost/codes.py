"""What the special values of the published normals mean for a freeze date.

Values from memory of the documentation of the US climate normals, not checked in print.
"""

YEAR_ROUND = -4444  # risk of a freeze all year round: no last or first one
INCONSISTENT = -5555  # withheld, at odds with another value
TOO_FEW = -6666  # too few years with such a freeze to give the value
ROUNDS_TO_ZERO = -7777  # above 0, but rounds to it
UNDEFINED = -8888  # the day or value does not exist
MISSING = -9999
CODES = (YEAR_ROUND, INCONSISTENT, TOO_FEW, ROUNDS_TO_ZERO, UNDEFINED, MISSING)
# These stand where fewer years have such a freeze than the odds ask for.
NO_FREEZE = (TOO_FEW, UNDEFINED)

COMPLETENESS = {
    "C": "complete",
    "S": "standard",
    "R": "representative",
    "P": "provisional",
    "Q": "quasi-normal",
    "E": "estimated",
}
_WEAK = ("P", "Q", "E")


def code_of(text: str) -> int | None:
    """The special value a text holds, or None.

    >>> code_of("  -6666.0"), code_of("10/03")
    (-6666, None)
    """
    try:
        value = float(text)
    except ValueError:
        return None
    return int(value) if value in CODES else None


def completeness_words(flags: set[str]) -> tuple[str, bool]:
    """Completeness of a record in words, and whether it is weak."""
    known = sorted(flag for flag in flags if flag in COMPLETENESS)
    words = ", ".join(f"{COMPLETENESS[flag]} ({flag})" for flag in known)
    return words, any(flag in _WEAK for flag in known)
