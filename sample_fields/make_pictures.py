"""Make the pictures of the README: the sample farm's map, and a field's page of the report.

Runs the sample farm into a folder that is thrown away, opens what came out in Chromium and saves
two PNG files. Chromium must be on the PATH; the picture of a screen also needs the test extra::

    python sample_fields/make_pictures.py [FOLDER]
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageOps
from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).parent
COLOURS = 128  # enough for flat colours and letters, and a file a fifth as large
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu"]


def make_pictures(folder: Path) -> None:
    """Save map.png and report.png into ``folder``."""
    chromium = shutil.which("chromium")
    if chromium is None:
        raise SystemExit("Chromium is not on the PATH: install it, then run this again.")
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made, sync_playwright() as play:
        command = [sys.executable, "-c", "from maps.cli import main; main()"]
        subprocess.run(
            [*command, "run", str(HERE / "farm.toml"), "--out", made, "--quiet"], check=True
        )
        browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 1090})
        page.goto((Path(made) / "map.html").as_uri())
        page.click("#row-6 .pick")
        page.mouse.move(5, 5)
        page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")
        below = _bottom(page, ".sheet .hint:visible")
        clip = {"x": 0, "y": 0, "width": 1280, "height": below + 20}
        _save(page.screenshot(clip=clip, full_page=True), folder / "map.png")
        # As wide as print on US Letter, at 96 dots an inch.
        page = browser.new_page(viewport={"width": 703, "height": 950})
        page.emulate_media(media="print")
        page.goto((Path(made) / "report.html").as_uri())
        above = page.locator("#field-6").evaluate("part => part.getBoundingClientRect().top")
        below = _bottom(page, "#field-6 .pair")
        clip = {"x": 0, "y": above, "width": 703, "height": below - above}
        _save(page.screenshot(clip=clip, full_page=True), folder / "report.png", margin=44)
        browser.close()


def _bottom(page: Page, part: str) -> float:
    return float(page.locator(part).first.evaluate("part => part.getBoundingClientRect().bottom"))


def _save(png: bytes, path: Path, margin: int = 0) -> None:
    """Save with few colours, so that a copy of the repository stays small."""
    path.write_bytes(png)
    with Image.open(path) as picture:
        whole = ImageOps.expand(picture.convert("RGB"), margin, "white")
    few = whole.quantize(COLOURS, dither=Image.Dither.NONE)
    few.save(path, optimize=True)
    print(f"{path}: {path.stat().st_size / 1000:.0f} KB")


if __name__ == "__main__":
    make_pictures(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "pictures")
