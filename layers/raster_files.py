"""Which raster files a path means: one file, a list, a folder of tiles, or a zip of them."""

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from layers.files import local_file, local_path, unzipped
from suitability.errors import InputError

_SUFFIXES = {".tif", ".tiff", ".asc", ".bil", ".flt", ".bip", ".bsq", ".img", ".hgt", ".dem"}
MOST_FILES = 5_000


@contextmanager
def raster_files(paths: Path | str | Sequence[Path | str]) -> Iterator[tuple[Path, ...]]:
    """Give the raster files that are meant, for a ``with`` block; zips are unpacked for so long.

    Raises
    ------
    InputError : nothing there, no raster in a folder or zip, or more than ``MOST_FILES``.
    """
    several = [paths] if isinstance(paths, str | Path) else list(paths)
    if not several:
        raise InputError("No raster file was named. Give the path of a file, or of a folder.")
    with ExitStack() as open_zips:
        found: list[Path] = []
        for path in several:
            place = local_path(path)
            if place.suffix.lower() == ".zip" and place.is_file():
                found += _within(open_zips.enter_context(unzipped(place)), place)
            else:
                found += _within(place, place) if place.is_dir() else [local_file(place)]
        if len(found) > MOST_FILES:
            raise InputError(
                f"{len(found)} raster files in {several[0]}; at most {MOST_FILES} are looked at. "
                "Give a folder of those around the fields."
            )
        yield tuple(dict.fromkeys(found))


def _within(folder: Path, shown: Path) -> list[Path]:
    entries = sorted(folder.rglob("*"))
    # An Arc/Info binary grid is a folder; its header stands for it.
    grids = [entry for entry in entries if entry.name.lower() == "hdr.adf"]
    rasters = [e for e in entries if e.is_file() and e.suffix.lower() in _SUFFIXES]
    if not grids and not rasters:
        raise InputError(
            f"{shown} holds no raster. Expected files that end in {', '.join(sorted(_SUFFIXES))}. "
            "Give the file, or the folder with the tiles."
        )
    return grids + rasters
