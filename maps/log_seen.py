"""The field log of a farm beside what its run simulated."""

import pandas as pd

from layers.field_log import FILE_NAME, read_log, spots_foreseen
from layers.log_places import in_their_fields
from maps.farm_file import FarmFile
from maps.farm_years import FarmYears
from maps.layers_read import LayersRead
from suitability.seen import seen_beside


def log_seen(farm: FarmFile, read: LayersRead, judged: FarmYears) -> pd.DataFrame | None:
    """Lines of the log with what was simulated (``seen.SEEN``); None where there is no log.

    Wet spots have ``drawn`` and ``years_in_ten`` too: whether the ground was drawn as wet but for
    the log itself.
    """
    log = read_log(farm.path.parent / FILE_NAME)
    log = log[in_their_fields(log, read.fields)]
    if log.empty:
        return None
    cells = judged.parts.drop_duplicates("field_id").set_index("field_id")["weather_id"]
    spots = spots_foreseen(log, judged.wet_ground, read.fields)
    fields = pd.DataFrame(read.fields.drop(columns="geometry"))
    table = seen_beside(log, judged.years, fields, read.weather, read.stations, cells)
    return table.join(spots)
