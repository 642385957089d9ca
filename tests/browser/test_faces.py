"""Every kind of face chosen and picked on the page, with the loupe; listed, drawn, solved.

Places to pick are projected from the demo building's own dimensions by the formula written in
``fixtures/demo/truth.json``, and what comes out is compared with those dimensions.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from fixtures.pennywhistle import building
from tests.support.bench_page import BenchPage
from tests.support.workbench import RunningWorkbench

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
TRUTH = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))


def photo_px(photo: str, point_mm: Sequence[float]) -> list[float]:
    """Where a photo of the demo shows a point of the building."""
    camera = TRUTH["photos"][photo]
    rotation = np.array(camera["cam_from_building"])
    x, y, z = rotation @ (np.array(point_mm) - camera["camera_centre_mm"])
    a, b = x / z, y / z
    s = a * a + b * b
    bend = camera["focal_px"] * (1 + camera["k1"] * s + camera["k2"] * s * s)
    px, py = camera["principal_px"]
    return [px + bend * a, py + bend * b]


def on_wing(along_mm: float, up_mm: float) -> list[float]:
    """A point of the wing, so far from the hinge."""
    heading = math.radians(TRUTH["faces"]["wing"]["hinge_deg"])
    return [-along_mm * math.cos(heading), up_mm, -along_mm * math.sin(heading)]


def on_roof(along_mm: float, up_slope_mm: float) -> list[float]:
    foot_y, foot_z = building.ROOF_FOOT_MM
    pitch = math.radians(building.ROOF_PITCH_DEG)
    up, back = up_slope_mm * math.sin(pitch), up_slope_mm * math.cos(pitch)
    return [along_mm, foot_y + up, foot_z - back]


def fronts_only(workbench: RunningWorkbench) -> str:
    """A survey of the demo's fronts in two photos; gives the page's address of it."""
    document = json.loads((DEMO / "pennywhistle.survey.json").read_text(encoding="utf-8"))
    kept = ("front", "front-kiln")
    document["photos"] = [p for p in document["photos"] if p["id"] in ("street", "kiln")]
    document["faces"] = [f for f in document["faces"] if f["id"] in kept]
    photos = [DEMO / "street.jpg", DEMO / "kiln.jpg"]
    return workbench.put_on_shelf("fronts", document, photos)


class Faces:
    """Adds faces as a person does."""

    def __init__(self, bench: BenchPage) -> None:
        self.bench, self.page = bench, bench.page

    def add(self, kind: str, beside: str) -> None:
        self.open("faces")
        if self.page.locator(f"#face-{beside}").count():
            self.page.click(f"#face-{beside}")
            self.page.wait_for_timeout(500)
        self.page.click(f"#add-{kind}")

    def open(self, line: str) -> None:
        if self.page.locator(f"#body-{line}").count() == 0:
            self.page.click(f"#job-{line}")

    def pick(self, photo: str, points_mm: Sequence[Sequence[float]]) -> None:
        for point in points_mm:
            place = photo_px(photo, point)
            self.bench.show_all()
            self.bench.zoom_to("photo", place, 6)
            x, y = self.bench.screen("photo", place)
            self.page.mouse.move(x + 3, y)
            assert self.page.locator(".loupe").is_visible()
            self.bench.pick(place)

    def numbers(self) -> list[float]:
        """What the page says was solved of the face in hand."""
        self.open("frame")
        self.bench.wait_for_results()
        self.bench.until("document.querySelector('#solved-says') !== null")
        says = self.page.inner_text("#solved-says").replace("\u202f", "")
        return [float(n) for n in re.findall(r"(?<!±)\b\d+(?:\.\d+)?", says)]

    def plan_names(self) -> str:
        self.bench.wait_for_results()
        self.open("faces")
        # the lines of the solved faces are fetched only now, on a machine that may be busy
        self.page.wait_for_selector(".plan svg", timeout=60_000)
        return self.page.get_attribute(".plan svg", "aria-label")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_kind_of_face_is_picked_listed_and_outlined(browser, workbench, screens, scheme):
    bench = BenchPage(
        browser, fronts_only(workbench), screens, color_scheme=scheme, reduced_motion="reduce"
    )
    page, faces = bench.page, Faces(bench)
    page.wait_for_selector(".sizes tbody")
    bench.wait_for_results()

    faces.add("wing", "front")
    faces.pick("street", [on_wing(0, 800), on_wing(0, 3500)])
    faces.pick("street", [on_wing(*at) for at in ((4800, 1300), (700, 1300), (700, 3600))])
    faces.pick("street", [on_wing(4800, 3600)])
    # picks good to a third of a photo pixel: a degree, as the wing is seen from its side
    assert faces.numbers()[0] == pytest.approx(180 - building.HINGE_INNER_DEG, abs=1.0)
    assert "Wing" in faces.plan_names()
    bench.shot(f"face-wing-{scheme}")

    faces.add("roof", "front")
    faces.pick("street", [on_roof(1000, 0), on_roof(5000, 0)])
    faces.pick("street", [on_roof(*at) for at in ((600, 300), (5200, 300), (5200, 4500))])
    faces.pick("street", [on_roof(600, 4500)])
    faces.open("frame")
    page.fill("#surface-set_back_mm", "-170")
    page.press("#surface-set_back_mm", "Enter")
    page.wait_for_timeout(600)
    assert faces.numbers()[0] == pytest.approx(building.ROOF_PITCH_DEG, abs=1.5)
    page.click("#verge-pick")
    faces.pick("street", [on_roof(600, 300), on_roof(600, 4500)])
    page.click("#end-run")
    assert faces.numbers()[0] == pytest.approx(building.ROOF_PITCH_DEG, abs=1.5)
    bench.shot(f"face-roof-{scheme}")

    faces.add("parallel", "front")
    faces.pick("street", [[800, 3810, -100], [11_900, 3810, -100], [11_900, 5029, -100]])
    faces.pick("street", [[800, 5029, -100]])
    faces.open("frame")
    page.fill("#surface-set_back_mm", "100")
    page.press("#surface-set_back_mm", "Enter")
    page.wait_for_timeout(600)
    assert faces.numbers()[0] == pytest.approx(100, abs=1.0)
    bench.shot(f"face-parallel-{scheme}")

    faces.add("round", "front-kiln")
    page.click("#hand-right_edge")
    demo = json.loads((DEMO / "pennywhistle.survey.json").read_text(encoding="utf-8"))
    tower = next(f for f in demo["faces"] if f["id"] == "tower")["surface"]
    for edge, name in (("right_edge", ""), ("meets_wall", "#edge-meets_wall")):
        if name:
            faces.open("frame")
            page.click(name)
        for pick in (tower[edge][0], tower[edge][-1]):
            bench.pick(pick[:2], zoom=6)
    faces.open("frame")
    page.fill("#surface-axis_set_back_mm", "1000")
    page.press("#surface-axis_set_back_mm", "Enter")
    page.fill("#surface-u_axis_set_back_mm", "20")
    page.press("#surface-u_axis_set_back_mm", "Enter")
    page.wait_for_timeout(600)
    radius_mm = TRUTH["faces"]["tower"]["radius_mm"]
    # two picks on each outline, each good to about a pixel
    assert faces.numbers()[0] == pytest.approx(radius_mm, rel=0.03)
    assert page.locator(".sheet.photo .solids path").first.get_attribute("d")
    bench.shot(f"face-tower-{scheme}")
    assert "Tower" in faces.plan_names()
    states = page.locator("#body-faces .item p").all_inner_texts()
    assert len([says for says in states if "sized" in says]) == 6
    bench.shot(f"faces-listed-{scheme}")
    assert not bench.complaints
    bench.close()
