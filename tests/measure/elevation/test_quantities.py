import numpy as np
import pytest
from numpy.testing import assert_allclose

from measure.datum import Datum
from measure.elevation.face_numbers import make_quantities
from measure.elevation.quantities import Quantities
from measure.evaluate import evaluate
from measure.features.registry import sights_of
from measure.results import Results
from shared.survey import Survey
from tests.support.demo_walls import measured_wall
from tests.support.long_terrace import long_terrace


@pytest.fixture(scope="module")
def terrace() -> tuple[Survey, Results, Quantities]:
    survey, facts, _ = long_terrace(4, 3, sigma_px=0.7, seed=5)
    results = evaluate(survey, facts)
    return survey, results, quantities_of(survey, results, "front")


def quantities_of(survey: Survey, results: Results, face_id: str) -> Quantities:
    face = next(face for face in survey.faces if face.id == face_id)
    result = results.faces[face_id]
    return make_quantities(survey, face, results.photos[face.photo].solution, result)


def test_values_and_u_are_those_of_the_results(terrace: tuple) -> None:
    _, results, numbers = terrace
    for each in numbers.openings:
        measure = results.faces["front"].measures[each.id]
        for part in ("left", "right", "sill", "head"):
            assert numbers.value(f"{each.id}.{part}") == pytest.approx(measure.size(f"{part}_mm"))
            # the results may be wider, by sampling; the covariance alone is first order
            assert numbers.u(f"{each.id}.{part}") == pytest.approx(
                measure.u_of(f"{part}_mm"), rel=1e-6
            )


def test_u_of_widths_follows_from_the_joint_covariance(terrace: tuple) -> None:
    _, results, numbers = terrace
    for each in numbers.openings:
        measure = results.faces["front"].measures[each.id]
        value = numbers.values[each.right] - numbers.values[each.left]
        assert value == pytest.approx(measure.size("width_mm"))
        # first order here, and the results take the wider of first order and 4000 draws
        u = numbers.u_of_difference(each.right, each.left)
        assert u == pytest.approx(measure.u_of("width_mm"), rel=0.05)


def test_picks_worse_than_they_say_widen_the_covariance_as_they_do_the_results() -> None:
    """Three pixels of noise and one stated: the adjustment tells, and all ± are wider for it."""
    survey, results = measured_wall("front", 0, 3.0)
    numbers = quantities_of(survey, results, "front")
    assert results.photos["street"].solution.adjusted.misfit > 2.0
    told = []
    for each in numbers.openings:
        variance = numbers.cov[each.right, each.right] + numbers.cov[each.left, each.left]
        variance -= 2.0 * numbers.cov[each.right, each.left]
        told.append(np.sqrt(variance) / results.faces["front"].measures[each.id].u_of("width_mm"))
    # the results take the wider of first order and 4000 draws; without the misfit it were 0.4
    assert np.median(told) == pytest.approx(1.0, abs=0.1)


def test_datum_is_nought_and_known_exactly(terrace: tuple) -> None:
    _, _, numbers = terrace
    assert numbers.value("datum.level") == 0.0
    assert numbers.u("datum.level") == 0.0


def test_covariance_of_points_is_that_of_the_solution(terrace: tuple) -> None:
    """Two corners of the outline and a level against `Charted.cov_chart`, datum taken off."""
    survey, results, numbers = terrace
    face = survey.faces[0]
    solution = results.photos["street"].solution
    outline = next(m for m in face.measures if m.id == "o1")
    level = next(m for m in face.measures if m.id == "h1")
    sights = [*sights_of(outline, "o1"), *sights_of(level, "h1")]
    charted = solution.charted(face.id, [pick for pick, _ in sights])
    joined, rows = Datum(survey, face, solution).joined(charted, tuple(range(len(sights))))
    cov = joined.cov_chart(rows)
    less = np.eye(len(cov))
    less[1:-2:2, -1] = -1.0
    expected = (less @ cov @ less.T)[:-2, :-2]
    names = [f"o1.{n}.{axis}" for n in range(1, 5) for axis in "uv"]
    at = [*(numbers.place(name) for name in names), numbers.place("h1.level")]
    keep = [*range(8), 9]
    assert_allclose(numbers.cov[np.ix_(at, at)], expected[np.ix_(keep, keep)], rtol=1e-6, atol=1e-6)


@pytest.mark.slow
def test_covariance_is_that_of_picks_shaken() -> None:
    """Heights on a wall of the demo measured 30 times over, picks drawn within ±1 px."""
    found = []
    numbers = None
    for seed in range(30):
        survey, results = measured_wall("front-oblique", seed, 1.0)
        numbers = quantities_of(survey, results, "front-oblique")
        v = numbers.values
        found.append([v[o.head] - v[o.sill] for o in numbers.openings])
    assert numbers is not None
    seen = np.std(np.array(found), axis=0, ddof=1)
    expected = np.array([numbers.u_of_difference(o.head, o.sill) for o in numbers.openings])
    # the u also holds what is not shaken here: the ± of the known sizes and the lens; so it
    # may be larger, and smaller only by the sampling error of 30 draws (13 %, three of them)
    assert (seen < 1.4 * expected).all()
    assert (seen > 0.4 * expected).all()


def test_round_opening_keeps_its_shape(terrace: tuple) -> None:
    survey, results = measured_wall("front", None)
    numbers = quantities_of(survey, results, "front")
    oculus = next(each for each in numbers.openings if each.form == "round")
    v = numbers.values
    assert v[oculus.head] - v[oculus.sill] == pytest.approx(v[oculus.right] - v[oculus.left])
    assert not oculus.arched


def test_measure_that_the_picture_cannot_give_is_left_out(terrace: tuple) -> None:
    survey, results, _ = terrace
    result = results.faces["front"]
    fewer = {id_: measure for id_, measure in result.measures.items() if id_ != "w0-0"}
    face = survey.faces[0]
    shorter = type(result)(result.id, result.photo, result.datum_v_mm, fewer)
    numbers = make_quantities(survey, face, results.photos["street"].solution, shorter)
    assert not numbers.has("w0-0.left")
    assert numbers.has("w0-1.left")


def test_shapes_are_checked() -> None:
    with pytest.raises(ValueError, match="shapes"):
        Quantities(("a",), np.zeros(2), np.zeros((2, 2)))
