"""What farm.toml says of pictures from the air, and of what the page with the map may offer."""

from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator

from maps import farm_values as values
from maps.farm_table import Table as _Table

_FilePath = Annotated[Path, BeforeValidator(values.path_to(folder_ok=False))]
_Paths = Annotated[tuple[Path, ...], BeforeValidator(values.paths)]


class WaterSeenTable(_Table):
    """[water_seen]: rasters of water or wetness on dates, and from which number a cell is wet."""

    file: _Paths
    wet_from: Annotated[float, BeforeValidator(values.number(-1e9, 1e9, ""))] | None = None


class AerialImageTable(_Table):
    """[aerial_image]: the grower's own picture from the air, shown under the fields."""

    file: _FilePath


class MapTable(_Table):
    """[map]: what the page with the map may offer."""

    online_imagery: Annotated[bool, BeforeValidator(values.flag)] = False
