"""What an elevation cannot be is refused on the command line in one sentence."""

import pytest

from tests.support.command import run_command
from tests.support.street_survey import write_street


def completed(**wish):
    return {"completions": [wish]}


REFUSED = {
    "a pair put together and kept apart": (
        {
            "together": [{"what": "sill", "of": ["w1", "w2"]}],
            "apart": [{"what": "sill", "of": ["w2", "w1"]}],
        },
        "Face 'front': w1.sill and w2.sill are both put together and kept apart. Take one of the "
        "two wishes out.",
    ),
    "two groups at different heights": (
        {
            "together": [
                {"what": "sill", "of": ["w1", "w2"], "at_mm": 2700},
                {"what": "sill", "of": ["w2", "w3"], "at_mm": 2800},
            ]
        },
        "Face 'front': The sill of w2, w3 cannot be put together at 2800 mm: what was put "
        "together before makes it otherwise. Take one of the groups out.",
    ),
    "equal sills and heads but other heights": (
        {
            "together": [
                {"what": "sill", "of": ["w1", "w2"]},
                {"what": "head", "of": ["w1", "w2"]},
                {"what": "height", "of": ["w1"], "at_mm": 1800},
                {"what": "height", "of": ["w2"], "at_mm": 1700},
            ]
        },
        "of w2 cannot be put together at 1700 mm: what was put together before makes it otherwise.",
    ),
    "a group that names nothing": (
        {"together": [{"what": "sill", "of": ["w1", "w9"]}]},
        "Face 'front': There is no sill of 'w9' on this face to line up. Name one of w1, w2, w3.",
    ),
    "an axis off the wall": (
        completed(kind="mirror", axis_mm=-500),
        "Face 'front': Completion 1 (mirror): The axis at \N{MINUS SIGN}500 mm lies outside the "
        "wall, which runs from 0 to 7 200 mm. Pick it on the wall, or leave it out to have it "
        "found.",
    ),
    "a half about an axis off the wall": (
        completed(kind="half", keep="left", axis_mm=9000),
        "Completion 1 (half): The axis at 9 000 mm lies outside the wall",
    ),
    "no bay": (
        completed(kind="repeat", of=["w1"], count=0),
        "face 'front', drawing, completion 1, key 'count' must be more than 0, not 0.",
    ),
    "no storey": (
        completed(kind="storeys", of=["w1"], count=0),
        "face 'front', drawing, completion 1, key 'count' must be more than 0, not 0.",
    ),
    "a bay of an opening that is not there": (
        completed(kind="repeat", of=["w9"], count=1),
        "There is no opening 'w9' on this face to complete it with. It has: w1, w2, w3.",
    ),
    "a copy across another opening": (
        completed(kind="copy", of="w1", centre_mm=1300),
        "a copy of 'w1' there would stand across 'w1'. Put it where the wall is free.",
    ),
    "a plot narrower than the door": (
        {"plot": {"width_mm": 5, "choice": "reduce", "keep_true": False}},
        "Face 'front': A plot of 5.0 mm is narrower than opening 'w1', which is 8.1 mm at 1:148. "
        "Give a larger plot or a smaller scale.",
    ),
    "a plot lower than the door": (
        {"plot": {"height_mm": 5, "choice": "reduce", "keep_true": False}},
        "A plot of 5.0 mm is lower than opening 'w1', which is 12.2 mm at 1:148.",
    ),
    "a plot without size": (
        {"plot": {"choice": "reduce"}},
        "face 'front', drawing, key 'plot': the plot needs its width_mm, its height_mm, or both.",
    ),
    "a detail of an opening that is not there": (
        {"details": [{"kind": "sills", "of": ["w9"]}]},
        "Detail 1 (sills): There is no opening 'w9' on this face for the sills.",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_export_refuses(tmp_path, name):
    drawing, sentence = REFUSED[name]
    path = write_street(tmp_path, {"drawing": drawing})
    words = ("--out", tmp_path / "out", "--formats", "csv", "-q")
    status, out, err = run_command("export", path, *words)
    assert (status, out) == (2, "")
    assert sentence in err
    assert err.count("\n") == 1


def test_a_plot_that_reduces_a_face_is_refused_when_cutting(tmp_path):
    plot = {"width_mm": 40, "choice": "reduce", "keep_true": False}
    path = write_street(tmp_path, {"drawing": {"plot": plot}})
    status, _, err = run_command("cut", path, "--out", tmp_path / "out", "-q")
    assert status == 2
    assert "parts are cut at one scale for all faces, 1:148." in err


def test_a_pipe_stays_on_a_wall_that_is_made_narrower(tmp_path):
    drawing = {
        "details": [{"kind": "rainwater-pipe", "at_mm": 6900}],
        "plot": {"width_mm": 40, "choice": "narrow-piers"},
    }
    path = write_street(tmp_path, {"drawing": drawing})
    words = ("--out", tmp_path / "out", "--formats", "svg", "-q")
    status, _, err = run_command("export", path, *words)
    assert (status, err) == (0, "")
