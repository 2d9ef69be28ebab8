"""The one date of a field out of the several dates of its ground."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def middle_value(place: Floats, ground: Floats, event: str) -> float:
    """The value that half of the ground lies at or beyond.

    Parameters
    ----------
    place : days since 1 July, or lengths of a season [d], shape (n,); infinite for no freeze.
    ground : how much of the ground has it, in any unit, shape (n,).
    event : decides which of two middle values is taken: the later last freeze, the earlier first
        freeze, the shorter season.

    >>> middle_value(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 2.0]), "first_autumn")
    2.0
    """
    order = np.argsort(place)
    if event == "last_spring":
        order = order[::-1]
    reached = np.cumsum(ground[order]) >= ground.sum() * (0.5 - 1e-9)
    return float(place[order][reached.argmax()])
