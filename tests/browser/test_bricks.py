"""Which brick the wall is laid of, weighed on the page, and one format chosen."""

from __future__ import annotations

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser


def test_formats_are_weighed_and_one_is_chosen(browser, workbench, screens):
    bench = BenchPage(browser, workbench.first_address, screens)
    bench.open_demo()
    page = bench.page

    def courses() -> dict:
        references = workbench.saved()["faces"][0]["references"]
        return next(one for one in references if one["kind"] == "courses")

    page.click("#job-known")
    page.click("#bricks-weigh")
    page.wait_for_selector("#formats", timeout=60_000)
    shown = page.inner_text("#formats").replace("\u202f", " ")
    # the demo is laid four courses to the foot, 76.2 mm each
    assert "UK imperial" in shown
    assert "Street door would be" in shown
    assert "agree" in page.inner_text(".bricks .offer")
    page.locator(".bricks").scroll_into_view_if_needed()
    bench.shot("bricks-weighed")

    other = page.locator("#formats button[aria-pressed=false]").first
    key = other.get_attribute("id").removeprefix("brick-")
    other.click()
    bench.until("document.querySelector('#undo').title === 'Undo: choose brick'")
    bench.wait_for_results()
    assert courses()["size"] == key
    assert page.get_attribute(f"#brick-{key}", "aria-pressed") == "true"
    before = courses()["gauge_mm"]
    page.keyboard.press("Control+z")
    bench.wait_for_results()
    assert courses()["gauge_mm"] != before

    # the brick's length for its height: needs a distance along one course
    page.select_option("#brick-distance", "d1")
    page.fill("#brick-count", "33")
    page.press("#brick-count", "Enter")
    page.click("#bricks-weigh")
    bench.until("document.querySelector('.bricks').innerText.includes('times as long')")
    bench.shot("bricks-ratio")
    assert not bench.complaints
    bench.close()
