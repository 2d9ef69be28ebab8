"""An owner's page and the Spanish one in a real browser, with no network, at both sizes."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from owned_farm import owned_farm

from maps.for_owner import of_owner
from maps.report import write_report
from maps.report_pages import report_pages
from maps.web_map import write_map

WRITERS = {
    "map": write_map,
    "report": lambda farm, path: write_report(report_pages(farm), path),
}


@pytest.mark.parametrize("size", ["phone", "wide"])
@pytest.mark.parametrize("name", WRITERS)
def test_a_spanish_owners_page_fits_and_is_accessible(
    tmp_path: Path, offline_page: Any, name: str, size: str
) -> None:
    farm = owned_farm()
    mine = of_owner(replace(farm, farm=replace(farm.farm, language="es")), "Marsh Hollow Land")
    WRITERS[name](mine, tmp_path / "page.html")
    page = offline_page(tmp_path / "page.html", size)
    assert "Para Marsh Hollow Land" in page.locator("body").inner_text()
    wide = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide[0] <= wide[1], "nothing runs out of the screen"
    if name == "map":
        page.locator("#row-1 .pick").click()
        assert "Cerrar" in page.locator("#detail").inner_text()
        assert "Todos los campos" in page.locator("#farm, .map-buttons").first.inner_text()
        arrow = page.locator(".north").bounding_box()
        for button in page.locator(".map-buttons button").all():
            box = button.bounding_box()
            beside = box["x"] + box["width"] <= arrow["x"]
            assert beside or box["y"] >= arrow["y"] + arrow["height"], "a button under the arrow"
    assert Axe().run(page).response["violations"] == []
