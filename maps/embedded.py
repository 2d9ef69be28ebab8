"""A picture as text that stands in a page, no larger than it may be."""

import base64
import io
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, WebPImagePlugin  # noqa: F401 - else every kind is loaded to find it

_QUALITY = {"WEBP": 50, "JPEG": 60}  # of light and shade and of photographs, judged by eye
_EFFORT: dict[str, dict[str, Any]] = {
    "WEBP": {"method": 6},
    "JPEG": {"optimize": True, "progressive": True},
}


def encoded(pixels: NDArray[np.uint8], kind: str) -> bytes:
    """A picture file.

    Parameters
    ----------
    pixels : shape (rows, columns) for grey, (rows, columns, 3) for colour.
    kind : "WEBP", half the size, for browsers; "JPEG", which a PDF takes as it is.
    """
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, kind, quality=_QUALITY[kind], **_EFFORT[kind])
    return file.getvalue()


def data_uri(file: bytes, kind: str) -> str:
    """The file as an address that holds it."""
    return f"data:image/{kind.lower()};base64,{base64.b64encode(file).decode('ascii')}"


def joined_pixels(pixels: NDArray[np.uint8], share: float) -> NDArray[np.uint8]:
    """The same picture in fewer pixels: ``share`` [frac] of them a side."""
    rows, columns = pixels.shape[:2]
    size = (max(1, round(columns * share)), max(1, round(rows * share)))
    return np.asarray(Image.fromarray(pixels).resize(size, Image.Resampling.BOX))
