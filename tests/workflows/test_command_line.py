import csv
import io
import json

import numpy as np
import pytest

from tests.support.command import run_command
from tests.support.street_survey import street_survey, write_street

FACE = street_survey()["faces"][0]
FRAME = FACE["frame"]


def test_measure_prints_true_sizes_as_json(tmp_path):
    status, out, err = run_command("measure", write_street(tmp_path), "--json")
    assert (status, err) == (0, "")
    measures = json.loads(out)["faces"]["front"]["measures"]
    # picks are exact, so only the camera's rounding is left
    assert measures["w1"]["width_mm"] == pytest.approx(1200, rel=1e-3)
    assert measures["w3"]["height_mm"] == pytest.approx(1800, rel=1e-3)
    assert measures["w1"]["sill_mm"] == pytest.approx(2700, rel=1e-3)
    assert measures["w1"]["model_width_mm"] == pytest.approx(1200 / 148, rel=1e-3)
    assert measures["d1"]["length_mm"] == pytest.approx(6000, rel=1e-3)
    assert measures["c1"]["gauge_mm"] == pytest.approx(75, rel=1e-3)
    assert measures["o1"]["area_m2"] == pytest.approx(7.2 * 5.6, rel=2e-3)
    assert all(0 < measures[id_]["u_width_mm"] < 60 for id_ in ("w1", "w2", "w3"))


def test_measure_prints_a_table(tmp_path):
    status, out, _ = run_command("measure", write_street(tmp_path))
    assert status == 0
    assert "sill level" in out
    assert "Good to ±" in out


def test_check_says_what_is_weak(tmp_path):
    path = write_street(tmp_path, {"references": FACE["references"][:1], "measures": []})
    status, out, _ = run_command("check", path)
    assert status == 0
    assert "nothing to check them by" in out


def test_export_writes_every_format(tmp_path):
    path = write_street(tmp_path)
    status, out, err = run_command("export", path, "--out", tmp_path / "out", "--dpi", 150, "-q")
    assert (status, err) == (0, "")
    names = {file.name for file in (tmp_path / "out").iterdir()}
    assert names == {
        "front-elevation.svg",
        "front-elevation.dxf",
        "front-elevation.pdf",
        "front-liberties.csv",
        "front-liberties.txt",
        "front-straightened.png",
        "schedule.csv",
    }
    assert out.count("wrote ") == 7


def test_letters_that_a_pdf_cannot_show_are_told(tmp_path):
    """U+12345 is a cuneiform sign: no font that comes with a common system has it."""
    path = write_street(tmp_path)
    survey = json.loads(path.read_text("utf-8"))
    survey["title"] = "Malt house \U00012345"
    path.write_text(json.dumps(survey), "utf-8")
    _, out, _ = run_command("export", path, "--out", tmp_path / "out", "--formats", "pdf", "-q")
    assert "note: front-elevation.pdf shows boxes for \U00012345" in out


def _shake_a_sill(path):
    """Move the sill of w2 up by about 10 mm: 0.7 of a pixel."""
    survey = json.loads(path.read_text("utf-8"))
    (w2,) = (each for each in survey["faces"][0]["measures"] if each["id"] == "w2")
    for pick in sorted(w2["at"], key=lambda pick: -pick[1])[:2]:
        pick[1] -= 0.7
    path.write_text(json.dumps(survey), "utf-8")


def _sills(folder):
    rows = csv.DictReader(io.StringIO((folder / "schedule.csv").read_text("utf-8-sig")))
    return {
        row["id"]: float(row["sill full size (mm)"]) for row in rows if row["kind"] == "opening"
    }


def test_export_lines_up_what_agrees_and_lists_the_liberties(tmp_path):
    path = write_street(tmp_path)
    _shake_a_sill(path)
    out = tmp_path / "out"
    status, _, err = run_command("export", path, "--out", out, "--formats", "csv", "-q")
    assert (status, err) == (0, "")
    assert len(set(_sills(out).values())) == 1
    rows = csv.DictReader(io.StringIO((out / "front-liberties.csv").read_text("utf-8-sig")))
    moved = {(row["id"], row["part"]): float(row["moved_mm"]) for row in rows}
    assert moved["w2", "sill"] < -1.0
    assert "w2 sill:" in (out / "front-liberties.txt").read_text("utf-8")


def test_export_as_picked_draws_every_sill_where_it_was_picked(tmp_path):
    path = write_street(tmp_path)
    _shake_a_sill(path)
    out = tmp_path / "out"
    words = ("--out", out, "--formats", "csv", "--as-picked", "-q")
    status, _, err = run_command("export", path, *words)
    assert (status, err) == (0, "")
    sills = _sills(out)
    assert sills["w2"] - sills["w1"] > 5.0
    assert {file.name for file in out.iterdir()} == {"schedule.csv"}


def test_export_says_what_should_be_known_before_cutting(tmp_path):
    wish = {"completions": [{"kind": "copy", "of": "w1", "centre_mm": 6560, "sill_mm": 200}]}
    path = write_street(tmp_path, {"drawing": wish})
    words = ("--out", tmp_path / "out", "--formats", "csv", "-q")
    status, out, err = run_command("export", path, *words)
    assert (status, err) == (0, "")
    assert "note: front: The pier right of 'w1@copy' is" in out


def test_new_writes_a_survey_that_can_be_filled_in(tmp_path):
    write_street(tmp_path)
    (tmp_path / "street.survey.json").unlink()
    status, out, err = run_command("new", tmp_path / "street.png")
    assert (status, err) == (0, "")
    assert "Next, in street.survey.json" in out
    assert (
        json.loads((tmp_path / "street.survey.json").read_text())["photos"][0]["width_px"] == 1000
    )
    status, _, err = run_command("new", tmp_path / "street.png")
    assert status == 4
    assert "there already" in err


def test_sizes_and_scales_are_listed(tmp_path):
    status, out, _ = run_command("sizes", "door")
    assert status == 0
    assert "leaf" in out
    status, out, _ = run_command("scales")
    assert status == 0
    assert "1:147.78" in out


@pytest.mark.parametrize("typed", ["2032", "2.032 m", "203,2 cm", "6'8\"", "6ft 8in", '80"'])
def test_a_typed_length_is_shown_both_ways_with_the_sizes_near_it(typed):
    status, out, _ = run_command("sizes", typed)
    assert status == 0
    assert "2\u202f032 mm" in out
    assert "6' 8\"" in out
    assert "uk-door-leaf-813x2032" in out


def shifted(points, dx, dy):
    return [[x + dx, y + dy] for x, y in points]


BAD = {
    "crossed frame": ({"frame": [FRAME[0], FRAME[2], FRAME[1], FRAME[3]]}, 3, "cross over"),
    "repeated frame": ({"frame": [FRAME[0], FRAME[0], FRAME[2], FRAME[3]]}, 3, "same pick"),
    "straight frame": (
        {"frame": [[100, 100], [200, 101], [300, 102], [200, 300]]},
        3,
        "straight line",
    ),
    "non-convex frame": (
        {"frame": [[100, 100], [500, 100], [250, 180], [100, 500]]},
        3,
        "inside the other three",
    ),
    "tiny frame": ({"frame": [[100, 100], [104, 100], [104, 104], [100, 104]]}, 3, "tiny"),
    "frame outside": ({"frame": shifted(FRAME, 900, 0)}, 2, "outside the photo"),
    "zero size": (
        {"references": [{**FACE["references"][0], "length_mm": 0}]},
        2,
        "length_mm",
    ),
    "negative size": (
        {"references": [{**FACE["references"][0], "length_mm": -5}]},
        2,
        "length_mm",
    ),
    "same ends": (
        {"references": [{**FACE["references"][0], "at": [FRAME[0], FRAME[0]]}]},
        3,
        "same pick",
    ),
    "no size": ({"references": []}, 3, "known size"),
    "unknown photo": ({"photo": "back"}, 2, "back"),
    "no frame": ({"frame": None, "measures": []}, 3, "frame"),
    "measure outside": (
        {"measures": [{"id": "x", "kind": "level", "at": [[5000, 5]]}]},
        2,
        "outside the photo",
    ),
}


@pytest.mark.parametrize(("change", "status", "words"), BAD.values(), ids=BAD.keys())
def test_bad_surveys_get_one_sentence(tmp_path, change, status, words):
    found, out, err = run_command("measure", write_street(tmp_path, change), "--json")
    assert (found, out) == (status, "")
    assert words in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_measure_beyond_the_horizon_is_refused(tmp_path):
    horizon = {"id": "x", "kind": "distance", "at": [[3, 3], [3, 700]]}
    oblique = street_survey()["faces"][0]
    from tests.support.scenes import SceneCamera, picks, rectangle

    camera = SceneCamera(
        focal_px=600, width_px=1000, height_px=750, yaw_deg=-68, centre_mm=(9000, 1600, 4000)
    )
    wall = camera.project_wall
    oblique = {
        "frame": picks(wall(rectangle(-1000, 600, 3000, 2600))),
        "references": [
            {
                "kind": "length",
                "at": picks(wall(np.array([[0.0, 700.0], [0.0, 2000.0]]))),
                "length_mm": 1300,
            }
        ],
        "measures": [{**horizon, "at": [[990, 300], [990, 420]]}],
    }
    path = write_street(tmp_path, oblique)
    # the right edge of the photo looks away from the wall
    look_away = {**horizon, "at": [[5, 300], [5, 420]]}
    for measure in (oblique["measures"][0], look_away):
        oblique["measures"] = [measure]
        path = write_street(tmp_path, oblique)
        status, _, err = run_command("measure", path, "--json")
        if status:
            assert status == 3
            assert "horizon" in err
            return
    pytest.fail("neither edge of the photo was refused")


def test_contradicting_sizes_are_named(tmp_path):
    references = [dict(reference) for reference in FACE["references"]]
    references[1]["length_mm"] = 5600
    status, out, _ = run_command("check", write_street(tmp_path, {"references": references}))
    assert status == 0
    assert "door leaf" in out
    assert "shop front" in out or "disagree" in out


SURVEY_FILES = {
    "broken JSON": ('{"format": "storeyrod survey", ', 4, "breaks off"),
    "newer version": ('{"format": "storeyrod survey", "version": 99}', 4, "newer"),
    "another format": ('{"format": "something", "version": 1}', 4, "survey"),
    "unknown key": (
        json.dumps({**street_survey(), "titel": "x"}),
        2,
        "titel",
    ),
    "unknown scale": (
        json.dumps({**street_survey(), "model_scale": "1:banana"}),
        2,
        "banana",
    ),
    "missing photo": (
        json.dumps({**street_survey(), "photos": [{"id": "street", "file": "gone.png"}]}),
        4,
        "gone.png",
    ),
}


@pytest.mark.parametrize(
    ("text", "status", "words"), SURVEY_FILES.values(), ids=SURVEY_FILES.keys()
)
def test_bad_files_get_one_sentence(tmp_path, text, status, words):
    path = write_street(tmp_path)
    path.write_text(text)
    found, out, err = run_command("measure", path, "--json")
    assert (found, out) == (status, "")
    assert words in err
    assert err.count("\n") == 1


USES = {
    "no such survey": (("measure", "nowhere.survey.json"), 4, "nowhere"),
    "unknown command": (("mesure",), 2, "mesure"),
    "unknown option": (("measure", "--jsn"), 2, "jsn"),
    "unknown face": (("measure", "{survey}", "--face", "back"), 2, "back"),
    "unknown scale": (("export", "{survey}", "--scale", "1:banana"), 2, "banana"),
    "unknown format": (("export", "{survey}", "--formats", "svg,gif"), 2, "gif"),
    "unknown paper": (("export", "{survey}", "--paper", "A99", "--formats", "svg"), 2, "A99"),
    "absurd resolution": (("straighten", "{survey}", "--dpi", "1e9"), 2, "dpi"),
    "folder that is a file": (("export", "{survey}", "--out", "{survey}"), 4, "street.survey"),
    "photo that is no photo": (("new", "{survey}"), 4, "street.survey"),
}


@pytest.mark.parametrize(("words", "status", "said"), USES.values(), ids=USES.keys())
def test_bad_uses_get_one_sentence(tmp_path, words, status, said):
    survey = write_street(tmp_path)
    found, _, err = run_command(*(str(word).format(survey=survey) for word in words))
    assert found == status
    assert said in err
    assert err.count("\n") == 1
