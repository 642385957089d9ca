"""What the program finds is offered, dashed, and becomes part of the survey only when kept."""

from __future__ import annotations

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser


def test_found_openings_and_lines_are_kept_or_put_away(browser, workbench, screens):
    bench = BenchPage(browser, workbench.first_address, screens)
    bench.open_demo()
    page = bench.page

    before = workbench.saved()["faces"][0]
    page.click("#openings-find")
    page.wait_for_selector("#openings-keep", timeout=60_000)
    assert page.locator(".sheet.wall g.offered path.stroke").count() > 0
    bench.shot("openings-offered")
    page.click("#proposal-keep-0")
    bench.until("document.querySelector('#undo').title === 'Undo: keep found opening'")
    bench.wait_for_results()
    measures = workbench.saved()["faces"][0]["measures"]
    assert len(measures) == len(before["measures"]) + 1
    assert measures[-1]["kind"] == "opening"
    if page.locator("#openings-drop").count():
        page.click("#openings-drop")
    assert page.locator(".sheet.wall g.offered path.stroke").count() == 0

    page.click("#job-checks")
    page.click("#guides-find")
    page.wait_for_selector("#guides-keep", timeout=60_000)
    page.click("#guides-keep")
    page.wait_for_selector("#guides-off")
    bench.wait_for_results()
    found = [guide for guide in workbench.saved()["faces"][0]["guides"] if guide["found"]]
    assert found
    page.click("#guides-off")
    page.wait_for_selector("#guides-off", state="detached")
    bench.wait_for_results()
    left = [guide["at"] for guide in workbench.saved()["faces"][0]["guides"]]
    assert left == [guide["at"] for guide in before["guides"]]
    assert not bench.complaints
    bench.close()
