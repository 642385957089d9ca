"""The picture of the assembled shell, and the edges it flags."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from measure.parts.assembled import facets_of, seams_of, tower_point
from measure.parts.axonometric import svg_of_assembled
from shared.card_wishes import CardWishes
from tests.support.card_walls import make_front, make_side, make_tower, plan_of, rectangle

NAMES = {"s": "http://www.w3.org/2000/svg"}


def words_of(plan):
    root = ET.fromstring(svg_of_assembled(plan))
    return [text.text for text in root.iterfind(".//s:text", NAMES)]


def test_shell_that_closes_says_so_and_flags_nothing():
    plan = plan_of(make_front(), make_side(90.0), make_tower(), wishes=CardWishes())
    assert all(seam.closes for seam in seams_of(plan)) or len(seams_of(plan)) == 0
    plan = plan_of(make_front(), make_side(90.0))
    assert "Every seam closes within 0.05 mm." in words_of(plan)
    assert b"<circle" not in svg_of_assembled(plan)


def test_a_wall_alone_has_no_seams_to_boast_of():
    assert not any("seam" in line for line in words_of(plan_of(make_front())))


def test_feet_at_two_heights_are_flagged_by_how_much():
    side = replace(make_side(90.0), outline_mm=rectangle(0.0, 120.0, 4000.0, 5000.0))
    plan = plan_of(make_front(), side)
    (seam,) = [s for s in seams_of(plan) if not s.closes]
    assert_allclose(seam.gap_mm, 1.2)
    assert any("foot: front and side" in w and "1.20 mm apart" in w for w in words_of(plan))
    assert b"<circle" in svg_of_assembled(plan)


def test_free_ends_that_nearly_meet_are_flagged():
    """A third wall that should close the ring ends 2 mm short of the front's left end."""
    from measure.parts.face_shape import FaceShape, PlanLine

    stray = FaceShape("stray", "Stray", rectangle(0, 0, 4000, 5000), (),
                      PlanLine((0.0, -4200.0), np.pi / 2))  # fmt: skip
    plan = plan_of(make_front(), stray)
    (seam,) = [s for s in seams_of(plan) if not s.closes]
    assert_allclose(seam.gap_mm, 2.0)


def test_thickness_is_true_in_space():
    """Front and back of the carcass lie 0.45 apart, 0.38 and 0.83 behind the face."""
    plan = plan_of(make_front())
    depths = {round(float(f.rings[0][:, 2].mean()), 6) for f in facets_of(plan)
              if np.ptp(f.rings[0][:, 2]) < 1e-9 and f.rank == 0}  # fmt: skip
    assert {-0.38, -0.83} <= depths


def test_facets_face_outwards():
    """Front faces of every layer look at the viewer, backs away."""
    plan = plan_of(make_front())
    for facet in facets_of(plan):
        ring = facet.rings[0]
        if np.ptp(ring[:, 2]) < 1e-9:
            normal = np.sum(np.cross(ring, np.roll(ring, -1, axis=0)), axis=0)
            depth = -ring[0, 2]
            is_front = any(abs(depth - d) < 1e-9 for d in (0.0, 0.15, 0.38))
            assert (normal[2] > 0) == is_front


def test_tower_stands_on_the_end_of_its_wall():
    plan = plan_of(make_front(), make_tower())
    place = plan.shell.towers["tower"]
    angle = place.meets[0].angle_rad(20.0)
    assert_allclose(tower_point(place, 20.0, angle, 0.0), (60.0, 0.0, 0.0), atol=1e-9)


def test_same_plan_gives_the_same_picture():
    plan = plan_of(make_front(), make_tower())
    assert svg_of_assembled(plan) == svg_of_assembled(plan)


@pytest.mark.parametrize("azimuth", [-1.0, 0.0, 0.8])
def test_picture_stays_on_its_sheet_from_any_side(azimuth):
    plan = plan_of(make_front(), make_side(90.0), make_tower(),
                   wishes=CardWishes()) if azimuth else plan_of(make_front())  # fmt: skip
    root = ET.fromstring(svg_of_assembled(plan, azimuth_rad=azimuth))
    _, _, width, height = map(float, root.get("viewBox").split())
    numbers = []
    for path in root.iterfind(".//s:path", NAMES):
        numbers += [tuple(map(float, p)) for p in re.findall(r"([-\d.]+),([-\d.]+)", path.get("d"))]
    points = np.array(numbers)
    assert points.min() >= 0
    assert points[:, 0].max() <= width
    assert points[:, 1].max() <= height


def test_gaps_are_said_in_the_build_order_too():
    import datetime as dt

    from measure.parts.cut_files import make_card_files

    side = replace(make_side(90.0), outline_mm=rectangle(0.0, 120.0, 4000.0, 5000.0))
    made = make_card_files(plan_of(make_front(), side), dt.date(2026, 11, 25))
    assert "The edges of foot: front and side are 1.20 mm apart." in made.cautions
    assert b"foot: front and side are 1.20 mm apart" in made.files["build-order.txt"]


def test_wall_with_nothing_left_of_its_face_is_drawn_without_it():
    """One millimetre of wall ends behind 1.4 of board: its face is gone, its back is not."""
    tiny = replace(
        make_side(37.0), outline_mm=((0, 0), (100, 0), (100, 5000), (0, 5000)), openings=()
    )
    wishes = CardWishes(carcass="mount-board", corner="butt", skin=None, overlay=None)
    plan = plan_of(make_front(), tiny, wishes=wishes)
    assert not any(facet.face == "side" for facet in facets_of(plan))
    assert svg_of_assembled(plan).startswith(b"<?xml")
