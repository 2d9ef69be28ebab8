"""The library of the page is the released one, less what the page has no use for."""

import pytest

from maps import leaflet_parts
from maps.leaflet_parts import leaflet_script
from suitability.errors import SuitabilityError

# What the page's own scripts ask of it (maps/templates/map*.js).
USED = (
    "Control control divIcon imageOverlay latLng latLngBounds layerGroup marker polygon polyline "
    "circle circleMarker DomEvent Browser map"
).split()
LEFT_OUT = "Popup Tooltip GeoJSON Canvas VideoOverlay".split()


@pytest.mark.parametrize("online", [False, True])
def test_what_is_used_is_there_and_what_is_not_is_gone(browser, online):
    page = browser.new_page()
    troubles = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.set_content("<div id=m style='width:300px;height:300px'></div>")
    page.add_script_tag(content=leaflet_script(online=online))
    there = page.evaluate("Object.keys(L)")
    assert set(USED) <= set(there)
    assert not set(LEFT_OUT) & set(there)
    assert ("TileLayer" in there) == online
    # Every kind of thing that is left is put on a map, moved and taken off again.
    page.evaluate("""() => {
      const map = L.map("m", {center: [0, 0], zoom: 5, zoomControl: false,
                              attributionControl: false, zoomAnimation: false});
      const at = [[0, 0], [0, 1], [1, 1]];
      const all = [L.polygon(at), L.polyline(at), L.circle([0, 0], {radius: 9}),
        L.circleMarker([0, 0]), L.rectangle(at), L.marker([0, 0], {icon: L.divIcon({html: "1"})}),
        L.imageOverlay("data:,", at), L.layerGroup([L.polygon(at)])];
      L.control.scale().addTo(map);
      all.forEach(one => one.addTo(map));
      map.setView([1, 1], 7);
      map.fitBounds(at);
      all.forEach(one => one.remove());
      map.remove();
    }""")
    page.close()
    assert troubles == []


def test_a_library_of_other_bytes_is_refused(monkeypatch):
    monkeypatch.setitem(leaflet_parts.LEAFLET_SHA256, "leaflet.js", "0" * 64)
    with pytest.raises(SuitabilityError, match=r"not the released Leaflet 1\.9\.4"):
        leaflet_script(online=False)


def test_a_part_that_is_not_found_once_stops_the_page(monkeypatch):
    other = leaflet_parts._Cut("compass", "not there", "at all")
    monkeypatch.setattr(leaflet_parts, "_CUTS", (other,))
    with pytest.raises(SuitabilityError, match="compass cannot be told apart"):
        leaflet_script(online=True)
