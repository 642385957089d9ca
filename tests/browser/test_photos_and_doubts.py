"""One more photo in a survey, and a contradiction that two things explain equally well."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.support.bench_page import BenchPage
from tests.support.workbench import RunningWorkbench

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"


def front_only(workbench: RunningWorkbench, **changes: object) -> str:
    """Put a survey of the demo's front alone on the shelf and give the page's address of it."""
    document = json.loads((DEMO / "pennywhistle.survey.json").read_text(encoding="utf-8"))
    document["photos"] = document["photos"][:1]
    document["faces"] = [{**document["faces"][0], **changes}]
    return workbench.put_on_shelf("front", document, [DEMO / "street.jpg"])


def test_one_more_photo_brings_a_face_and_undo_takes_it_back(browser, workbench, screens, tmp_path):
    bench = BenchPage(browser, front_only(workbench), screens)
    page = bench.page
    page.wait_for_selector(".sizes tbody")
    bench.wait_for_results()
    page.click("#job-photo")
    letter = tmp_path / "letter.jpg"
    letter.write_text("Dear Sir")
    page.set_input_files("#more-photo-file", str(letter))
    page.wait_for_selector("#body-photo .wrong:not([hidden])")
    assert "letter.jpg" in page.inner_text("#body-photo .wrong:not([hidden])")

    page.set_input_files("#more-photo-file", str(DEMO / "kiln.jpg"))
    page.wait_for_selector("#photo-photo1[aria-current=true]")
    assert "kiln.jpg" in page.inner_text("#photo-photo1")
    bench.until("document.querySelector('.hand .tool')?.textContent === 'Frame'")
    bench.wait_for_results()
    bench.shot("photo-added")
    saved = workbench.saved()
    assert [photo["file"] for photo in saved["photos"]] == ["street.jpg", "kiln.jpg"]
    assert saved["faces"][1]["photo"] == "photo1"
    page.keyboard.press("Control+z")
    page.wait_for_selector("#photo-photo1", state="detached")
    assert [line for line in bench.complaints if "422" not in line] == []
    bench.close()


def test_both_things_that_explain_a_contradiction_are_marked_and_lead_to_each_other(
    browser, workbench, screens
):
    document = json.loads((DEMO / "pennywhistle.survey.json").read_text(encoding="utf-8"))
    leaf, _, courses = document["faces"][0]["references"]
    frame = [[1284.4, 1272.2], [2877.2, 1235.4], [2895.4, 1793.9], [1278.1, 1805.8]]
    changes = {"guides": [], "frame": frame, "references": [leaf, {**courses, "count": 26}]}
    bench = BenchPage(browser, front_only(workbench, **changes), screens)
    page = bench.page
    page.wait_for_selector(".sizes tbody")
    bench.wait_for_results()
    signs = page.locator(".sheet.photo .sign text")
    assert signs.all_text_contents() == ["?", "?"]
    page.click("#job-checks")
    page.click("#suspect-0")
    first = page.locator(".sheet.photo g.chosen").get_attribute("data-mark")
    assert "disagree" in page.inner_text(".hand .wrong")
    page.click("#hand-other-0")
    second = page.locator(".sheet.photo g.chosen").get_attribute("data-mark")
    assert {first, second} == {"faces/@front/references/#0", "faces/@front/references/#1"}
    bench.shot("contradiction")
    assert not bench.complaints
    bench.close()
