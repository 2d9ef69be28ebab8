"""What a mark is: wet, never wet, or a drain, by what the file says of it."""

from collections.abc import Mapping

NAME = "marks"
WET, DRY, DRAIN = "wet", "dry", "drain"
# What a mark may be called, the longer words first.
_WORDS = {
    "never wet": DRY,
    "wet spot": WET,
    "wet": WET,
    "dry": DRY,
    "drain": DRAIN,
    "drains": DRAIN,
    "tile": DRAIN,
    "ditch": DRAIN,
}
_KIND_COLUMNS = ("kind", "type")
NAME_COLUMNS = ("name", "desc", "description", "cmt")


def kind_of(said: Mapping[str, object]) -> str | None:
    """Kind by the columns of a mark, in lower case; None where none of them says it."""
    for column in _KIND_COLUMNS:
        kind = kind_called(said.get(column), whole=True)
        if kind is not None:
            return kind
    for column in NAME_COLUMNS:
        kind = kind_called(said.get(column), whole=False)
        if kind is not None:
            return kind
    return None


def kind_called(said: object, *, whole: bool) -> str | None:
    """Kind that a text means; not ``whole``: more may follow, as in 'wet by the barn'."""
    if not isinstance(said, str):
        return None
    words = " ".join(said.lower().replace("-", " ").replace("_", " ").split())
    for word, kind in _WORDS.items():
        rest = words.removeprefix(word)
        if rest != words and (rest == "" or (not whole and not rest[0].isalpha())):
            return kind
    return None
