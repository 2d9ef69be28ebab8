"""The files to walk the ground with: zones.kml for a map app, zones.gpx for a phone's GPS."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree as ET

import geopandas as gpd
import pandas as pd
import shapely

from layers.crs import LONLAT
from layers.marked_ground import MARK_CAUSE
from maps.assessment import Assessment
from maps.colours import INK, VERDICT, WATER
from maps.drawing import field_numbers
from maps.field_table import made_with
from maps.legend import Legend
from maps.reader import legend_of, words_of
from maps.sentences import Teller, years_text
from maps.shown_names import STRANGE, shown
from maps.words import Words

_KML = "http://www.opengis.net/kml/2.2"
_GPX = "http://www.topografix.com/GPX/1/1"
_DECIMALS = 7  # about 1 cm
_NOT_XML = re.compile("[\ufffe\uffff]")
# A map app takes the description for HTML and fills in ``$[name]``; names are kept out of it.
_BALLOON = "$[description]"
_EDGE_WIDTH = 2.0
_FILL_ALPHA = 0x66


@dataclass(frozen=True)
class _Spot:
    """One wet ground: name, words, and in degrees its shape and a point within."""

    name: str
    about: str
    shape: shapely.Geometry
    inside: shapely.Point


def write_kml(assessment: Assessment, path: Path) -> None:
    """Write fields and wet ground as KML 2.2, in longitude and latitude, each with its caution.

    A field's own name stands in ``<name>`` only, in one line and cut where it is long.
    """
    words, legend = words_of(assessment), legend_of(assessment)
    kml = ET.Element("kml", xmlns=_KML)
    document = ET.SubElement(kml, "Document")
    _text(document, "name", words("walk.title", farm=shown(assessment.farm.name)))
    _text(document, "description", _about(assessment, words))
    for verdict, swatch in VERDICT.items():
        _style(document, _style_id(verdict), swatch.fill, INK)
    _style(document, "wet", WATER, WATER)
    fields = _folder(document, words("walk.fields"))
    numbers = field_numbers(assessment)
    teller = Teller(words, legend)
    lonlat = assessment.fields.to_crs(LONLAT).set_index("field_id")
    for _, row in assessment.verdicts.iterrows():
        field = lonlat.loc[row.field_id]
        name = words(
            "walk.field",
            n=numbers[row.field_id],
            name=shown(field["name"]) or shown(row.field_id),
            verdict=teller.verdict(row),
        )
        told = [_sentence(teller.reason(row)), *teller.mind(row)]
        sizes = words(
            "walk.sizes", area=legend.area(row.area_ha), sowable=legend.area(row.sowable_ha)
        )
        about = " ".join([*(text for text in told if text), sizes, words("caution.wetland")])
        _placemark(fields, name, about, _style_id(row.verdict), field.geometry)
    wet = _folder(document, words("walk.wet_ground"))
    for spot in _spots(assessment, words, legend):
        _placemark(wet, spot.name, spot.about, "wet", spot.shape)
    _write(kml, path)


def write_gpx(assessment: Assessment, path: Path) -> None:
    """Write wet ground as GPX 1.1: a waypoint within each, and its outlines as a track to walk."""
    words, legend = words_of(assessment), legend_of(assessment)
    gpx = ET.Element("gpx", version="1.1", creator="suitability", xmlns=_GPX)
    metadata = ET.SubElement(gpx, "metadata")
    _text(metadata, "name", words("walk.title", farm=shown(assessment.farm.name)))
    _text(metadata, "desc", _about(assessment, words))
    spots = list(_spots(assessment, words, legend))
    for spot in spots:
        point = spot.inside
        place = ET.SubElement(gpx, "wpt", lat=_degrees(point.y), lon=_degrees(point.x))
        _text(place, "name", spot.name)
        _text(place, "desc", spot.about)
        _text(place, "type", words("walk.wet_ground"))
    for spot in spots:
        track = ET.SubElement(gpx, "trk")
        _text(track, "name", spot.name)
        _text(track, "desc", spot.about)
        for ring in _rings(spot.shape):
            segment = ET.SubElement(track, "trkseg")
            for lon, lat in ring:
                ET.SubElement(segment, "trkpt", lat=_degrees(lat), lon=_degrees(lon))
    _write(gpx, path)


def _about(assessment: Assessment, words: Words) -> str:
    none = "" if len(assessment.wet_ground) else words("walk.no_wet_ground")
    return " ".join(filter(None, [none, words("caution.wetland"), f"({made_with(assessment)})"]))


def _spots(assessment: Assessment, words: Words, legend: Legend) -> Iterator[_Spot]:
    """Each wet ground in words of our own."""
    numbers = field_numbers(assessment)
    ground = assessment.wet_ground
    shapes = ground.geometry.to_crs(LONLAT)
    inside = gpd.GeoSeries(ground.representative_point(), crs=ground.crs).to_crs(LONLAT)
    count: dict[str, int] = {}
    for place, (_, row) in enumerate(ground.iterrows()):
        count[row.field_id] = count.get(row.field_id, 0) + 1
        n = numbers[row.field_id]
        cause = words(f"map.cause.{row.cause.replace(' ', '_')}")
        told = [words("walk.wet_about", area=legend.area(row.area_ha), n=n, cause=cause)]
        if not pd.isna(row.years_in_ten):
            told.append(words("walk.wet_years", years=years_text(row.years_in_ten)))
        elif row.cause != MARK_CAUSE:
            told.append(words("walk.wet_survey"))
        yield _Spot(
            name=words("walk.wet_name", n=n, k=count[row.field_id]),
            about=" ".join([*told, words("caution.wetland")]),
            shape=shapes.iloc[place],
            inside=inside.iloc[place],
        )


def _rings(shape: shapely.Geometry) -> Iterator[list[tuple[float, float]]]:
    for polygon in shapely.get_parts(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            yield [(lon, lat) for lon, lat, *_ in ring.coords]


def _folder(document: ET.Element, name: str) -> ET.Element:
    folder = ET.SubElement(document, "Folder")
    _text(folder, "name", name)
    return folder


def _placemark(
    folder: ET.Element, name: str, about: str, style: str, shape: shapely.Geometry
) -> None:
    placemark = ET.SubElement(folder, "Placemark")
    _text(placemark, "name", name)
    _text(placemark, "description", about)
    _text(placemark, "styleUrl", f"#{style}")
    several = ET.SubElement(placemark, "MultiGeometry")
    for part in shapely.get_parts(shape):
        polygon = ET.SubElement(several, "Polygon")
        borders = ["outerBoundaryIs", *["innerBoundaryIs"] * len(part.interiors)]
        for border, ring in zip(borders, _rings(part), strict=True):
            linear = ET.SubElement(ET.SubElement(polygon, border), "LinearRing")
            pairs = (f"{_degrees(lon)},{_degrees(lat)}" for lon, lat in ring)
            _text(linear, "coordinates", " ".join(pairs))


def _style(document: ET.Element, name: str, fill: str, edge: str) -> None:
    style = ET.SubElement(document, "Style", id=name)
    line = ET.SubElement(style, "LineStyle")
    _text(line, "color", _abgr(edge, 0xFF))
    _text(line, "width", f"{_EDGE_WIDTH:g}")
    _text(ET.SubElement(style, "PolyStyle"), "color", _abgr(fill, _FILL_ALPHA))
    _text(ET.SubElement(style, "BalloonStyle"), "text", _BALLOON)


def _style_id(verdict: str) -> str:
    return verdict.replace(" ", "-")


def _abgr(colour: str, alpha: int) -> str:
    """KML writes opacity first and red last."""
    return f"{alpha:02x}{colour[5:7]}{colour[3:5]}{colour[1:3]}".lower()


def _text(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, tag).text = _NOT_XML.sub(STRANGE, text)


def _degrees(value: float) -> str:
    return f"{value:.{_DECIMALS}f}"


def _sentence(clause: str) -> str:
    text = clause[:1].upper() + clause[1:]
    return text if not text or text.endswith(".") else f"{text}."


def _write(root: ET.Element, path: Path) -> None:
    ET.indent(root)
    ET.ElementTree(root).write(path, encoding="utf-8", xml_declaration=True)
