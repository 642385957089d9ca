import json
import re
from pathlib import Path

import pytest

from shared.errors import FieldError
from shared.survey import Face
from shared.survey_drawing import FaceDrawing, MirrorCompletion, RepeatCompletion
from shared.survey_file import parse_survey
from shared.survey_text import format_survey
from tests.support.street_survey import street_survey

EVERYTHING = {
    "tidy": False,
    "together": [{"what": "sill", "of": ["w1", "w2"]}, {"what": "width", "of": ["w1"], "at_mm": 9}],
    "apart": [{"what": "head", "of": ["w1", "w3"]}],
    "completions": [
        {"kind": "mirror", "axis_at": [500, 300]},
        {"kind": "half", "keep": "left", "axis_of": ["w2"]},
        {"kind": "repeat", "of": ["w3"], "count": 2, "spacing_mm": 2400},
        {"kind": "copy", "of": "w1", "centre_mm": 300},
        {"kind": "storeys", "of": ["w1", "w2"], "count": 1},
    ],
    "details": [
        {"kind": "plinth", "foot": 0, "head": "h1"},
        {"kind": "string-course", "foot": "w1.head", "head": 3000},
        {"kind": "quoins"},
        {"kind": "sills", "of": ["w1"]},
        {"kind": "lintels"},
        {"kind": "voussoirs", "count": 11},
        {"kind": "glazing-bars", "across": 3, "up": 2, "bar_mm": 20, "meeting_rail_mm": 40},
        {"kind": "mullions", "mullions": 1},
        {"kind": "door-panels", "of": ["w1"]},
        {"kind": "course-lines", "gauge_mm": 75, "bond": "english-garden-wall"},
        {"kind": "rainwater-pipe", "at": [10, 20]},
    ],
    "plot": {"width_mm": 90, "choice": "fewer-bays"},
}


def survey_with(drawing: object) -> dict:
    survey = street_survey()
    survey["faces"][0]["drawing"] = drawing
    return survey


def test_survey_without_drawing_is_as_before() -> None:
    assert parse_survey(street_survey()).faces[0].drawing is None


def test_empty_drawing_tidies_and_adds_nothing() -> None:
    drawing = parse_survey(survey_with({})).faces[0].drawing
    assert drawing == FaceDrawing(tidy=True, completions=(), details=(), plot=None)


def test_every_wish_survives_writing_and_reading() -> None:
    survey = parse_survey(survey_with(EVERYTHING))
    assert parse_survey(format_survey(survey)) == survey


@pytest.mark.parametrize(
    ("drawing", "words"),
    [
        ({"tidi": True}, "key 'tidi' is not known: did you mean 'tidy'?"),
        (
            {"completions": [{"kind": "repeat", "of": ["w1"], "count": 0}]},
            "completion 1, key 'count' must be more than 0, not 0",
        ),
        (
            {"completions": [{"kind": "repeat", "of": [], "count": 1}]},
            "completion 1, key 'of' needs at least 1 names, not 0",
        ),
        (
            {"completions": [{"kind": "mirror", "axis_mm": 1, "axis_of": ["w1"]}]},
            "completion 1: the axis is given twice",
        ),
        (
            {"completions": [{"kind": "copy", "of": "w1"}]},
            "the copy of 'w1' needs one place",
        ),
        (
            {"together": [{"what": "sill", "of": ["w1", "w1"]}]},
            "a sill put together needs at least 2 different names",
        ),
        (
            {"together": [{"what": "width", "of": ["w1"], "at_mm": -4}]},
            "a width of -4 mm: give one above 0",
        ),
        (
            {"apart": [{"what": "sill", "of": ["w1", 3]}]},
            "group kept apart 1, key 'of', name 2 must be text",
        ),
        (
            {"details": [{"kind": "plinth", "foot": [], "head": 3}]},
            "a level is millimetres above the datum, or a name such as 'w1.sill'",
        ),
        ({"details": [{"kind": "plimth"}]}, "did you mean 'plinth'?"),
        ({"details": [{"kind": "mullions"}]}, "the mullions divide nothing"),
        ({"details": [{"kind": "course-lines"}]}, "the course lines need one gauge"),
        ({"details": [{"kind": "rainwater-pipe"}]}, "the rainwater pipe needs one place"),
        ({"plot": {"choice": "reduce"}}, "the plot needs its width_mm, its height_mm, or both"),
    ],
)
def test_bad_wish_is_refused_in_one_sentence(drawing: object, words: str) -> None:
    with pytest.raises(FieldError) as refusal:
        parse_survey(survey_with(drawing))
    assert words in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert refusal.value.details["face"] == "front"


def test_wishes_shown_in_the_readme_can_be_read() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    (shown,) = re.findall(r"```json\n(\{\"together\".*?)```", readme, flags=re.DOTALL)
    drawing = parse_survey(survey_with(json.loads(shown))).faces[0].drawing
    assert drawing is not None
    assert [wish.kind for wish in drawing.completions] == [
        "mirror",
        "half",
        "repeat",
        "copy",
        "storeys",
    ]
    assert drawing.skin is not None


def test_wishes_may_be_built_in_python() -> None:
    face = Face(
        id="f",
        photo="p",
        drawing=FaceDrawing(
            completions=(
                MirrorCompletion(kind="mirror"),
                RepeatCompletion(kind="repeat", of=("w1",), count=3),
            ),
        ),
    )
    assert face.drawing is not None
    assert [wish.kind for wish in face.drawing.completions] == ["mirror", "repeat"]
