"""Driving the page as a person would: by mouse and keys, at places in the photo."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

Point = Sequence[float]


class BenchPage:
    """One tab on the workbench, with its complaints collected."""

    def __init__(
        self,
        browser: Any,
        address: str,
        screens: Path,
        *,
        width: int = 1440,
        height: int = 900,
        context: Any = None,
        **options: Any,
    ) -> None:
        self.screens = screens
        self.context = context or browser.new_context(
            viewport={"width": width, "height": height}, **options
        )
        self.page = self.context.new_page()
        self.complaints: list[str] = []
        self.page.on(
            "console",
            lambda said: (
                self.complaints.append(f"{said.type}: {said.text}")
                if said.type in ("error", "warning")
                else None
            ),
        )
        self.page.on("pageerror", lambda error: self.complaints.append(f"thrown: {error}"))
        self.page.set_default_timeout(20_000)
        self.page.goto(address)

    def until(self, condition: str, seconds: float = 20.0) -> None:
        """Wait until a condition holds; asked from outside, as the page forbids eval."""
        deadline = time.monotonic() + seconds
        while not self.page.evaluate(f"() => Boolean({condition})"):
            if time.monotonic() > deadline:
                raise AssertionError(f"not within {seconds:g} s: {condition}")
            self.page.wait_for_timeout(50)

    def shot(self, name: str) -> None:
        self.page.screenshot(path=self.screens / f"{name}.png")

    def open_demo(self, *, walk: bool = False) -> None:
        self.page.click("#open-demo")
        self.page.wait_for_selector(".sizes tbody")
        self.wait_for_results()
        if not walk:
            self.page.click("#walk-off")

    def new_from_photo(self, photo: Path) -> None:
        self.page.set_input_files("#photo-file", str(photo))
        self.page.wait_for_selector(".sheet.photo")
        self.until("document.querySelector('.hand .tool')?.textContent === 'Frame'")
        self.page.wait_for_timeout(600)

    def wait_for_results(self) -> None:
        """Wait until the trust sentence has settled and everything is saved."""
        self.until(
            "document.querySelector('#trust')?.getAttribute('aria-busy') === 'false'"
            " && document.querySelector('.head .saved')?.textContent === 'Saved'"
        )

    def trust(self) -> str:
        return self.page.inner_text("#trust").replace("\u202f", " ")

    def screen(self, sheet: str, point: Point) -> tuple[float, float]:
        """Place on the screen of a point of a sheet (photo pixels, or u and v in mm)."""
        x, y = self.page.evaluate(
            """([sheet, point]) => {
                const pane = document.getElementById('pane-' + sheet);
                const box = pane.getBoundingClientRect();
                const view = pane.dataset.view.split(' ').map(Number);
                const y = sheet === 'wall' ? -point[1] : point[1];
                const across = point[0] * view[0] + view[1];
                return [box.left + across, box.top + y * view[0] + view[2]];
            }""",
            [sheet, list(point)],
        )
        return x, y

    def zoom_to(self, sheet: str, point: Point, factor: float) -> None:
        """Turn the wheel over a point, as a person does before picking it."""
        x, y = self.screen(sheet, point)
        self.page.mouse.move(x, y)
        for _ in range(8):
            self.page.mouse.wheel(0, -_wheel_for(factor ** (1 / 8)))
            self.page.wait_for_timeout(15)
        self.page.wait_for_timeout(80)

    def show_all(self, sheet: str = "photo") -> None:
        self.page.click(f".sheet.{sheet} .tools button:last-child")
        self.page.wait_for_timeout(80)

    def pick(self, point: Point, *, zoom: float = 1.0, exact: bool = True) -> None:
        """Click a photo pixel; `exact` holds Alt so that nothing is snapped to."""
        if zoom != 1.0:
            self.show_all()
            self.zoom_to("photo", point, zoom)
        x, y = self.screen("photo", point)
        if exact:
            self.page.keyboard.down("Alt")
        self.page.mouse.move(x, y)
        self.page.mouse.click(x, y)
        if exact:
            self.page.keyboard.up("Alt")

    @cached_property
    def _fingers(self) -> Any:
        return self.context.new_cdp_session(self.page)

    def touch(self, kind: str, *points: Point) -> None:
        """Fingers on the screen: "touchStart", "touchMove" or "touchEnd", with where each is."""
        at = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)]
        self._fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})
        self.page.wait_for_timeout(40)

    def shot_wide_and_narrow(self, name: str) -> None:
        """Pictures at three widths, by day and by night; then the page is as it was."""
        for width, theme in ((1440, "light"), (1440, "dark"), (1024, "light"), (480, "dark")):
            self.page.set_viewport_size({"width": width, "height": 900})
            self.page.emulate_media(color_scheme=theme)
            self.page.wait_for_timeout(700)
            self.shot(f"{name}-{width}-{theme}")
        self.page.set_viewport_size({"width": 1440, "height": 900})
        self.page.emulate_media(color_scheme="light")
        self.page.wait_for_timeout(300)

    def rows(self) -> list[str]:
        return [
            text.replace("\u202f", " ")
            for text in self.page.locator(".sizes tbody").all_inner_texts()
        ]

    def close(self) -> None:
        self.context.close()


def _wheel_for(factor: float) -> float:
    return math.log(factor) / 0.002
