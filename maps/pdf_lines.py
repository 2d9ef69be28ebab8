"""Breaks a text into lines that fit a width."""

from collections.abc import Callable


def broken(text: str, wide: float, width_of: Callable[[str], float]) -> list[str]:
    """Lines of at most ``wide``, broken at spaces, and within a word only where it must be.

    Parameters
    ----------
    text : line feeds stay; an empty line stays an empty line.
    wide : in any unit, larger than the widest letter; width_of : width of a word in that unit,
        where the widths of words and of the spaces between them add up to that of a line.
    """
    lines, blank = [], width_of(" ")
    for paragraph in text.split("\n"):
        line: list[str] = []
        taken = 0.0
        for word in _words(paragraph, wide, width_of):
            size, space = width_of(word), blank if line else 0.0
            if line and taken + space + size > wide:
                lines.append(" ".join(line))
                line, taken, space = [], 0.0, 0.0
            line.append(word)
            taken += space + size
        lines.append(" ".join(line))
    return lines


def _words(paragraph: str, wide: float, width_of: Callable[[str], float]) -> list[str]:
    """Words of a paragraph, those wider than a line cut into pieces that fit."""
    words = []
    for word in paragraph.split(" "):
        left = word
        while len(left) > 1 and width_of(left) > wide:
            fits, size = 1, width_of(left[0])
            while size + width_of(left[fits]) <= wide:
                size += width_of(left[fits])
                fits += 1
            words.append(left[:fits])
            left = left[fits:]
        words.append(left)
    return words
