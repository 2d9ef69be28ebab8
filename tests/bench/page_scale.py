"""What the map page of a large farm costs on a phone: bytes, seconds and memory. Prints JSON.

``python tests/bench/page_scale.py [--sizes 12x12,200x600,2000x6000] [--slower 4] [--keep FOLDER]``

Fields and wet spots of the sample farm are laid down over and over (``tests/maps/large_farm.py``),
written by the program's own writer, and opened in Chromium on a screen of 390x844 with the
processor slowed down. Milliseconds of a tap, a key or a letter are those from the input to the next
picture, as the browser tells them (Event Timing), the longest of a few.
"""

import argparse
import json
import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

HERE = Path(__file__).resolve()
FARM = HERE.parents[2] / "sample_fields" / "farm.toml"
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu"]
WATCH = """
window.told = [];
new PerformanceObserver(list => list.getEntries().forEach(
  e => window.told.push([e.name, Math.round(e.duration)]))
).observe({ type: "event", durationThreshold: 16, buffered: true });
"""
DRAWN = """() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(
  () => done(Math.round(performance.now())))))"""


def opened(file: Path, browser: Browser, slower: float) -> dict[str, Any]:
    """Open a page as a slow phone would, and use it."""
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, offline=True
    )
    page = context.new_page()
    page.set_default_timeout(120_000)
    chrome = context.new_cdp_session(page)
    chrome.send("Emulation.setCPUThrottlingRate", {"rate": slower})
    page.add_init_script(WATCH)
    page.goto(file.as_uri(), timeout=240_000)
    drawn = page.evaluate(DRAWN)
    paints = page.evaluate(
        "() => performance.getEntriesByType('paint').map(e => [e.name, e.startTime])"
    )
    found: dict[str, Any] = {
        "first_words_ms": round(dict(paints).get("first-contentful-paint", 0)),
        "map_drawn_ms": drawn,
    }
    found["slider_step_ms"] = _slowest(page, _slide)
    found["tap_field_ms"] = _slowest(page, _tap_fields)
    found["close_ms"] = _slowest(page, lambda: page.keyboard.press("Escape"))
    found["enlarge_ms"] = _slowest(page, _enlarge(page))
    found["sort_ms"] = _slowest(page, lambda: None, _sort(page))
    found["search_ms"] = _slowest(page, _search(page))
    chrome.send("HeapProfiler.collectGarbage")
    chrome.send("Performance.enable")
    told = {m["name"]: m["value"] for m in chrome.send("Performance.getMetrics")["metrics"]}
    found["js_heap_mb"] = round(told["JSHeapUsedSize"] / 1e6, 1)
    found["nodes"] = int(told["Nodes"])
    found["renderer_mb"] = _renderer_mb(browser)
    context.close()
    return found


def _slowest(page: Page, act: Any, timed: float | None = None) -> float:
    """The longest way from an input to the next picture while ``act`` is done."""
    if timed is not None:
        return timed
    page.evaluate("() => { window.told = []; }")
    act(page) if act.__code__.co_argcount else act()
    page.evaluate(DRAWN)
    page.wait_for_timeout(100)
    durations = [ms for _, ms in page.evaluate("() => window.told")]
    return max(durations, default=0)  # nothing told: under 16 ms


def _slide(page: Page) -> None:
    page.locator("#weeks").scroll_into_view_if_needed()
    page.focus("#weeks")
    for key in ("Home", "PageUp", "ArrowRight", "ArrowRight", "End"):
        page.keyboard.press(key)
        page.evaluate(DRAWN)


def _tap_fields(page: Page) -> None:
    """Tap over the map until three fields or wet spots have opened."""
    page.locator("#map_farm").scroll_into_view_if_needed()
    met = 0
    for step in range(40):
        box = page.locator("#map_farm").bounding_box()
        assert box is not None
        x, y = 0.2 + 0.6 * (step * 0.382 % 1), 0.3 + 0.45 * (step * 0.618 % 1)
        at = (box["x"] + x * box["width"], box["y"] + y * box["height"])
        if not 0 < at[1] < 844:
            page.locator("#map_farm").scroll_into_view_if_needed()
            continue
        page.wait_for_timeout(400)  # two taps in a row would enlarge the map
        page.touchscreen.tap(*at)
        page.evaluate(DRAWN)
        page.wait_for_timeout(100)
        met += page.locator("#fields tr.chosen").count()
        if met == 3:
            return
    raise SystemExit("No field opened under a finger.")


def _enlarge(page: Page) -> Any:
    def act() -> None:
        page.locator(".map-buttons button").first.click()
        page.evaluate(DRAWN)

    return act


def _sort(page: Page) -> float:
    """Milliseconds of a change of order: a choice has no event that the browser times."""
    return float(
        page.evaluate(
            """async () => {
      const choice = document.getElementById("sort-by"), began = performance.now();
      choice.value = "2";
      choice.dispatchEvent(new Event("change"));
      await new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)));
      return Math.round(performance.now() - began);
    }"""
        )
    )


def _search(page: Page) -> Any:
    def act() -> None:
        page.focus("#search")
        for letter in "pond":
            page.keyboard.press(letter)
            page.evaluate(DRAWN)

    return act


def _renderer_mb(browser: Browser) -> int:
    """Memory of the process that holds the page."""
    session = browser.new_browser_cdp_session()
    found = session.send("SystemInfo.getProcessInfo")["processInfo"]
    sizes = []
    for process in found:
        status = Path(f"/proc/{process['id']}/status")
        if process["type"] == "renderer" and status.exists():
            lines = dict(line.split(":", 1) for line in status.read_text().splitlines())
            sizes.append(int(lines["VmRSS"].split()[0]) // 1024)
    return max(sizes, default=0)


def main() -> None:
    """Write the pages, open them and print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", default="12x12,200x600,2000x6000")
    parser.add_argument("--slower", type=float, default=4)
    parser.add_argument("--keep", type=Path, help="leave the pages in this folder")
    asked = parser.parse_args()
    chromium = shutil.which("chromium")
    if chromium is None:
        raise SystemExit("Chromium is not on the PATH.")
    sys.path.append(str(HERE.parents[1] / "maps"))
    from large_farm import large_farm

    from maps.farm_file import farm_file_for
    from maps.run import assess
    from maps.web_map import write_map

    farm = assess(farm_file_for(FARM), lambda _step: None)
    told = []
    with tempfile.TemporaryDirectory() as made, sync_playwright() as play:
        folder = asked.keep or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        for size in asked.sizes.split(","):
            n_fields, n_wet = map(int, size.split("x"))
            large = farm if n_fields == len(farm.fields) else large_farm(farm, n_fields, n_wet)
            file = folder / f"map_{n_fields}.html"
            began = time.process_time()
            write_map(large, file)
            wrote = round(time.process_time() - began, 1)
            browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
            told.append(
                {
                    "fields": len(large.fields),
                    "wet_spots": len(large.wet_ground),
                    "soil_parts": len(large.soil_parts),
                    "bytes": file.stat().st_size,
                    "write_cpu_s": wrote,
                    **opened(file, browser, asked.slower),
                }
            )
            browser.close()
    print(json.dumps({"slower": asked.slower, "pages": told}, indent=1))


if __name__ == "__main__":
    main()
