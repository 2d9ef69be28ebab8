"""The one gate through which a file of the user is opened: local, of a known kind, and whole."""

from pyproj import network

from layers.local_path import local_file, local_path
from layers.raster_file import open_raster
from layers.text_table import read_table, read_text, table_from_text
from layers.vector_file import open_layer_table, open_vector, vector_layers
from layers.zipped import unzip_safely, unzipped

__all__ = [
    "local_file",
    "local_path",
    "open_layer_table",
    "open_raster",
    "open_vector",
    "read_table",
    "read_text",
    "table_from_text",
    "unzip_safely",
    "unzipped",
    "vector_layers",
]

# No coordinate shift grid is ever fetched: the same farm gives the same map with and without a net.
network.set_network_enabled(active=False)  # type: ignore[attr-defined]  # untyped re-export
