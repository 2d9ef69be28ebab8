"""How often Python looks for garbage: nearly all that a run makes lives to its end."""

import atexit
import gc

_NEW_OBJECTS = 200_000  # between two looks


def look_seldom() -> None:
    """To look as often as Python does, and once more at the end, takes a seventh of a run."""
    gc.set_threshold(_NEW_OBJECTS, *gc.get_threshold()[1:])
    atexit.register(gc.freeze)
