"""The pictures of the README, taken from the demo. Written only when asked for.

``STOREYROD_PICTURES=1 python -m pytest tests/browser/test_readme_pictures.py`` writes them into
``fixtures/screens/``; otherwise it is checked that those the README shows are there and small.
"""

from __future__ import annotations

import io
import os
import re
from pathlib import Path

import pytest
from PIL import Image

from tests.support.bench_page import BenchPage

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "fixtures" / "screens"
LARGEST_BYTES = 120_000

asked_for = pytest.mark.skipif(
    not os.environ.get("STOREYROD_PICTURES"), reason="STOREYROD_PICTURES is not set"
)


def keep(bench: BenchPage, name: str) -> None:
    """Write what the page shows as a small picture."""
    shot = Image.open(io.BytesIO(bench.page.screenshot())).convert("RGB")
    PICTURES.mkdir(exist_ok=True)
    shot.save(PICTURES / f"{name}.webp", quality=82, method=6)


@asked_for
@pytest.mark.browser
def test_pictures_are_taken_from_the_demo(browser, workbench, screens):
    bench = BenchPage(
        browser,
        workbench.first_address,
        screens,
        width=1280,
        height=800,
        color_scheme="light",
        reduced_motion="reduce",
    )
    bench.open_demo()
    page = bench.page
    page.locator(".sizes tbody th button", has_text="First floor window").click()
    bench.wait_for_results()
    page.mouse.move(5, 400)
    page.wait_for_timeout(1500)
    keep(bench, "photo-with-picks")

    page.click("#lay-wall")
    page.wait_for_timeout(2000)
    keep(bench, "straightened-wall")

    page.click("#job-drawing")
    page.click("#draw-alone")
    page.wait_for_selector(".paper-view img")
    page.wait_for_timeout(1000)
    keep(bench, "finished-drawing")

    page.click("#job-sheets")
    page.locator("#card-lay").click()
    page.wait_for_selector(".card-view:not([hidden]) img", timeout=120_000)
    page.click("#card-on")
    page.mouse.move(5, 400)
    page.wait_for_timeout(1000)
    keep(bench, "card-sheet")
    assert not bench.complaints
    bench.close()


def test_pictures_of_the_readme_are_there_and_small():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[[^\]]+\]\((fixtures/screens/[\w.-]+)\)", readme)
    assert len(shown) >= 4
    for path in shown:
        assert (ROOT / path).stat().st_size <= LARGEST_BYTES, path
        with Image.open(ROOT / path) as picture:
            assert picture.width >= 800, path
