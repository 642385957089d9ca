"""The pictures of the README, taken from the demo. Written only when asked for.

``STOREYROD_PICTURES=1 python -m pytest tests/browser/test_readme_pictures.py`` writes them into
``fixtures/screens/``, those of the page from a browser, the one at the top from files that are
exported; otherwise it is checked that those the README shows are there and small.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import re
from pathlib import Path

import pytest
from PIL import Image, ImageDraw, ImageFont

from measure.commands.demo import demo_folder
from measure.delivery import Wish, make_files
from measure.demo_building import DEMO_SURVEY
from measure.survey_job import open_survey
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


@asked_for
def test_photo_wall_and_sheet_stand_side_by_side():
    pdfium = pytest.importorskip("pypdfium2")
    job = open_survey(demo_folder() / DEMO_SURVEY)
    wish = Wish(dt.date(2026, 12, 1), formats=("pdf",), faces=("front",), scale="1:100")
    pdf = pdfium.PdfDocument(dict(make_files(job, wish))["front-elevation.pdf"])
    wall = job.straighten("front", dpi=150)
    clear = Image.new("RGB", wall.visible.shape[::-1], "white")
    clear.paste(Image.fromarray(wall.rgb), mask=Image.fromarray(wall.visible))
    steps = (
        ("the photo", Image.fromarray(job.pixels("street").pixels)),
        ("its wall, straightened", clear),
        ("its sheet, to scale", pdf[0].render(scale=3).to_pil().convert("RGB")),
    )
    font = ImageFont.load_default(22)
    height, gap = 390, 24
    shown = [step.resize((step.width * height // step.height, height)) for _, step in steps]
    whole = Image.new("RGB", (sum(s.width + gap for s in shown) + gap, height + 64), "white")
    draw, left = ImageDraw.Draw(whole), gap
    for (words, _), picture in zip(steps, shown, strict=True):
        whole.paste(picture, (left, 16))
        draw.rectangle((left - 1, 15, left + picture.width, height + 16), outline="#888888")
        draw.text((left, height + 26), words, "#333333", font)
        left += picture.width + gap
    whole.save(PICTURES / "photo-wall-sheet.webp", quality=82, method=6)


def test_pictures_of_the_readme_are_there_and_small():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[[^\]]+\]\((fixtures/screens/[\w.-]+)\)", readme)
    assert len(shown) >= 4
    for path in shown:
        assert (ROOT / path).stat().st_size <= LARGEST_BYTES, path
        with Image.open(ROOT / path) as picture:
            assert picture.width >= 800, path
