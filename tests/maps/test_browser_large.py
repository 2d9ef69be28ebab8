"""The map page of a farm of many fields: rows a hundred at a time, and all of them on paper."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from small_farm import small_farm

from maps.assessment import Assessment
from maps.web_map import write_map

COPIES = 60  # of four fields
Opener = Callable[..., Any]


def _many_fields() -> Assessment:
    """The small farm sixty times over, each copy a kilometre farther east."""
    farm = small_farm()

    def many(table: Any) -> Any:
        copies = []
        for copy in range(COPIES):
            own = table.assign(field_id=table["field_id"] + f"-{copy}")
            if "geometry" in own:
                own["geometry"] = own.geometry.translate(1000.0 * copy)
            copies.append(own)
        return pd.concat(copies, ignore_index=True)

    fields = many(farm.fields)
    fields["name"] = [f"Field number {n}" for n in range(1, len(fields) + 1)]
    return replace(
        farm,
        fields=fields,
        verdicts=many(farm.verdicts),
        wet_ground=many(farm.wet_ground),
        soil_parts=many(farm.soil_parts),
    )


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("large") / "map.html"
    write_map(_many_fields(), path)
    return path


def _seen(page: Any) -> list[int]:
    """Numbers of the fields whose rows are shown, from above."""
    return page.eval_on_selector_all(
        "#fields tbody tr",
        "rows => rows.filter(r => r.getClientRects().length).map(r => Number(r.dataset.field) + 1)",
    )


@pytest.mark.parametrize("size", ["phone", "wide"])
def test_a_hundred_rows_and_a_hundred_more_when_asked(
    offline_page: Opener, page_file: Path, size: str
) -> None:
    page = offline_page(page_file, size)
    assert _seen(page) == list(range(1, 101))
    assert page.locator("#count").inner_text() == "240 fields"
    page.get_by_role("button", name="Show more fields").click()
    assert _seen(page) == list(range(1, 201))
    # Who goes on by keyboard stands on the first of the new rows.
    assert page.evaluate("document.activeElement.closest('tr').id") == "row-101"
    page.get_by_role("button", name="Show more fields").click()
    assert len(_seen(page)) == 240
    assert not page.get_by_role("button", name="Show more fields").is_visible()


def test_search_and_order_reach_every_field(offline_page: Opener, page_file: Path) -> None:
    page = offline_page(page_file)
    page.fill("#search", "number 239")
    assert _seen(page) == [239]
    assert page.locator("#count").inner_text() == "1 of 240 fields"
    page.fill("#search", "")
    assert _seen(page) == list(range(1, 101))
    page.locator("th button").first.click()
    assert _seen(page) == list(range(240, 140, -1))


def test_a_field_without_a_row_in_sight_opens_and_closes(
    offline_page: Opener, page_file: Path
) -> None:
    page = offline_page(page_file)
    page.locator(".leaflet-overlay-pane path").nth(199).dispatch_event("click")
    assert page.locator("#detail h2 bdi").inner_text() == "Field number 200"
    page.keyboard.press("Escape")
    assert page.locator("#detail").is_hidden()
    assert page.evaluate("document.activeElement.id") == "map_farm"
    assert page.locator("#fields tr.chosen").count() == 0


def test_paper_and_a_viewer_without_scripts_have_every_row(
    offline_page: Opener, page_file: Path
) -> None:
    page = offline_page(page_file)
    page.locator("th button").first.click()
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert _seen(page) == list(range(240, 0, -1))
    page = offline_page(page_file, java_script_enabled=False)
    assert len(page.locator("#fields tbody tr:visible").all()) == 240
