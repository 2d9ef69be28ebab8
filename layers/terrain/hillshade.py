"""Light and shade of the ground, so that an eye sees how it lies."""

import numpy as np
from numpy.typing import NDArray

from layers.grid import Grid
from layers.terrain.slope import gradients

LIGHT_FROM_DEG, LIGHT_HIGH_DEG = 315.0, 45.0  # as maps are lit: from the upper left
FLAT = float(np.sin(np.radians(LIGHT_HIGH_DEG)))  # the light on level ground


def hillshade(heights: Grid, exaggeration: float) -> NDArray[np.float32]:
    """Brightness [frac, 0 in full shade] of each cell under one light from the north-west.

    Parameters
    ----------
    heights : in metres, in a metre CRS.
    exaggeration : how many times as steep the ground is drawn as it is.

    Returns
    -------
    shape of the grid, NaN without heights; level ground has ``FLAT``.

    Notes
    -----
    With p and q the rise towards east and north, and the light at azimuth a and height h, a dull
    surface has the brightness ``(sin h - cos h (p sin a + q cos a)) / sqrt(1 + p^2 + q^2)``, none
    where that is below zero. Four lights at once, as often taken for mountains, were tried: on
    gentle ground they hide what slopes to the north and south.

    References
    ----------
    Horn (1981), Hill shading and the reflectance map, Proc. IEEE 69(1), 14-47: slope from eight
    neighbours, and the reflectance of a Lambertian surface.
    """
    rimmed = np.pad(heights.values, 1, constant_values=np.nan)
    east, south = gradients(rimmed, heights.transform[0], -heights.transform[4])
    p, q = exaggeration * east, -exaggeration * south
    azimuth, height = np.radians(LIGHT_FROM_DEG), np.radians(LIGHT_HIGH_DEG)
    towards = p * np.sin(azimuth) + q * np.cos(azimuth)
    bright = (np.sin(height) - np.cos(height) * towards) / np.sqrt(1 + p * p + q * q)
    lit: NDArray[np.float32] = np.maximum(bright, 0).astype(np.float32)
    return lit
