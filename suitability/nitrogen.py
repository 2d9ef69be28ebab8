"""Nitrogen of the stand that the next crop gets: what was taken away is not counted again."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.published import table

Floats = NDArray[np.float64]


def released_frac(wait_d: ArrayLike, bound: str = "released") -> Floats:
    """Share of the stand's nitrogen that the next crop can use [frac].

    Parameters
    ----------
    wait_d : days from killing the stand to the next crop's need [d], any shape; NaN where no next
        crop is known: it then counts as after a winter.
    bound : ``released``, or ``low`` or ``high`` for the ends of the range.

    References
    ----------
    Mansoer et al. (1997), Soil Sci. Soc. Am. J. 61:246; see ``tables/nitrogen_release.csv``.

    >>> released_frac([0, 42, 43, 150]).tolist()
    [0.5, 0.5, 0.2, 0.2]
    """
    steps = table("nitrogen_release")
    wait = np.asarray(wait_d, dtype=np.float64)
    wait = np.where(np.isnan(wait), np.inf, np.maximum(wait, 0.0))
    row = np.searchsorted(steps["from_d"].to_numpy(dtype=float), wait, side="right") - 1
    result: Floats = steps[f"{bound}_frac"].to_numpy(dtype=float)[row]
    return result


def left_nitrogen_kg_ha(stand_kg_ha: ArrayLike, taken_kg_ha: ArrayLike) -> Floats:
    """Nitrogen left on the field after harvest [kg/ha].

    Parameters
    ----------
    stand_kg_ha : nitrogen in the stand. taken_kg_ha : nitrogen that left with hay, or was eaten:
        what stock drops again is uneven and in part lost, so it is not counted.
    """
    left = np.asarray(stand_kg_ha, dtype=np.float64) - np.asarray(taken_kg_ha, dtype=np.float64)
    result: Floats = np.maximum(left, 0.0)
    return result


def credit_kg_ha(stand_kg_ha: ArrayLike, taken_kg_ha: ArrayLike, wait_d: ArrayLike) -> Floats:
    """Nitrogen that the next crop need not be given [kg/ha].

    116.7 kg/ha in the stand, nothing taken, the next crop at once:

    >>> round(float(credit_kg_ha(116.7, 0.0, 0.0)), 2)
    58.35
    """
    result: Floats = left_nitrogen_kg_ha(stand_kg_ha, taken_kg_ha) * released_frac(wait_d)
    return result
