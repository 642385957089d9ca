"""One more photo for a survey that is open, and both picks of a contradiction named."""

from __future__ import annotations

import copy
from pathlib import Path

import numpy as np
import pytest

from tests.support.photo_makers import write_picture


@pytest.fixture
def opened(client, tmp_path) -> dict:
    first = write_picture(tmp_path / "first.png", np.full((64, 80, 3), 120, np.uint8))
    made = client.post("/api/photos", params={"name": "first.png"}, content=first.read_bytes())
    assert made.status_code == 200
    return made.json()


def other_picture(folder: Path, grey: int = 90) -> bytes:
    return write_picture(folder / "x.png", np.full((50, 70, 3), grey, np.uint8)).read_bytes()


def test_one_more_photo_lies_beside_the_survey_and_the_document_is_left_alone(
    client, opened, tmp_path
):
    url = f"/api/surveys/{opened['key']}"
    sent = client.post(
        f"{url}/photos", params={"name": "side.png"}, content=other_picture(tmp_path)
    )
    assert sent.json() == {"file": "side.png", "width_px": 70, "height_px": 50}
    folder = Path(opened["folder"])
    assert (folder / "side.png").read_bytes() == other_picture(tmp_path)
    assert not list(folder.glob(".arriving*"))
    assert client.get(url).json()["document"] == opened["document"]


def test_a_name_that_is_taken_is_not_overwritten(client, opened, tmp_path):
    url = f"/api/surveys/{opened['key']}/photos"
    before = Path(opened["folder"], "first.png").read_bytes()
    sent = client.post(url, params={"name": "first.png"}, content=other_picture(tmp_path))
    assert sent.json()["file"] == "first-2.png"
    assert Path(opened["folder"], "first.png").read_bytes() == before


def test_a_photo_that_the_survey_has_is_found_again(client, opened):
    same = Path(opened["folder"], "first.png").read_bytes()
    url = f"/api/surveys/{opened['key']}/photos"
    assert (
        client.post(url, params={"name": "again.png"}, content=same).json()["file"] == "first.png"
    )


@pytest.mark.parametrize("content", [b"", b"Dear Sir", None], ids=["empty", "letter", "cut short"])
def test_what_is_no_photo_leaves_nothing_behind(client, opened, tmp_path, content):
    body = other_picture(tmp_path)[:60] if content is None else content
    before = sorted(Path(opened["folder"]).rglob("*"))
    url = f"/api/surveys/{opened['key']}/photos"
    sent = client.post(url, params={"name": "letter.jpg"}, content=body)
    assert sent.status_code == 422
    assert sent.json()["message"].endswith(".")
    assert sorted(Path(opened["folder"]).rglob("*")) == before


@pytest.mark.parametrize("name", ["../../out.png", "..\\out.png", "/etc/out.png", ".."])
def test_the_name_of_one_more_photo_cannot_leave_the_folder(client, opened, tmp_path, name):
    folder = Path(opened["folder"])
    outside = set(folder.parent.parent.rglob("*")) - set(folder.rglob("*"))
    url = f"/api/surveys/{opened['key']}/photos"
    file = client.post(url, params={"name": name}, content=other_picture(tmp_path)).json()["file"]
    assert (folder / file).is_file()
    assert set(folder.parent.parent.rglob("*")) - set(folder.rglob("*")) == outside


def test_two_picks_that_explain_one_contradiction_are_both_named_by_path(client, demo):
    survey = copy.deepcopy(demo)
    front = survey["document"]["faces"][0]
    front["guides"], front["measures"] = [], []
    front["frame"] = [[1284.4, 1272.2], [2877.2, 1235.4], [2895.4, 1793.9], [1278.1, 1805.8]]
    leaf, _, courses = front["references"]
    front["references"] = [leaf, {**courses, "count": courses["count"] + 2}]
    survey["document"]["faces"] = [front]
    answer = client.post(
        f"/api/surveys/{survey['key']}/results", json={"document": survey["document"]}
    ).json()
    suspects = answer["page"]["suspects"]
    assert len(suspects) == 1
    assert len(suspects[0]["rivals"]) == 1
    named = {suspects[0]["path"], suspects[0]["rivals"][0]["path"]}
    assert named == {"faces/@front/references/#0", "faces/@front/references/#1"}
