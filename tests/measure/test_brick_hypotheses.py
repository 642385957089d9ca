"""Bricks as hypotheses: closed forms, walls of known brick, refusals, command and route."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from measure.bricks.evidence import BrickEvidence, Stretchers, read_evidence
from measure.bricks.hypotheses import weigh_brick_formats, weigh_format, with_shares
from measure.evaluate import evaluate
from shared.errors import FieldError, InputError
from shared.reference_sizes import find_reference_size
from shared.survey import Survey
from tests.support.command import run_command
from tests.support.scenes import rectangle
from tests.support.surveyed import FRAME, Hand, facts, length, street_camera

METRIC, NF = find_reference_size("uk-brick-metric"), find_reference_size("de-brick-nf")


def evidence(gauge_mm: float, u_rel: float, module_mm: float | None = None, *, scaled=True):
    log_module = None if module_mm is None else math.log(module_mm)
    known = np.array([1.0, 0.0 if module_mm is None else 1.0])
    return BrickEvidence(scaled, math.log(gauge_mm), log_module, u_rel**2 * np.diag(known), 40, 12)


def test_w_is_the_gap_over_both_plus_minus():
    # 1 % on the wall and 0.8 % of the format: one of sqrt(1.64) % apart is w = 1
    seen = evidence(75.0 * math.exp(math.hypot(0.01, 0.008)), 0.01)
    told = weigh_format(METRIC, seen)
    assert told.w == pytest.approx(1.0)
    assert told.chi_square == pytest.approx(1.0)
    assert told.tests == 1
    assert told.chance == pytest.approx(0.3173, abs=1e-4)  # beyond one sigma
    assert told.verdict == "agrees"


@pytest.mark.parametrize(
    ("sigmas", "verdict"),
    [(1.9, "agrees"), (2.1, "doubtful"), (3.2, "doubtful"), (3.4, "contradicted")],
)
def test_verdict_changes_at_5_percent_and_at_a_w_of_3_29(sigmas, verdict):
    seen = evidence(75.0 * math.exp(sigmas * math.hypot(0.01, 0.008)), 0.01)
    assert weigh_format(METRIC, seen).verdict == verdict


def test_two_pieces_of_evidence_add_up():
    # metric brick: gauge 75, stretcher 225; ± of the module sqrt(2^2 + 1.5^2) = 2.5 mm
    gauge, module = 75.0 * math.exp(0.02), 225.0 * math.exp(-0.03)
    told = weigh_format(METRIC, evidence(gauge, 0.01, module))
    expected = 0.02**2 / (0.01**2 + 0.008**2) + 0.03**2 / (0.01**2 + (2.5 / 225.0) ** 2)
    assert told.tests == 2
    assert told.chi_square == pytest.approx(expected)


def test_without_another_size_only_the_ratio_is_tested():
    told = weigh_format(METRIC, evidence(1.0, 0.01, 3.0, scaled=False))
    assert told.w is None
    assert told.tests == 1
    assert told.chi_square == pytest.approx(0.0, abs=1e-20)
    longer = weigh_format(METRIC, evidence(1.0, 0.01, 3.0 * math.exp(0.05), scaled=False))
    spread2 = 2 * 0.01**2 + 0.008**2 + (2.5 / 225.0) ** 2
    assert longer.chi_square == pytest.approx(0.05**2 / spread2)


def test_nothing_to_test_by_leaves_a_format_untested():
    told = weigh_format(METRIC, evidence(1.0, 0.01, scaled=False))
    assert (told.verdict, told.tests, told.chance) == ("untested", 0, 1.0)
    assert [one.share for one in with_shares([told], evidence(1.0, 0.01, scaled=False))] == [None]


def test_shares_of_two_formats_are_their_likelihoods():
    seen = evidence(78.0, 0.02)
    shares = [one.share for one in with_shares([weigh_format(f, seen) for f in (METRIC, NF)], seen)]

    def likelihood(size):
        spread = math.hypot(0.02, size.u_gauge_mm / size.gauge_mm)
        return math.exp(-0.5 * (math.log(78.0 / size.gauge_mm) / spread) ** 2) / spread

    ratio = likelihood(METRIC) / likelihood(NF)
    assert sum(shares) == pytest.approx(1.0)
    assert shares[0] / shares[1] == pytest.approx(ratio)


def wall(hand, brick, *, sized=True, believed=None, with_length=True):
    """A wall of one brick: 24 courses, 8 stretchers, a door of 900 by 2100, perhaps a size."""
    module = brick.length_mm + min(10.0, brick.joint_mm or 10.0)
    tall, long_ = 24 * brick.gauge_mm, 8 * module
    believed = believed or brick
    references = [
        {
            "kind": "courses",
            "at": hand.on_wall([[500, 500], [500, 500 + tall]]),
            "count": 24,
            "gauge_mm": believed.gauge_mm,
            "u_gauge_mm": believed.u_gauge_mm,
        }
    ]
    if sized:
        references.append(length(hand, [[-3000, 700], [-3000, 4700]], "height", 15.0))
    measures = [
        {"id": "door", "kind": "opening", "at": hand.on_wall(rectangle(1500, 400, 2400, 2500))}
    ]
    if with_length:
        run = hand.on_wall([[-2500, 1000], [-2500 + long_, 1000]])
        measures.append({"id": "run", "kind": "distance", "at": run})
    face = {
        "id": "front",
        "photo": "street",
        "frame": hand.on_wall(FRAME),
        "references": references,
        "measures": measures,
    }
    return Survey.model_validate(
        {"photos": [{"id": "street", "file": "street.jpg"}], "faces": [face]}
    )


def weighed(brick, **how):
    camera = street_camera()
    survey = wall(Hand(camera), brick, **how)
    stretchers = [Stretchers("run", 8)] if how.get("with_length", True) else []
    return weigh_brick_formats(survey, facts(camera), "front", stretchers=stretchers)


def by_key(choice):
    return {one.size.key: one for one in choice.hypotheses}


def test_evidence_on_a_wall_without_errors_is_the_wall():
    camera = street_camera()
    survey = wall(Hand(camera), NF)
    seen = read_evidence(survey, facts(camera), survey.faces[0], [Stretchers("run", 8)])
    assert seen.scaled
    assert seen.gauge_mm[0] == pytest.approx(NF.gauge_mm, rel=1e-4)
    assert seen.ratio[0] == pytest.approx(3.0, rel=1e-4)
    assert (seen.courses, seen.stretchers) == (24, 8)


@pytest.mark.parametrize("believed", ["uk-brick-metric", "de-brick-df"])
def test_the_gauge_believed_so_far_does_not_colour_the_evidence(believed):
    told = by_key(weighed(NF, believed=find_reference_size(believed)))
    assert told["de-brick-nf"].verdict == "agrees"
    assert told["uk-brick-metric"].verdict == "contradicted"
    assert told["de-brick-df"].verdict == "contradicted"


def test_the_length_of_the_bricks_tells_formats_of_one_gauge_apart():
    # thick Waal bricks rise like metric ones but are shorter; Austrian ones are longer
    austrian = find_reference_size("at-brick-nf")
    told = by_key(weighed(austrian, sized=False))
    assert told["at-brick-nf"].verdict == "agrees"
    assert told["nl-brick-waal-thick"].verdict == "contradicted"
    assert told["de-brick-2df"].verdict == "contradicted"


def test_each_format_makes_the_door_in_proportion_to_its_gauge():
    told = by_key(weighed(METRIC))
    door = {key: one.openings[0].height_mm for key, one in told.items()}
    assert door["uk-brick-metric"] == pytest.approx(2100.0, rel=2e-3)
    assert door["de-brick-nf"] / door["uk-brick-metric"] == pytest.approx(
        NF.gauge_mm / METRIC.gauge_mm, rel=1e-6
    )
    # the ± holds that of the format's gauge
    assert told["uk-brick-metric"].openings[0].u_height_mm > 0.008 * 2100.0


def test_a_door_set_back_is_what_a_survey_of_that_brick_alone_makes_it():
    camera = street_camera()
    plain = wall(Hand(camera, u_px=0.5, seed=3), METRIC).model_dump()
    plain["faces"][0]["measures"][0]["set_back_mm"] = 220.0
    choice = weigh_brick_formats(Survey.model_validate(plain), facts(camera), "front")
    told = by_key(choice)["au-brick"].openings[0]
    brick = find_reference_size("au-brick")
    courses = plain["faces"][0]["references"][0]
    courses |= {"gauge_mm": brick.gauge_mm, "u_gauge_mm": brick.u_gauge_mm}
    plain["faces"][0]["references"] = [courses]
    alone = evaluate(Survey.model_validate(plain), {"street": facts(camera)})
    door = alone.faces["front"].measures["door"]
    assert told.width_mm == pytest.approx(door.size("width_mm"), rel=1e-4)
    assert told.height_mm == pytest.approx(door.size("height_mm"), rel=1e-4)
    assert told.u_height_mm == pytest.approx(door.u_of("height_mm"), rel=0.02)


def test_right_format_is_ruled_out_no_more_often_than_it_should_be():
    camera = street_camera()
    rng = np.random.default_rng(5)
    chances = []
    for seed in range(40):
        hand = Hand(camera, u_px=1.0, seed=seed)
        survey = wall(hand, NF).model_dump()
        # this wall's own gauge and brick stray as the catalogue says
        stray = {"courses": rng.normal(0.0, 0.006), "run": rng.normal(0.0, 0.01)}
        face = Survey.model_validate(survey).faces[0]
        seen = read_evidence(
            Survey.model_validate(survey), facts(camera), face, [Stretchers("run", 8)]
        )
        strayed = BrickEvidence(
            True,
            seen.log_gauge + stray["courses"] + rng.normal(0.0, 15.0 / 4000.0),
            (seen.log_module or 0.0) + stray["run"],
            seen.cov_logs,
            24,
            8,
        )
        chances.append(weigh_format(NF, strayed).chance)
    assert min(chances) > 0.001
    # uniform chances would have a mean of 0.5 with a spread of 0.29 / sqrt(40)
    assert abs(np.mean(chances) - 0.5) < 4 * 0.29 / math.sqrt(40)


def test_courses_alone_say_what_would_help():
    choice = weighed(METRIC, sized=False, with_length=False)
    assert all(one.verdict == "untested" for one in choice.hypotheses)
    assert "add another known size" in choice.sentence


def test_a_wall_without_counted_courses_is_refused():
    camera = street_camera()
    survey = wall(Hand(camera), METRIC)
    bare = survey.faces[0].model_copy(update={"references": ()})
    with pytest.raises(InputError, match="no counted courses"):
        read_evidence(survey, facts(camera), bare, [])


def test_stretchers_along_nothing_are_refused():
    camera = street_camera()
    survey = wall(Hand(camera), METRIC)
    with pytest.raises(FieldError, match="no distance 'door'"):
        read_evidence(survey, facts(camera), survey.faces[0], [Stretchers("door", 8)])
    with pytest.raises(FieldError, match="1 to 1000"):
        Stretchers("run", 0)


def test_command_tells_the_bricks_of_the_demo():
    file = "fixtures/demo/pennywhistle.survey.json"
    status, out, _ = run_command("bricks", file, "--opening", "door", "--json")
    assert status == 0
    told = json.loads(out)
    rows = {row["key"]: row for row in told["formats"]}
    # the demo is laid four courses to the foot, 76.2 mm
    gauge, u = told["evidence"]["gauge_mm"], told["evidence"]["u_gauge_mm"]
    assert abs(gauge - 76.2) < 3 * u
    assert rows["uk-brick-imperial"]["verdict"] == "agrees"
    assert rows["de-brick-2df"]["verdict"] == "contradicted"
    assert set(rows["uk-brick-metric"]["openings"]) == {"door"}
    status, out, _ = run_command("bricks", file)
    assert status == 0
    assert "from memory" in out  # the gauge of some formats is, and says so


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--opening", "dor"), "no opening 'dor'"),
        (("--stretchers", "d7=six"), "how many stretchers"),
        (("--stretchers", "six"), "no distance 'six'"),
        (("--stretchers", "d77=4"), "no distance 'd77'"),
        (("--face", "back"), "no face 'back'"),
    ],
)
def test_command_refuses_in_one_line(words, said):
    status, out, err = run_command("bricks", "fixtures/demo/pennywhistle.survey.json", *words)
    assert status == 2
    assert said in err
    assert out == ""
    assert len(err.strip().splitlines()) == 1
