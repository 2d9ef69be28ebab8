"""Answers that several pages ask of one assessment, worked out once."""

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

Given = ParamSpec("Given")
Answer = TypeVar("Answer")
_KEPT = 4  # an owner's assessment is asked beside the whole one


def remembering(
    most: int,
) -> Callable[[Callable[Given, Answer]], Callable[Given, Answer]]:
    """Keep the last answers, at most so many, by the very objects asked with.

    These may not be changed later. Tables cannot be compared as a whole, so that
    ``functools.lru_cache`` will not do.
    """

    def of(function: Callable[Given, Answer]) -> Callable[Given, Answer]:
        kept: list[tuple[tuple[str, ...], tuple[object, ...], Answer]] = []

        @wraps(function)
        def asked(*args: Given.args, **kwargs: Given.kwargs) -> Answer:
            called, given = tuple(kwargs), (*args, *kwargs.values())
            for names, known, answer in kept:
                alike = names == called and len(known) == len(given)
                if alike and all(a is b for a, b in zip(known, given, strict=True)):
                    return answer
            answer = function(*args, **kwargs)
            kept.insert(0, (called, given, answer))
            del kept[most:]
            return answer

        return asked

    return of


def remembered(function: Callable[Given, Answer]) -> Callable[Given, Answer]:
    """Keep the last answers about an assessment, as ``remembering`` does."""
    return remembering(_KEPT)(function)
