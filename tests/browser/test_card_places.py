"""Parts of card carried on and between their sheets, by mouse, finger and keys."""

from __future__ import annotations

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser

PART = '.card-stage [data-part="{}/1"]'


def lay_out(browser, workbench, screens, **options) -> tuple[BenchPage, str]:
    """The demo's first sheet of parts, and the name of a part on it."""
    bench = BenchPage(browser, workbench.first_address, screens, **options)
    bench.open_demo()
    bench.page.click("#job-sheets")
    bench.page.click("#card-lay")
    bench.page.wait_for_selector(".card-view:not([hidden])", timeout=120_000)
    bench.page.click("#card-on")
    bench.page.wait_for_selector(".card-stage .part")
    return bench, names_on(bench)[0]


def laid_again(bench: BenchPage) -> None:
    bench.page.wait_for_timeout(300)
    bench.until("!document.querySelector('#card-stop')", 120)
    bench.page.wait_for_timeout(150)


def place_of(bench: BenchPage, name: str) -> tuple[float, float]:
    """Middle of a part on the screen."""
    box = bench.page.locator(f"{PART.format(name)} > path").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(bench: BenchPage, start, *stops) -> None:
    bench.page.mouse.move(*start)
    bench.page.mouse.down()
    for stop in stops:
        bench.page.mouse.move(*stop, steps=6)
    bench.page.mouse.up()


def status(bench: BenchPage) -> str:
    return bench.page.inner_text(".card-view .hand [role=status]")


def names_on(bench: BenchPage) -> list[str]:
    return bench.page.evaluate(
        "[...document.querySelectorAll('.card-stage .part')].map(p => p.dataset.part.split('/')[0])"
    )


def test_a_part_is_dragged_on_its_sheet_and_onto_another_and_let_go(browser, workbench, screens):
    bench, name = lay_out(browser, workbench, screens)
    page = bench.page
    start = place_of(bench, name)

    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 900, start[1], steps=6)
    assert f"{name} lies beyond the margin" in status(bench)
    bench.shot("card-part-refused")
    page.mouse.up()
    assert "It stays where it was" in status(bench)
    assert place_of(bench, name) == pytest.approx(start, abs=1.0)

    drag(bench, start, (start[0] + 10, start[1] + 40))
    laid_again(bench)
    assert page.get_attribute(PART.format(name), "aria-pressed") == "true"
    assert place_of(bench, name) == pytest.approx((start[0] + 10, start[1] + 40), abs=1.5)
    assert "place part" in page.inner_text("#undo")
    bench.shot_wide_and_narrow("card-part-pinned")

    # over the small further sheet, then back over the paper
    here = place_of(bench, name)
    page.mouse.move(*here)
    page.mouse.down()
    page.mouse.move(here[0] + 8, here[1] + 8, steps=3)
    further = page.locator(".card-strip button").last.bounding_box()
    page.mouse.move(further["x"] + 20, further["y"] + 20, steps=8)
    page.mouse.move(start[0], start[1], steps=8)
    bench.shot("card-part-carried")
    page.mouse.up()
    laid_again(bench)
    assert name in names_on(bench)
    assert "Sheet 2" in page.evaluate(
        "document.querySelector('#card-sheet').selectedOptions[0].text"
    )

    page.keyboard.press("Delete")
    laid_again(bench)
    page.click("#card-small-1")
    assert name in names_on(bench)
    assert page.get_attribute(PART.format(name), "aria-pressed") == "false"
    assert not bench.complaints
    bench.close()


def test_a_part_is_moved_turned_and_sent_on_by_keys_alone(browser, workbench, screens):
    bench, name = lay_out(browser, workbench, screens)
    page = bench.page
    page.focus(PART.format(name))
    before = place_of(bench, name)
    for _ in range(3):
        page.keyboard.press("Shift+ArrowDown")
    assert place_of(bench, name)[1] > before[1] + 20
    page.keyboard.press("Escape")
    assert place_of(bench, name) == pytest.approx(before, abs=0.5)

    page.keyboard.press("t")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    laid_again(bench)
    assert page.get_attribute(PART.format(name), "aria-pressed") == "true"
    assert page.evaluate("document.activeElement.dataset.part") == f"{name}/1"

    page.keyboard.press("PageDown")
    page.keyboard.press("Enter")
    laid_again(bench)
    assert "Sheet 2" in page.evaluate(
        "document.querySelector('#card-sheet').selectedOptions[0].text"
    )
    page.keyboard.press("Control+z")
    laid_again(bench)
    page.click("#card-small-1")
    assert page.get_attribute(PART.format(name), "aria-pressed") == "true"
    assert not bench.complaints
    bench.close()


def test_a_finger_carries_a_part_too(browser, workbench, screens):
    bench, name = lay_out(browser, workbench, screens, has_touch=True)
    page = bench.page
    x, y = place_of(bench, name)
    bench.touch("touchStart", (x, y))
    for step in range(1, 6):
        bench.touch("touchMove", (x + 2 * step, y + 8 * step))
    bench.touch("touchEnd")
    laid_again(bench)
    assert page.get_attribute(PART.format(name), "aria-pressed") == "true"
    assert place_of(bench, name) == pytest.approx((x + 10, y + 40), abs=2.0)
    assert not bench.complaints
    bench.close()


def test_a_part_is_left_out_by_button_or_key_put_back_and_undone(browser, workbench, screens):
    bench, name = lay_out(browser, workbench, screens)
    page = bench.page
    page.focus(PART.format(name))
    page.emulate_media(color_scheme="dark")
    bench.shot("card-leave-out-dark")
    page.click("#card-leave-out")
    laid_again(bench)
    assert name not in names_on(bench)
    bench.shot("card-left-out-dark")
    page.emulate_media(color_scheme="light")
    bench.shot("card-left-out-light")
    page.click(f"[data-put-back='{name}']")
    laid_again(bench)
    assert name in names_on(bench)
    page.focus(PART.format(name))
    page.keyboard.press("o")
    laid_again(bench)
    assert name not in names_on(bench)
    page.keyboard.press("Control+z")
    laid_again(bench)
    assert name in names_on(bench)
    assert not bench.complaints
    bench.close()
