"""The demo cut from card: sheets read back from SVG, folded into space, every seam measured.

Nothing of the program's own geometry is used after the SVG is written: thicknesses, hinge and
radius come from the survey's results and from the sheets named here.
"""

import datetime as dt
import math

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose

from measure.parts.cut_files import make_card_files
from tests.support.folding import plan_point, read_sheets
from tests.support.maltings_card import make_maltings_plan, make_maltings_wishes, maltings_job

SCALE = 148.0
# skin 0.12, glue 0.03, overlay 0.2, glue 0.03, carcass 0.45; strip 0.104
GLUE, STRIP = 0.03, 0.104
SKIN = (0.0, 0.12)
OVERLAY = (0.15, 0.35)
CARCASS = (0.38, 0.83)
CLOSES = 0.05


@pytest.fixture(scope="module")
def results():
    return maltings_job().measure()


@pytest.fixture(scope="module")
def walls(results):
    """Origin and heading of the wing at the model's scale; the front is the x axis."""
    surface = results.photos["street"].solution.surface("wing")
    heading = math.atan2(surface.along[2], surface.along[0])
    return np.array([surface.origin_mm[0], surface.origin_mm[2]]) / SCALE, heading


def read_model(**changes):
    plan = make_maltings_plan(**changes)
    return read_sheets(make_card_files(plan, dt.date(2026, 11, 25)).files)


@pytest.fixture(scope="module")
def parts():
    return read_model()


def u_of(part, results, face, opening, grown):
    """Add this to x of the sheet to get u of the wall: by the left jamb of an opening."""
    left = results.faces[face].measures[opening].size("left_mm") / SCALE
    return left - grown - part.left(opening)


def carcass_ends(parts, results, walls):
    """Plan points of the outer and inner arris of the front's left and the wing's right end."""
    origin, heading = walls
    front, wing = parts["A1"], parts["B1"]
    shift = u_of(front, results, "front", "g1", GLUE + STRIP)
    # both corners stand in, so that the bevel comes off the back: the outer face is longer
    front_end = [
        plan_point(np.zeros(2), 0.0, front.left() + shift, CARCASS[0]),
        plan_point(np.zeros(2), 0.0, front.left("bevel-left") + shift, CARCASS[1]),
    ]
    shift = u_of(wing, results, "wing", "p1", GLUE + STRIP)
    wing_end = [
        plan_point(origin, heading, wing.right() + shift, CARCASS[0]),
        plan_point(origin, heading, wing.right("bevel-right") + shift, CARCASS[1]),
    ]
    return front_end, wing_end


def test_wing_carcass_ends_on_the_face_of_the_front_carcass(parts, results, walls):
    _, wing_end = carcass_ends(parts, results, walls)
    # the front's outer carcass plane is z = -0.38
    assert_allclose([z for _, z in wing_end], [-CARCASS[0]] * 2, atol=CLOSES)


def test_front_carcass_runs_on_to_the_back_of_the_wing_carcass(parts, results, walls):
    origin, heading = walls
    front_end, _ = carcass_ends(parts, results, walls)
    inward = np.array([math.sin(heading), -math.cos(heading)])
    depths = [(point - origin) @ inward for point in front_end]
    assert_allclose(depths, [CARCASS[1]] * 2, atol=CLOSES)


def test_ends_left_square_would_gape_as_much_as_the_cut_list_says(parts):
    """The bevels that close the corner: 0.45 mm of card at the tangent of 27 degrees."""
    front, wing = parts["A1"], parts["B1"]
    assert 0.15 < front.left("bevel-left") - front.left() < 0.3
    assert 0.15 < wing.right() - wing.right("bevel-right") < 0.3


@pytest.mark.parametrize(("mark", "depths"), [("BA2", OVERLAY), ("BA3", SKIN)])
def test_folded_layers_bring_both_walls_to_their_places(parts, results, walls, mark, depths):
    origin, heading = walls
    part = parts[mark]
    middle = sum(depths) / 2
    # where the middles of the two walls' layer cross in plan
    along = np.array([math.cos(heading), math.sin(heading)])
    left = plan_point(origin, heading, 0.0, middle)
    run = (-middle - left[1]) / along[1]
    fold_on_wing, fold_on_front = run, (left + run * along)[0]
    x_fold = part.lines["fold-wing"][0, 0]
    grown = 0.0 if mark == "BA3" else GLUE + STRIP
    front_u = results.faces["front"].measures["g1"].size("left_mm") / SCALE - grown
    wing_u = results.faces["wing"].measures["p1"].size("left_mm") / SCALE - grown
    assert_allclose(part.left("g1") - x_fold + fold_on_front, front_u, atol=CLOSES)
    assert_allclose(part.left("p1") - x_fold + fold_on_wing, wing_u, atol=CLOSES)


def test_layers_lie_with_their_openings_in_line(parts, results):
    """Overlay and carcass have the same holes, the skin's are smaller by strip and glue."""
    for opening in ("g1", "f2", "s3", "l2", "oculus"):
        holes = [parts[mark].polygon(opening).bounds for mark in ("A1", "BA2", "BA3")]
        sizes = np.array([(b[2] - b[0], b[3] - b[1]) for b in holes])
        assert_allclose(sizes[0], sizes[1], atol=1e-3)
        assert_allclose(sizes[1] - sizes[2], 2 * (GLUE + STRIP), atol=1e-3)


def test_feet_of_both_walls_stand_on_one_ground(parts, results):
    """Sills of g1 and p1 are 16 and 14 courses above the pavement; so are they in the card."""
    front, wing = parts["A1"], parts["B1"]
    front_v = results.faces["front"].datum_v_mm / SCALE
    wing_v = results.faces["wing"].datum_v_mm / SCALE
    sill = results.faces["front"].measures["g1"].size("sill_mm") / SCALE
    lancet = results.faces["wing"].measures["p1"].size("sill_mm") / SCALE
    front_foot = front_v + sill - GLUE - STRIP - front.foot("g1") + front.foot()
    wing_foot = wing_v + lancet - GLUE - STRIP - wing.foot("p1") + wing.foot()
    assert abs(front_foot - wing_foot) <= CLOSES


def test_front_carcass_ends_on_the_round_of_the_tower(parts, results):
    radius = results.photos["kiln"].solution.value_and_u("tower", "radius")[0] / SCALE
    back = results.photos["kiln"].solution.value_and_u("tower", "axis_set_back")[0] / SCALE
    outline = results.faces["front"].measures["o1"].points_mm
    # the wall's finished face ends here: the mean of the outline's two right corners
    edge = np.mean(np.sort(outline[:, 0])[-2:]) / SCALE
    axis = np.array([edge + math.sqrt(radius**2 - back**2), -back])
    front = parts["A1"]
    shift = u_of(front, results, "front", "g1", GLUE + STRIP)
    outer = plan_point(np.zeros(2), 0.0, front.right() + shift, CARCASS[0])
    inner = plan_point(np.zeros(2), 0.0, front.right("bevel-right") + shift, CARCASS[1])
    for point in (outer, inner):
        assert_allclose(np.linalg.norm(point - axis), radius, atol=CLOSES)


@pytest.fixture(scope="module")
def full_tower():
    wishes = make_maltings_wishes()
    face = wishes.of_face("tower")
    tower = face.tower.model_copy(update={"arc": "full"})
    by_face = {**wishes.by_face, "tower": face.model_copy(update={"tower": tower})}
    return read_model(by_face=by_face)


@pytest.mark.parametrize(
    ("mark", "depths"),
    [("C1", CARCASS), ("C2", OVERLAY), ("C3", SKIN)],
    ids=["card", "over", "skin"],
)
def test_each_wrap_closes_round_the_tower(full_tower, results, mark, depths):
    radius = results.photos["kiln"].solution.value_and_u("tower", "radius")[0] / SCALE
    part = full_tower[mark]
    around = 2 * math.pi * (radius - sum(depths) / 2)
    assert_allclose(part.right() - part.left(), around, atol=CLOSES)


def test_wrap_lies_round_its_former(full_tower):
    """Rolled about its middle, the wrap leaves the former the play for glue and no more."""
    wrap, former = full_tower["C1"], full_tower["C4"]
    inside = (wrap.right() - wrap.left()) / (2 * math.pi) - 0.45 / 2
    outside = (former.right() - former.left()) / 2
    assert 0.0 < inside - outside <= CLOSES + 1e-3


def test_openings_of_the_tower_stand_at_their_angles(full_tower, results):
    """x over the rolled radius, from the seam at the back, is u over the finished radius."""
    radius = results.photos["kiln"].solution.value_and_u("tower", "radius")[0] / SCALE
    for mark, depths, grown in (("C1", CARCASS, GLUE + STRIP), ("C3", SKIN, 0.0)):
        part = full_tower[mark]
        rolled = radius - sum(depths) / 2
        for opening in ("t1", "t2", "t3"):
            left = results.faces["tower"].measures[opening].size("left_mm") / SCALE - grown
            angle = (part.left(opening) - part.left()) / rolled - math.pi
            # how far apart along the finished face
            assert_allclose(angle * radius, left, atol=CLOSES)


def test_arc_that_shows_is_tucked_behind_the_wall(parts, results):
    radius = results.photos["kiln"].solution.value_and_u("tower", "radius")[0] / SCALE
    back = results.photos["kiln"].solution.value_and_u("tower", "axis_set_back")[0] / SCALE
    part = parts["C1"]
    arc = (part.right() - part.left()) / (radius - sum(CARCASS) / 2)
    start = math.pi - arc
    depth = back - radius * math.cos(start)
    assert depth > CARCASS[1]
    assert depth < CARCASS[1] + 3.5


STRIPS = [("g1", "A1", "A2"), ("f2", "A1", "A4"), ("s3", "A1", "A6"), ("l2", "A1", "A11"),
          ("f3-light", "A1", "A14"), ("p1", "B1", "B4"), ("u2", "B1", "B8")]  # fmt: skip


@pytest.mark.parametrize(("opening", "card", "strip"), STRIPS, ids=[row[0] for row in STRIPS])
def test_reveal_strip_fills_its_opening(parts, opening, card, strip):
    """Bent along the middle of its thickness from sill over the head to sill, it just fits."""
    hole = parts[card].polygon(opening)
    middle = hole.buffer(-(GLUE + STRIP / 2), join_style="mitre", mitre_limit=10)
    low = hole.bounds[1] + GLUE + STRIP
    box = shapely.box(hole.bounds[0] - 1, low, hole.bounds[2] + 1, hole.bounds[3] + 1)
    wanted = middle.exterior.intersection(box).length
    made = parts[strip]
    across, up = made.right() - made.left(), made.top() - made.foot()
    assert_allclose(max(across, up), wanted, atol=CLOSES)


def test_round_reveal_closes_on_itself(parts):
    hole = parts["A1"].polygon("oculus")
    across = hole.bounds[2] - hole.bounds[0]
    strip = parts["A13"]
    length = max(strip.right() - strip.left(), strip.top() - strip.foot())
    assert_allclose(length, math.pi * (across - 2 * GLUE - STRIP), atol=CLOSES)


def test_reveal_strips_have_the_depth_measured_less_the_skin(parts, results):
    depth = results.faces["front"].measures["r1"].size("depth_mm") / SCALE
    strip = parts["A2"]
    width = min(strip.right() - strip.left(), strip.top() - strip.foot())
    assert_allclose(width, depth - 0.12 - GLUE, atol=1e-3)
