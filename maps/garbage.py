"""How often Python looks for garbage: nearly all that a run makes lives to its end."""

import gc

_NEW_OBJECTS = 1_000_000  # between two looks


def look_seldom() -> None:
    """To look as often as Python does takes a tenth of a run."""
    gc.set_threshold(_NEW_OBJECTS, *gc.get_threshold()[1:])
