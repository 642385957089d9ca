"""Openings mirrored and repeated by handles on the wall: by mouse, by finger, by keys alone."""

from __future__ import annotations

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser

#: Middles of openings of the demo's front on its chart, and a place left of its wall.
WINDOW, DOOR, BESIDE = (-6865.0, 360.0), (1438.0, 200.0), (-9300.0, 200.0)


def begin(browser, workbench, screens, **options) -> BenchPage:
    bench = BenchPage(browser, workbench.first_address, screens, **options)
    bench.open_demo()
    bench.page.keyboard.press("3")
    bench.page.keyboard.press("4")
    bench.page.wait_for_selector("[data-line]", state="attached", timeout=60_000)
    return bench


def handle_at(bench: BenchPage, which: str) -> tuple[float, float]:
    """Middle of a handle on the screen, once it is there."""
    handle = bench.page.locator(f'[data-handle="{which}"] .grip')
    handle.wait_for(state="attached")
    bench.page.wait_for_timeout(100)
    box = handle.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def says(bench: BenchPage, words: str) -> None:
    """Wait until that is said of what is in hand, also to who cannot see it."""
    bench.until(
        "[...document.querySelectorAll('.sheet.wall > [role=status]')]"
        f".some(one => one.textContent.includes({words!r}))"
    )


def completions(workbench) -> list[dict]:
    return workbench.saved()["faces"][0]["drawing"]["completions"]


def saved_completions(bench: BenchPage, workbench, count: int) -> list[dict]:
    """The completions, once so many are saved."""
    for _ in range(100):
        if len(completions(workbench)) == count:
            break
        bench.page.wait_for_timeout(100)
    assert len(completions(workbench)) == count
    return completions(workbench)


def inferred(bench: BenchPage) -> int:
    return bench.page.locator(".drawn .inferred").count()


def test_a_window_is_mirrored_about_the_door_and_undone(browser, workbench, screens):
    bench = begin(browser, workbench, screens)
    page = bench.page
    before, dashed = len(completions(workbench)), inferred(bench)
    page.click("#hand-handles")
    handle_at(bench, "axis")
    page.mouse.click(*bench.screen("wall", WINDOW))
    handle_at(bench, "right")

    x, y = handle_at(bench, "axis")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(bench.screen("wall", BESIDE)[0], y, steps=4)
    says(bench, "lies outside the wall, which runs from 0 to")
    assert page.is_disabled("#handle-take")
    bench.shot("handles-refused")
    page.mouse.move(bench.screen("wall", DOOR)[0] + 3, y, steps=4)
    says(bench, "1 opening mirrored about the centre line of Street door.")
    page.mouse.up()
    assert page.locator(".handles .offered .stroke").count() > 0
    bench.shot("handles-mirror")
    assert len(completions(workbench)) == before  # offered, not taken

    page.focus("#pane-wall")
    page.keyboard.press("Enter")
    wish = saved_completions(bench, workbench, before + 1)[-1]
    assert (wish["kind"], wish["of"], wish["axis_of"]) == ("mirror", ["g1"], ["door"])
    bench.until(f"document.querySelectorAll('.drawn .inferred').length > {dashed}", 30)
    assert page.inner_text("#undo") == "Undo mirror Ground floor window"
    page.click("#job-drawing")
    page.click("#liberties summary")
    assert "Ground floor window mirrored about" in page.inner_text("#liberties")
    page.click("#undo")
    saved_completions(bench, workbench, before)
    assert not bench.complaints
    bench.close()


def test_a_bay_is_repeated_by_keys_alone(browser, workbench, screens):
    bench = begin(browser, workbench, screens)
    page = bench.page
    before = len(completions(workbench))
    page.focus('.sheet.wall [data-pick^="faces/@front/measures/@g1/"]')
    page.keyboard.press("h")
    handle_at(bench, "left")
    page.focus('[data-handle="left"]')
    page.keyboard.press("Enter")
    says(bench, "to the left, as measured")
    page.keyboard.press("Escape")
    bench.until("!document.querySelector('[data-handle=count]')")
    page.keyboard.press("Enter")
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("+")
    says(bench, "Ground floor window 2 times more, every 1\u202f910\u202fmm to the left")
    bench.shot("handles-bay")
    page.keyboard.press("-")
    page.keyboard.press("-")
    says(bench, "A bay cannot be repeated 0 times.")
    page.keyboard.press("Enter")
    assert len(completions(workbench)) == before
    page.keyboard.press("+")
    says(bench, "once more")
    page.keyboard.press("Enter")
    wish = saved_completions(bench, workbench, before + 1)[-1]
    told = wish["kind"], wish["of"], wish["count"], wish["spacing_mm"], wish["towards"]
    assert told == ("repeat", ["g1"], 1, 1910.0, "left")
    page.keyboard.press("Escape")
    bench.until("!document.querySelector('.handles-hand')")
    assert not bench.complaints
    bench.close()


def test_a_finger_says_how_often_by_the_last_copy(browser, workbench, screens):
    bench = begin(browser, workbench, screens, has_touch=True)
    page = bench.page
    before = len(completions(workbench))
    page.click("#hand-handles")
    handle_at(bench, "axis")
    bench.touch("touchStart", bench.screen("wall", WINDOW))
    bench.touch("touchEnd")
    handle_at(bench, "left")
    page.click("#handle-left")
    x, y = handle_at(bench, "count")
    step = abs(bench.screen("wall", (1900.0, 0.0))[0] - bench.screen("wall", (0.0, 0.0))[0])
    bench.touch("touchStart", (x, y))
    for part in (0.3, 0.6, 0.9):
        bench.touch("touchMove", (x - part * step, y))
    bench.touch("touchEnd")
    says(bench, "2 times more")
    page.click("#handle-take")
    wish = saved_completions(bench, workbench, before + 1)[-1]
    assert (wish["count"], wish["spacing_mm"]) == (2, None)
    assert not bench.complaints
    bench.close()
