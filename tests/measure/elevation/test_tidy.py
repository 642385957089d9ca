import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from measure.elevation.face_numbers import make_quantities
from measure.elevation.quantities import Quantities
from measure.elevation.tidy import Tidied, tidy, untidied
from measure.evaluate import evaluate
from shared.errors import FieldError
from shared.survey_drawing import Apart, FaceDrawing, Together
from tests.support.agreement_checks import check_no_pair_too_far
from tests.support.long_terrace import long_terrace
from tests.support.plain_numbers import grid, plain_numbers

TWO = (
    ("w1", "flat", 0.0, 1000.0, 900.0, 2400.0, 2400.0),
    ("w2", "flat", 1900.0, 2904.0, 908.0, 2402.0, 2402.0),
)


def noisy_grid(columns: int, rows: int, seed: int, u_mm: float = 5.0) -> Quantities:
    noise = np.random.default_rng(seed).normal(0.0, u_mm, 4 * columns * rows)
    return grid(columns, rows, noise=noise, u_mm=u_mm)


def group_of(tidied: Tidied, member: str) -> set[str]:
    for group in tidied.groups:
        if member in group.members:
            return set(group.members)
    return set()


def test_two_sills_that_agree_meet_in_the_middle() -> None:
    tidied = tidy(plain_numbers(TWO))
    assert tidied.numbers.value("w1.sill") == pytest.approx(904.0)
    assert tidied.numbers.value("w2.sill") == pytest.approx(904.0)
    assert tidied.numbers.value("w1.head") == pytest.approx(2401.0)


def test_new_u_comes_from_the_constrained_covariance() -> None:
    tidied = tidy(plain_numbers(TWO))
    assert tidied.numbers.u("w1.sill") == pytest.approx(5.0 / np.sqrt(2.0))
    assert tidied.measured.u("w1.sill") == pytest.approx(5.0)


def test_what_differs_by_more_than_its_u_stays_apart() -> None:
    numbers = plain_numbers((TWO[0], ("w2", "flat", 1900.0, 2900.0, 960.0, 2400.0, 2400.0)))
    tidied = tidy(numbers)
    assert tidied.numbers.value("w1.sill") == pytest.approx(900.0, abs=1e-9)
    assert tidied.numbers.value("w2.sill") == pytest.approx(960.0, abs=1e-9)
    assert group_of(tidied, "w1.sill") == set()


def test_everything_of_a_regular_front_is_lined_up() -> None:
    tidied = tidy(noisy_grid(5, 3, seed=2))
    v = tidied.numbers.values
    by_id = {each.id: each for each in tidied.numbers.openings}
    for row in range(3):
        assert np.ptp([v[by_id[f"w{row}{c}"].sill] for c in range(5)]) < 1e-6
    for column in range(5):
        centres = [v[by_id[f"w{r}{column}"].left] + v[by_id[f"w{r}{column}"].right] for r in (0, 2)]
        assert np.ptp(centres) < 1e-6
    widths = [v[each.right] - v[each.left] for each in tidied.numbers.openings]
    assert np.ptp(widths) < 1e-6
    kinds = {group.what for group in tidied.groups}
    assert kinds >= {"level", "centre", "width", "height", "spacing"}


def test_true_equals_lined_up_come_nearer_the_truth() -> None:
    true = grid(5, 3)
    off_before, off_after = [], []
    for seed in range(20):
        tidied = tidy(noisy_grid(5, 3, seed))
        off_before.append(tidied.measured.values - true.values)
        off_after.append(tidied.numbers.values - true.values)
    assert np.std(off_after) < 0.7 * np.std(off_before)


def test_u_after_tidying_holds_the_truth() -> None:
    """200 fronts: the standardised errors have variance 1 within their own sampling error."""
    true = grid(4, 2)
    z = []
    for seed in range(200):
        tidied = tidy(noisy_grid(4, 2, seed))
        off = tidied.numbers.values - true.values
        z.append(off / np.sqrt(np.diagonal(tidied.numbers.cov)))
    # what happens to lie apart is left apart, which costs a little more than the ± says;
    # 6 400 numbers, some ten to a group: sampling error about sqrt(2 / 640) = 0.06
    assert 0.9 < np.mean(np.square(z)) < 1.2


def test_chi_square_counts_what_was_imposed() -> None:
    tidied = tidy(plain_numbers(TWO))
    # sills 8 apart and heads 2 apart, ± 5 each; widths 4 apart, ± sqrt(50) each
    assert tidied.chi_square == pytest.approx(64 / 50 + 4 / 50 + 16 / 100, rel=1e-6)
    assert tidied.degrees == 3


def test_untidied_moves_nothing() -> None:
    numbers = plain_numbers(TWO)
    assert untidied(numbers).numbers is numbers
    assert untidied(numbers).groups == ()


def test_tidying_twice_is_tidying_once() -> None:
    once = tidy(noisy_grid(4, 3, seed=8))
    again = tidy(once.numbers)
    assert_allclose(again.numbers.values, once.numbers.values, atol=1e-4)


def test_sill_is_never_put_on_the_line_of_a_head() -> None:
    numbers = plain_numbers((TWO[0], ("w2", "flat", 1900.0, 2900.0, 2401.0, 3000.0, 3000.0)))
    assert "w2.sill" not in group_of(tidy(numbers), "w1.head")


def test_flat_head_may_lie_on_the_springing_of_an_arch() -> None:
    numbers = plain_numbers((TWO[0], ("w2", "segmental", 1900.0, 2900.0, 900.0, 2403.0, 2550.0)))
    assert group_of(tidy(numbers), "w1.head") == {"w1.head", "w2.springing"}


def test_windows_side_by_side_have_no_common_centre() -> None:
    wide = 2000.0
    numbers = plain_numbers(TWO, u_mm=wide)
    assert not any(group.what == "centre" for group in tidy(numbers).groups)


def test_semicircular_head_rises_half_its_width() -> None:
    numbers = plain_numbers((("d1", "semicircular", 0.0, 1000.0, 0.0, 2000.0, 2506.0),))
    tidied = tidy(numbers)
    v, each = tidied.numbers.values, tidied.numbers.openings[0]
    assert v[each.head] - v[each.springing] == pytest.approx((v[each.right] - v[each.left]) / 2)


def test_head_that_is_no_half_circle_is_said_and_left() -> None:
    numbers = plain_numbers((("d1", "semicircular", 0.0, 1000.0, 0.0, 2000.0, 2300.0),))
    tidied = tidy(numbers)
    assert "its picks make no half a circle" in tidied.notes[0]
    assert_allclose(tidied.numbers.values, numbers.values)


def test_level_measure_and_eaves_of_the_outline_take_one_level() -> None:
    outline = ((0.0, -3.0), (9000.0, 4.0), (9003.0, 6001.0), (-2.0, 5996.0))
    numbers = plain_numbers(TWO, levels=(("eaves", 6004.0),), outline=outline)
    tidied = tidy(numbers)
    assert group_of(tidied, "eaves.level") == {"eaves.level", "o1.3.v", "o1.4.v"}
    assert group_of(tidied, "o1.2.u") == {"o1.2.u", "o1.3.u"}
    assert tidied.numbers.value("o1.1.v") == pytest.approx(tidied.numbers.value("o1.2.v"))


def test_sloping_edge_of_the_outline_keeps_its_slope() -> None:
    outline = ((0.0, 0.0), (9000.0, 140.0), (9000.0, 6000.0), (0.0, 6000.0))
    numbers = plain_numbers((), outline=outline)
    assert tidy(numbers).numbers.value("o1.2.v") == pytest.approx(140.0, abs=1e-6)


def test_forced_group_is_one_though_it_differs() -> None:
    numbers = plain_numbers((TWO[0], ("w2", "flat", 1900.0, 2900.0, 1000.0, 2400.0, 2400.0)))
    tidied = tidy(numbers, FaceDrawing(together=(Together(what="sill", of=("w1", "w2")),)))
    assert tidied.numbers.value("w1.sill") == pytest.approx(950.0)
    (group,) = (g for g in tidied.groups if "w1.sill" in g.members)
    assert group.forced


def test_width_given_by_the_user_is_met_exactly() -> None:
    wish = Together(what="width", of=("w1", "w2"), at_mm=1010.0)
    tidied = tidy(plain_numbers(TWO), FaceDrawing(together=(wish,)))
    v = tidied.numbers.values
    for each in tidied.numbers.openings:
        assert v[each.right] - v[each.left] == pytest.approx(1010.0, abs=1e-6)


def test_spacings_put_together_are_even() -> None:
    three = (*TWO, ("w3", "flat", 3900.0, 4900.0, 900.0, 2400.0, 2400.0))
    wish = Together(what="spacing", of=("w1", "w2", "w3"))
    tidied = tidy(plain_numbers(three), FaceDrawing(together=(wish,)))
    v = tidied.numbers.values
    a, b, c = ((v[e.left] + v[e.right]) / 2 for e in tidied.numbers.openings)
    assert b - a == pytest.approx(c - b)


def test_pair_kept_apart_stays_apart_though_it_agrees() -> None:
    wishes = FaceDrawing(apart=(Apart(what="sill", of=("w1", "w2")),))
    tidied = tidy(plain_numbers(TWO), wishes)
    assert tidied.numbers.value("w1.sill") == pytest.approx(900.0)
    assert tidied.numbers.value("w2.sill") == pytest.approx(908.0)


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"together": [{"what": "sill", "of": ["w1", "w9"]}]}, "no sill of 'w9'"),
        ({"together": [{"what": "rise", "of": ["w1", "w2"]}]}, "no rise of 'w1'"),
        ({"together": [{"what": "spacing", "of": ["w1", "x", "w2"]}]}, "no opening 'x'"),
        (
            {"together": [{"what": "level", "of": ["w1.sill", "w1.head"]}]},
            "leaves opening 'w1' no height",
        ),
        (
            {
                "together": [
                    {"what": "width", "of": ["w1"], "at_mm": 1000},
                    {"what": "width", "of": ["w2"], "at_mm": 1010},
                    {"what": "width", "of": ["w1", "w2"]},
                ]
            },
            "The width of w1, w2 cannot be put together",
        ),
        (
            {
                "together": [{"what": "head", "of": ["w1", "w2"]}],
                "apart": [{"what": "head", "of": ["w2", "w1"]}],
            },
            "both put together and kept apart",
        ),
    ],
    ids=["unknown", "no-arch", "no-neighbour", "nothing-left", "contradiction", "both"],
)
def test_wish_that_cannot_be_met_is_one_sentence(wishes: dict, words: str) -> None:
    with pytest.raises(FieldError) as refusal:
        tidy(plain_numbers(TWO), FaceDrawing.model_validate(wishes))
    assert words in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_wish_said_twice_is_no_contradiction() -> None:
    wish = Together(what="sill", of=("w1", "w2"))
    tidied = tidy(plain_numbers(TWO), FaceDrawing(together=(wish, wish)))
    assert tidied.numbers.value("w1.sill") == pytest.approx(904.0)


def test_brickwork_out_of_true_is_lined_up_when_allowed_for() -> None:
    numbers = plain_numbers(TWO, u_mm=0.5)
    assert group_of(tidy(numbers), "w1.sill") == set()
    assert group_of(tidy(numbers, FaceDrawing(out_of_true_mm=4.0)), "w1.sill")


def test_face_without_measures_is_tidy() -> None:
    tidied = tidy(plain_numbers(()))
    assert (tidied.groups, tidied.degrees) == ((), 0)


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 5), st.integers(1, 3), st.floats(1.0, 60.0), st.integers(0, 9999))
def test_no_pair_beyond_three_of_its_u_is_ever_given_one_value(
    columns: int, rows: int, spread: float, seed: int
) -> None:
    noise = np.random.default_rng(seed).normal(0.0, spread, 4 * columns * rows)
    numbers = grid(columns, rows, noise=noise)
    check_no_pair_too_far(tidy(numbers))


# The demo: every opening of a wall picked anew with 1 px, the ± that hand picks are given.


def test_terrace_lines_up_in_its_rows_and_columns() -> None:
    survey, facts, _ = long_terrace(5, 3, sigma_px=0.5, seed=3)
    results = evaluate(survey, facts)
    solution = results.photos["street"].solution
    numbers = make_quantities(survey, survey.faces[0], solution, results.faces["front"])
    tidied = tidy(numbers)
    for row in range(3):
        sills = {f"w{row}-{column}.sill" for column in range(5)}
        assert group_of(tidied, f"w{row}-0.sill") >= sills
    check_no_pair_too_far(tidied)
