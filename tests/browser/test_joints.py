"""Courses read from the photo, put right by hand: by click and keys, kept, undone, exported."""

from __future__ import annotations

import pytest

from measure.survey_job import open_survey
from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser

LINES = ".sheet.wall g.joints path.stroke"


def test_joints_are_taken_away_and_added_by_click_and_by_keys(browser, workbench, screens):
    bench = BenchPage(browser, workbench.first_address, screens)
    bench.open_demo()
    page = bench.page

    def saved() -> dict:
        front = workbench.saved()["faces"][0]
        return next(m for m in front["measures"] if m["id"] == "c2")

    def counts(count: int) -> None:
        bench.until(f"document.querySelector('tbody.chosen').innerText.includes('{count} courses')")
        bench.wait_for_results()

    def lines() -> int:
        return page.locator(LINES).get_attribute("d").count("M")

    def joint(number: int) -> tuple[float, float]:
        """Where a joint is drawn on the screen, counted from the top of the list, upwards."""
        d = page.locator(LINES).get_attribute("d")
        ends = d.split("M")[1 + number].replace("L", " ").split()
        box = page.locator("#pane-wall").bounding_box()
        x = (float(ends[0]) + float(ends[2])) / 2 + box["x"]
        return x, float(ends[1]) + box["y"]

    page.click("[id='row-faces/@front/measures/@c2']")
    counts(22)
    assert lines() == 23
    page.click("#joints-turn")
    page.wait_for_timeout(400)
    bench.shot("joints-read")

    page.mouse.click(*joint(7))
    counts(21)
    assert lines() == 22
    assert len(saved()["joints"]) == 22
    bench.shot("joints-one-less")
    # exports and the command line go by what is saved
    told = open_survey(workbench.survey_path()).measure().faces["front"].measures["c2"]
    assert (told.facts["count"], told.facts["sure"]) == (21, True)

    page.keyboard.press("Control+z")
    counts(22)
    assert saved()["joints"] == []
    page.mouse.click(*joint(7))
    counts(21)
    (x, below), (_, above) = joint(6), joint(7)
    page.mouse.click(x, (below + above) / 2)
    counts(22)
    assert len(saved()["joints"]) == 23

    # by keys alone: the cross-hair goes to a joint, Enter takes it away and puts it back
    page.focus("#pane-wall")
    page.mouse.move(*joint(12))
    page.mouse.move(joint(12)[0] + 40, joint(12)[1])
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Enter")
    counts(21)
    page.keyboard.press("Enter")
    counts(22)
    page.keyboard.press("Escape")

    page.reload()
    page.wait_for_selector(".sizes tbody")
    page.click("[id='row-faces/@front/measures/@c2']")
    counts(22)
    assert "as you put them right" in page.inner_text(".detail")
    page.click("#joints-read")
    bench.wait_for_results()
    assert saved()["joints"] == []
    assert not bench.complaints
    bench.close()
