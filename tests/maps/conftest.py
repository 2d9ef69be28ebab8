"""Makes this folder importable, so that its tests share the hand-built farm, and one browser."""

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.append(str(Path(__file__).parent))

_FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run "
    "--disable-background-networking --disable-component-update --disable-sync"
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One Chromium for the whole run; a test opens a context of its own in it."""
    path = shutil.which("chromium")
    if path is None:
        pytest.skip("no Chromium on this machine: pages are not opened in a browser")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=path, args=_FLAGS.split())
        yield opened
        opened.close()
