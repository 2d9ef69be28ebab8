"""How asking a service can fail; each is one plain line, and leaves the other layers alone."""

from suitability.errors import InputError


class GatherError(InputError):
    """A layer that could not be gathered."""


class NoConnectionError(GatherError):
    """The service could not be reached at all."""


class TooMuchError(GatherError):
    """More than one answer may hold: to be asked again in parts."""


class RefusedError(GatherError):
    """The service answered, and will not answer this question."""


class UnsoundError(GatherError):
    """Answers that came whole and still do not fit what was asked."""


class OutsideError(GatherError):
    """The service has nothing for this ground: the user must bring the layer."""


class BadAnswerError(Exception):
    """An answer that is not what was asked for; asked again, then told as a GatherError."""
