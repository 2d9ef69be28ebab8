"""Names from files as they may be shown: cut with a mark, and nothing that turns the line round."""

import unicodedata

CUT = "…"
STRANGE = "\N{REPLACEMENT CHARACTER}"


def shown(text: object, limit: int = 80) -> str:
    """The text in one line: control and direction characters become a visible mark, long is cut.

    Missing (None, NaN) gives an empty text. Nothing is escaped here: whoever writes HTML, SVG or
    CSV does that.
    """
    if not isinstance(text, str):
        return "" if text is None or text != text else str(text)
    # Cut first, so that ten thousand letters cost no more than eighty.
    head = "".join(_one(letter) for letter in text[: limit + 1])
    head = " ".join(head.split())
    return head[: limit - 1] + CUT if len(text) > limit else head


def _one(letter: str) -> str:
    if letter in "\t\n\r":
        return " "
    return STRANGE if unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Co") else letter
