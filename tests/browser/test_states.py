"""States that a person meets: refusals, a lost program, a second tab, touch, night, narrow."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
AXE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def test_a_bad_photo_is_refused_where_it_was_dropped(browser, workbench, screens, tmp_path):
    text = tmp_path / "not-a-photo.jpg"
    text.write_text("this is a letter")
    cut = tmp_path / "cut-short.jpg"
    cut.write_bytes((DEMO / "street.jpg").read_bytes()[:200_000])
    bench = BenchPage(browser, workbench.first_address, screens)
    for file in (text, cut):
        bench.page.set_input_files("#photo-file", str(file))
        bench.page.wait_for_selector(".drop .wrong")
        bench.until(f"document.querySelector('.drop .wrong').textContent.includes('{file.name}')")
        bench.shot(f"refused-{file.stem}")
    assert not list(workbench.home.rglob("*.*"))
    bench.page.set_input_files("#photo-file", str(DEMO / "street.jpg"))
    bench.page.wait_for_selector(".sheet.photo")
    bench.close()


def test_a_lost_program_is_said_and_the_edit_made_meanwhile_is_saved(browser, workbench, screens):
    bench = BenchPage(browser, workbench.first_address, screens)
    bench.open_demo()
    page = bench.page
    workbench.stop()
    page.locator(".sizes tbody th button").first.click()
    page.fill("#detail-name", "Made while lost")
    page.press("#detail-name", "Enter")
    page.wait_for_selector("#notice .wrong")
    assert "stopped answering" in page.inner_text("#notice")
    bench.shot("program-lost")
    workbench.start()
    page.click("#try-again")
    bench.until("document.querySelector('.head .saved').textContent === 'Saved'")
    assert page.locator("#notice .wrong").count() == 0
    assert "Made while lost" in workbench.survey_path().read_text()
    bench.close()


def test_a_second_tab_says_so_and_may_take_over(browser, workbench, screens):
    first = BenchPage(browser, workbench.first_address, screens)
    first.open_demo()
    address = first.page.url
    second = BenchPage(browser, address, screens, context=first.context)
    page = second.page
    page.wait_for_selector("#take-over")
    second.shot("second-tab")
    assert "another tab" in page.inner_text("#notice")
    assert page.locator("#kind-opening").is_disabled()
    page.click("#take-over")
    page.wait_for_selector("#take-over", state="detached")
    assert page.locator("#kind-opening").is_enabled()
    first.page.wait_for_selector("#take-over")
    first.close()


def test_a_finger_aims_with_the_loupe_and_two_fingers_zoom(browser, workbench, screens):
    bench = BenchPage(
        browser, workbench.first_address, screens, width=1180, height=820, has_touch=True
    )
    bench.new_from_photo(DEMO / "street.jpg")
    page = bench.page
    before = page.evaluate("document.getElementById('pane-photo').dataset.view.split(' ')[0]")
    x, y = bench.screen("photo", [2016, 1500])

    bench.touch("touchStart", (x - 30, y))
    bench.touch("touchStart", (x - 30, y), (x + 30, y))
    for step in range(1, 10):
        bench.touch("touchMove", (x - 30 - 6 * step, y), (x + 30 + 6 * step, y))
    bench.touch("touchEnd")
    after = page.evaluate("document.getElementById('pane-photo').dataset.view.split(' ')[0]")
    assert float(after) > 2 * float(before)
    assert "0 of 4 picked" in page.inner_text(".hand")

    bench.touch("touchStart", (x, y))
    bench.touch("touchMove", (x + 8, y - 12))
    assert page.locator(".loupe").is_visible()
    bench.shot("touch-aiming")
    bench.touch("touchEnd")
    bench.until("document.querySelector('.hand').textContent.includes('1 of 4 picked')")
    bench.close()


def _each_state(bench: BenchPage):
    """Walk through the states of the page, yielding the name of each."""
    page = bench.page
    page.wait_for_selector(".drop")
    yield "start"
    bench.open_demo(walk=True)
    yield "demo-walk"
    page.click("#walk-off")
    yield "bench"
    for line in ("photo", "faces", "frame", "known", "checks", "measures", "drawing", "sheets"):
        page.click(f"#job-{line}")
        page.wait_for_timeout(150)
        yield f"job-{line}"
    page.click("#job-drawing")
    page.click("#wish-details-0")
    yield "detail-unfolded"
    page.click("#draw-over")
    page.wait_for_selector("[data-line]", state="attached", timeout=60_000)
    page.select_option("#line-chosen", "f2.sill")
    page.click("#liberties summary")
    yield "lines-of-drawing"
    page.click("#draw-over")
    page.click("#job-sheets")
    page.click("#card-lay")
    page.wait_for_selector(".card-view:not([hidden])", timeout=60_000)
    yield "sheets-of-card"
    page.click("#card-on")
    page.locator(".card-stage .part").first.focus()
    yield "parts-of-card"
    page.click("#card-close")
    page.click("#job-faces")
    page.locator("[id^=face-]", has_text="Kiln tower").first.click()
    page.wait_for_timeout(800)
    yield "tower-and-plan"
    page.click("#job-frame")
    yield "tower-lines"
    page.click("#job-faces")
    page.click("#face-front")
    page.wait_for_timeout(500)
    page.locator(".sizes tbody th button").first.click()
    page.wait_for_timeout(150)
    yield "measure-chosen"
    page.click("[id='row-faces/@front/measures/@c2']")
    page.click("#joints-turn")
    page.wait_for_timeout(600)
    yield "joints-in-hand"
    page.click("#put-down")
    page.click("#job-known")
    page.click("#bricks-weigh")
    page.wait_for_selector("#formats", timeout=60_000)
    yield "bricks-weighed"
    page.click("#bricks-off")
    page.click("#job-faces")
    page.click("#kind-opening")
    yield "tool-in-hand"
    page.click("#put-down")
    page.click("#lay-map")
    page.wait_for_timeout(500)
    yield "plus-minus-map"
    page.click("#lay-map")
    page.click("#lay-drawing")
    page.wait_for_timeout(1200)
    yield "drawing-over"
    page.click("#lay-drawing")
    page.wait_for_timeout(400)
    yield "drawing-alone"
    page.click("#lay-drawing")
    page.click("#keys")
    yield "help"
    page.click("#keys")
    page.click("#saved")
    page.wait_for_timeout(400)
    yield "versions"
    page.click("#to-start")
    page.wait_for_selector(".recent button")
    yield "start-with-recent"


def _faults(bench: BenchPage, state: str, rules: list[str] | None = None) -> list[str]:
    """What axe-core finds wrong with the page as it stands, by all of `TAGS` or by `rules`."""
    if not bench.page.evaluate("typeof axe === 'object'"):
        bench.page.evaluate(AXE.read_text(encoding="utf-8"))
    found = bench.page.evaluate(
        "only => axe.run(document, {runOnly: only, resultTypes: ['violations']})",
        {"type": "rule", "values": rules} if rules else {"type": "tag", "values": TAGS},
    )
    return [
        f"{state}: {fault['id']}: {node['html'][:160]} {node['failureSummary'][:200]}"
        for fault in found["violations"]
        for node in fault["nodes"][:3]
    ]


@pytest.mark.parametrize(("width", "height"), [(1440, 900), (1024, 768)])
def test_no_state_has_an_accessibility_fault(browser, workbench, screens, width, height):
    if not AXE.is_file():
        pytest.skip("axe-core is not installed: npm ci in tests/browser")
    bench = BenchPage(
        browser,
        workbench.first_address,
        screens,
        width=width,
        height=height,
        reduced_motion="reduce",
    )
    faults = []
    for state in _each_state(bench):
        bench.shot(f"light-{width}-{state}")
        # narrower, the parts are the same: a few states tell whether they still have room
        if width > 1024 or state in ("bench", "job-sheets", "measure-chosen", "help"):
            faults += _faults(bench, state)
        if width > 1024:  # in the dark only the colours are others
            bench.page.emulate_media(color_scheme="dark")
            bench.shot(f"dark-{width}-{state}")
            faults += _faults(bench, f"{state} in the dark", ["color-contrast"])
            bench.page.emulate_media(color_scheme="light")
        wide = bench.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, f"{state} is {wide} px wide"
    assert not faults, "\n".join(faults)
    assert not bench.complaints
    bench.close()


def test_at_200_percent_the_margins_fold_and_unfold(browser, workbench, screens):
    """A window of 1440 x 900 at 200 % has 720 x 450 pixels of its own."""
    bench = BenchPage(browser, workbench.first_address, screens, width=720, height=450)
    page = bench.page
    page.click("#open-demo")
    page.click("#walk-off")
    bench.wait_for_results()
    assert page.locator(".job").is_hidden()
    assert page.locator(".sizes").is_hidden()
    assert page.locator(".sheet.photo").bounding_box()["width"] > 300
    faults = _faults(bench, "folded") if AXE.is_file() else []
    page.click("#fold-sizes")
    bench.shot("folded-measures")
    page.click("#kind-opening")  # a tool in hand wants the pictures
    assert page.locator(".sizes").is_hidden()
    page.click("#put-down")
    page.click("#fold-job")
    page.click("#job-checks")
    assert page.locator("#body-checks").is_visible()
    bench.shot("folded-job")
    faults += _faults(bench, "job unfolded") if AXE.is_file() else []
    assert page.evaluate("document.documentElement.scrollWidth") <= 720
    assert not faults, "\n".join(faults)
    assert not bench.complaints
    bench.close()


def test_the_first_paint_is_at_most_300_kb(browser, workbench, screens):
    sizes: list[int] = []
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.on("response", lambda answer: sizes.append(len(answer.body())) if answer.ok else None)
    page.goto(workbench.first_address)
    page.wait_for_selector(".drop")
    page.wait_for_timeout(300)
    assert sum(sizes) <= 300 * 1024
    context.close()
