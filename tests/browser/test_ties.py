"""Two photos of one building tied on the page: the same wall, points picked in both, a slip."""

from __future__ import annotations

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser


def test_two_photos_are_tied_say_where_they_disagree_and_undo(browser, workbench, screens):
    bench = BenchPage(browser, workbench.first_address, screens)
    bench.open_demo()
    page = bench.page

    faces = {face["id"]: face for face in workbench.saved()["faces"]}

    def corner(face: str, measure: str, number: int) -> list[float]:
        found = next(m for m in faces[face]["measures"] if m["id"] == measure)
        return found["at"][number][:2]

    def tie(measure: str, number: int, off_px: float = 0.0) -> None:
        page.click("#tie-point")
        bench.pick(corner("front", measure, number), zoom=3)
        bench.until("document.querySelector('#face-name-front-oblique') !== null")
        page.wait_for_timeout(300)
        x, y = corner("front-oblique", measure, number)
        bench.pick([x + off_px, y], zoom=3)
        bench.until("document.querySelector('#face-name-front') !== null")

    page.click("#job-faces")
    page.select_option("#same-as", "front-oblique")
    for measure, number in (("g1", 0), ("s3", 2), ("door", 1)):
        tie(measure, number)
    bench.wait_for_results()
    document = workbench.saved()
    assert [[end["face"] for end in one["at"]] for one in document["ties"]] == (
        [["front", "front-oblique"]] * 3
    )
    assert document["faces"][0]["same_as"] == "front-oblique"
    assert page.locator("#body-faces .wrong").count() == 0
    # the plan shows both photos' walls once they are tied
    page.wait_for_selector(".plan svg[aria-label*='oblique']")
    bench.shot("ties")

    tie("f2", 0, off_px=60.0)
    bench.wait_for_results()
    bench.until("document.querySelector('#trust').textContent.includes('disagree')")
    assert "disagree" in page.inner_text("#body-faces h3 + .wrong")
    bench.shot("ties-disagree")
    # the end that was picked 60 px off is dragged to where it belongs
    page.click("#face-front-oblique")
    bench.until("document.querySelector('#face-name-front-oblique') !== null")
    x, y = corner("front-oblique", "f2", 0)
    bench.show_all()
    bench.zoom_to("photo", [x + 60.0, y], 3)
    page.mouse.move(*bench.screen("photo", [x + 60.0, y]))
    page.mouse.down()
    page.keyboard.down("Alt")
    page.mouse.move(*bench.screen("photo", [x, y]), steps=5)
    page.mouse.up()
    page.keyboard.up("Alt")
    bench.until("!document.querySelector('#trust').textContent.includes('disagree')")
    bench.wait_for_results()
    page.keyboard.press("Control+z")
    bench.until("document.querySelector('#trust').textContent.includes('disagree')")
    page.keyboard.press("Control+z")
    bench.until("!document.querySelector('#trust').textContent.includes('disagree')")

    page.click("#tie-off-t1")
    bench.wait_for_results()
    assert [one["id"] for one in workbench.saved()["ties"]] == ["t2", "t3"]
    assert not bench.complaints
    bench.close()
