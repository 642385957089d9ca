"""Levels and jambs of the elevation moved on the wall: by mouse, finger and keys."""

from __future__ import annotations

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser


def begin(browser, workbench, screens, **options) -> BenchPage:
    bench = BenchPage(browser, workbench.first_address, screens, **options)
    bench.open_demo()
    bench.page.keyboard.press("3")
    bench.page.click("#job-drawing")
    bench.page.click("#draw-over")
    bench.page.wait_for_selector("[data-line]", state="attached", timeout=60_000)
    bench.page.wait_for_timeout(500)
    return bench


def drawn(bench: BenchPage) -> None:
    """Wait until the elevation of what was put down has come."""
    bench.page.wait_for_timeout(400)
    bench.wait_for_results()
    bench.page.wait_for_timeout(2500)


def there_is(bench: BenchPage, key: str, count: int) -> None:
    """Wait until so many lines go by that name."""
    bench.until(f"document.querySelectorAll('[data-line=\"{key}\"]').length === {count}", 30)


def line_at(bench: BenchPage, key: str) -> tuple[float, float]:
    """Middle of the first piece of a line on the screen."""
    return tuple(
        bench.page.evaluate(
            """key => {
                const path = document.querySelector(`[data-line="${key}"] .stroke`);
                const [a, b] = path.getAttribute('d').slice(1).split(/[ML]/).map(
                    p => p.split(' ').map(Number));
                const box = path.ownerSVGElement.getBoundingClientRect();
                return [(a[0] + b[0]) / 2 + box.left, (a[1] + b[1]) / 2 + box.top];
            }""",
            key,
        )
    )


def value_of(bench: BenchPage, key: str) -> float:
    return float(bench.page.get_attribute(f'[data-line="{key}"]', "aria-valuenow"))


def moved_wishes(workbench) -> list[dict]:
    return workbench.saved()["faces"][0]["drawing"].get("moved") or []


def test_a_level_is_dragged_shown_as_a_liberty_and_undone(browser, workbench, screens):
    bench = begin(browser, workbench, screens)
    page = bench.page
    before = value_of(bench, "f2.sill")
    x, y = line_at(bench, "f2.sill")
    page.keyboard.down("Alt")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 6, steps=3)
    page.mouse.move(x + 30, y + 14, steps=4)
    page.wait_for_timeout(400)
    assert value_of(bench, "f2.sill") < before - 50
    assert "on the model" in page.inner_text(".sheet.wall [role=status]")
    bench.shot("line-dragged")
    page.mouse.up()
    page.keyboard.up("Alt")
    drawn(bench)
    assert value_of(bench, "f2.sill") < before - 50
    assert [wish["what"] for wish in moved_wishes(workbench)] == ["level"]
    page.click("#liberties summary")
    assert "as asked" in page.inner_text(".liberties tbody:nth-of-type(1)")
    page.check("#ghost-on")
    bench.shot_wide_and_narrow("line-moved")
    assert "move" in page.inner_text("#undo").lower()
    page.click("#undo")
    drawn(bench)
    assert value_of(bench, "f2.sill") == pytest.approx(before, abs=0.1)
    assert not bench.complaints
    bench.close()


def test_a_line_is_drawn_to_another_and_stays_on_it(browser, workbench, screens):
    bench = begin(browser, workbench, screens)
    page = bench.page
    x, y = line_at(bench, "f3-light.sill")
    _, to = line_at(bench, "f2.sill")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, (y + to) / 2, steps=3)
    page.mouse.move(x, to + 2, steps=3)
    page.wait_for_timeout(300)
    assert "snapped" in page.get_attribute('[data-line="f3-light.sill"]', "class")
    page.mouse.up()
    drawn(bench)
    (wish,) = moved_wishes(workbench)
    assert (wish["of"], wish["onto"]) == (["f3-light.sill"], "f2.sill")
    there_is(bench, "f3-light.sill", 0)  # one line now
    assert not bench.complaints
    bench.close()


def test_a_jamb_is_moved_by_keys_alone_put_down_and_left_as_measured(browser, workbench, screens):
    bench = begin(browser, workbench, screens)
    page = bench.page
    before = value_of(bench, "g1.left")
    page.focus('[data-line="g1.left"]')
    for _ in range(4):
        page.keyboard.press("Shift+ArrowLeft")
    page.wait_for_timeout(300)
    assert value_of(bench, "g1.left") == pytest.approx(before - 40, abs=0.1)
    page.keyboard.press("Escape")
    page.wait_for_timeout(200)
    assert value_of(bench, "g1.left") == pytest.approx(before, abs=0.1)
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("Enter")
    drawn(bench)
    assert value_of(bench, "g1.left") == pytest.approx(before - 10, abs=0.1)
    page.focus('[data-line="g1.left"]')
    page.keyboard.press("Delete")
    drawn(bench)
    assert value_of(bench, "g1.left") == pytest.approx(before, abs=0.1)

    page.focus('[data-line="g1.left"]')
    page.keyboard.press("Shift+ArrowRight")
    for _ in range(120):
        page.keyboard.press("Shift+ArrowRight")
    page.wait_for_timeout(400)
    assert "has no width left" in page.inner_text(".sheet.wall [role=status]")
    bench.shot("line-refused")
    page.keyboard.press("Enter")
    page.wait_for_timeout(500)
    assert value_of(bench, "g1.left") == pytest.approx(before, abs=0.1)
    assert not bench.complaints
    bench.close()


def test_a_finger_moves_a_level(browser, workbench, screens):
    bench = begin(browser, workbench, screens, has_touch=True)
    before = value_of(bench, "f2.sill")
    x, y = line_at(bench, "f2.sill")
    bench.touch("touchStart", (x, y))
    for step in range(1, 8):
        bench.touch("touchMove", (x, y + 5 * step))
    bench.touch("touchEnd")
    drawn(bench)
    assert value_of(bench, "f2.sill") < before - 100
    assert not bench.complaints
    bench.close()


def test_lines_are_made_one_and_kept_apart_in_the_margin(browser, workbench, screens):
    bench = begin(browser, workbench, screens)
    page = bench.page
    page.select_option("#line-chosen", "s3.springing")
    page.click('[id="line-apart-l2.springing"]')
    drawn(bench)
    assert "kept apart from" in page.inner_text("#job")
    there_is(bench, "l2.springing", 1)
    page.click("#line-wish-0")
    drawn(bench)
    assert "kept apart from" not in page.inner_text("#job")

    page.select_option("#line-chosen", "f2.sill")
    page.select_option("#line-together", "f3-light.sill")
    drawn(bench)
    assert "one line" in page.inner_text("#job")
    there_is(bench, "f3-light.sill", 0)
    bench.shot("lines-made-one")
    assert not bench.complaints
    bench.close()
