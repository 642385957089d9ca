"""What stopped people in their first hour: each said or shown where it stands, reached by keys."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.bench_page import BenchPage

pytestmark = pytest.mark.browser
sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

STREET = Path(__file__).parents[2] / "fixtures" / "demo" / "street.jpg"
FRAME = [[1284, 1272], [2877, 1235], [2895, 1794], [1278, 1806]]
DOOR = [[2470, 1663], [2475, 1954]]
WINDOW = [[1280, 1612], [1418, 1610], [1416, 1805], [1278, 1805]]


class Keys:
    """A person who has only the keys."""

    def __init__(self, bench: BenchPage) -> None:
        self.bench, self.page = bench, bench.page

    def press(self, key: str, times: int = 1) -> None:
        for _ in range(times):
            self.page.keyboard.press(key)

    @property
    def focus(self) -> str:
        return self.page.evaluate("document.activeElement.id")

    def tab_to(self, name: str) -> None:
        for _ in range(60):
            if self.focus == name:
                return
            self.press("Tab")
        raise AssertionError(f"Tab does not reach {name}")

    def cross(self) -> tuple[float, float]:
        """Where the cross-hair stands, in photo pixels."""
        x, y = self.page.evaluate(
            """() => {
                const lines = [...document.querySelectorAll('.sheet.photo .cross line')];
                const at = (line, name) => Number(line.getAttribute(name));
                const [s, dx, dy] = document.getElementById('pane-photo').dataset.view.split(' ').map(Number);
                const upright = lines.find(line => at(line, 'x1') === at(line, 'x2'));
                const level = lines.find(line => at(line, 'y1') === at(line, 'y2'));
                return [(at(upright, 'x1') - dx) / s, (at(level, 'y1') - dy) / s];
            }"""  # noqa: E501
        )
        return x, y

    def pick(self, point: list[float]) -> None:
        self.press("ArrowLeft")
        for _ in range(3):  # the sheet may move along, so look again
            for here, there, back, on in zip(
                self.cross(), point, ("ArrowLeft", "ArrowUp"), ("ArrowRight", "ArrowDown"),
                strict=True,
            ):  # fmt: skip
                key, by = (on if there > here else back), round(abs(there - here))
                self.press(f"Control+{key}", by // 100)
                self.press(f"Shift+{key}", by % 100 // 10)
                self.press(key, by % 10)
        # it is drawn to whole pixels of the screen, of which each is nine of the photo
        assert self.cross() == pytest.approx(point, abs=9.0)
        self.press("Enter")
        self.page.wait_for_timeout(60)

    def choose_photo(self, photo):
        """Ask for a file; once more where a busy browser lets the key fall."""
        for patience_ms in (5_000, 10_000, 20_000):
            self.tab_to("choose-photo")
            try:
                with self.page.expect_file_chooser(timeout=patience_ms) as chooser:
                    self.press("Enter")
            except sync_api.TimeoutError:
                continue
            chooser.value.set_files(photo)
            return
        pytest.fail("The key opens no choice of files.")


def test_keys_alone_lead_from_the_photo_to_the_sheets(browser, workbench, screens):
    """Photo, four corners, known size, a measure, the drawing, a file, sheets of card."""
    bench = BenchPage(browser, workbench.first_address, screens, reduced_motion="reduce")
    keys, page = Keys(bench), bench.page
    page.wait_for_selector(".drop")
    page.wait_for_load_state("networkidle")
    keys.choose_photo(STREET)
    bench.until("document.querySelector('.hand .tool')?.textContent === 'Frame'")
    bench.until("document.activeElement.id === 'pane-photo'")
    bench.until("document.getElementById('pane-photo').dataset.view")
    for corner in FRAME:
        keys.pick(corner)
    bench.until("document.querySelector('#trust').textContent.includes('rests on your picks')")
    keys.press("k")
    keys.tab_to("known-length")
    page.keyboard.type("1981 mm")
    keys.press("Enter")
    bench.until("document.activeElement.id === 'pane-photo'")
    for end in DOOR:
        keys.pick(end)
    bench.wait_for_results()
    keys.press("o")
    for corner in WINDOW:
        keys.pick(corner)
    bench.until("document.querySelectorAll('.sizes td.value').length >= 3")
    keys.press("4", 2)
    page.wait_for_selector(".paper-view img")
    keys.press("4")
    keys.press("Shift+F6")
    keys.tab_to("job-sheets")
    keys.press("Enter")
    keys.tab_to("export-svg")
    with page.expect_download() as download:
        keys.press("Enter")
    assert download.value.suggested_filename.endswith(".svg")
    keys.tab_to("card-lay")
    keys.press("Enter")
    page.wait_for_selector(".card-view:not([hidden])", timeout=60_000)
    bench.until("document.activeElement.id === 'card-sheet'")
    bench.shot("keys-alone")
    assert page.locator(".head .set [aria-pressed=true]").count() == 0
    keys.tab_to("card-close")
    keys.press("Enter")
    assert keys.focus == "card-lay"
    assert not bench.complaints
    bench.close()


@pytest.fixture(scope="module")
def new_wall(browser, tmp_path_factory):
    """A photo just opened: nothing picked, nothing measured."""
    from tests.support.workbench import RunningWorkbench

    folder = tmp_path_factory.mktemp("first-hour")
    running = RunningWorkbench(folder / "home", folder / "state").start()
    bench = BenchPage(browser, running.first_address, folder)
    bench.new_from_photo(STREET)
    bench.page.click("#put-down")
    yield bench
    bench.close()
    running.stop()


def test_sheets_that_lack_something_say_what_and_lead_there(new_wall, screens):
    page = new_wall.page
    page.click("#job-sheets")
    for format_ in ("svg", "pdf", "dxf", "png", "csv", "zip"):
        button = page.locator(f"#export-{format_}")
        assert button.get_attribute("aria-disabled") == "true"
        described = button.get_attribute("aria-describedby")
        assert "pick its frame" in page.inner_text(f"#{described}")
    page.screenshot(path=screens / "sheets-lack.png")
    page.focus("#export-svg")
    page.keyboard.press("Enter")
    page.click("#sheets-lack-go")
    assert page.locator("#body-frame").is_visible()
    assert not new_wall.complaints  # nothing was asked for in vain


@pytest.mark.parametrize("field", ["known-length", "known-u"])
def test_a_word_for_a_length_is_refused_at_its_field_until_it_is_typed_anew(new_wall, field):
    page = new_wall.page
    page.click("#job-known")
    page.fill(f"#{field}", "two")
    page.press(f"#{field}", "Enter")
    said = page.locator(f"#{field}-refused")
    new_wall.until(f"!document.getElementById('{field}-refused').hidden")
    assert "write it like" in said.inner_text()
    page.fill("#size-filter", "door")  # the panel is drawn anew
    assert said.is_visible()
    assert page.get_attribute(f"#{field}", "aria-invalid") == "true"
    page.fill(f"#{field}", "2 m")
    page.press(f"#{field}", "Tab")
    assert said.is_hidden()
    page.fill("#size-filter", "")
    page.click("#job-known")


def test_colours_forced_by_the_system_show_what_is_pressed(browser, workbench, screens):
    bench = BenchPage(browser, workbench.first_address, screens, forced_colors="active")
    bench.open_demo()
    page = bench.page
    page.locator(".sizes tbody th button").first.click()
    bench.shot("colours-forced")
    ground = "getComputedStyle(document.getElementById('{}')).backgroundColor"
    assert page.evaluate(ground.format("lay-both")) != page.evaluate(ground.format("lay-wall"))
    bar = "getComputedStyle(document.querySelector('.sizes tbody.chosen th')).borderLeftWidth"
    assert page.evaluate(bar) == "4px"
    bench.close()


def test_the_sheets_stay_where_they_are_while_the_walk_goes_on(browser, workbench, screens):
    bench = BenchPage(browser, workbench.first_address, screens, width=1100, height=700)
    bench.open_demo(walk=True)
    tops = set()
    for _ in range(6):
        tops.add(bench.page.locator(".sheet.photo").bounding_box()["y"])
        bench.page.click("#walk-on")
    assert len(tops) == 1
    bench.close()
