"""Joints of courses as lines for both sheets: where they were read, or where the user put them."""

from __future__ import annotations

import copy

import numpy as np
import pytest


def told_of(client, demo, **changes) -> tuple[dict, dict]:
    """Result and lines of the courses c2 of the demo's front."""
    document = copy.deepcopy(demo["document"])
    document["faces"] = document["faces"][:1]
    document["photos"] = document["photos"][:1]
    (courses,) = [m for m in document["faces"][0]["measures"] if m["id"] == "c2"]
    courses.update(changes)
    document["faces"][0]["measures"] = [courses]
    url = f"/api/surveys/{demo['key']}/results"
    answer = client.post(url, json={"document": document}).json()
    result = answer["results"]["faces"]["front"]["measures"]["c2"]
    return result, answer["page"]["faces"]["front"]["joints"]


def test_each_joint_read_has_a_level_line_through_its_place(client, demo):
    result, joints = told_of(client, demo)
    mm, px = np.array(joints["c2"]["mm"]), np.array(joints["c2"]["px"])
    assert len(mm) == len(px) == result["count"] + 1
    assert mm[:, 0, 1] == pytest.approx(mm[:, 1, 1])
    (left, right), at = px.transpose(1, 0, 2), np.array(result["joints_px"])[:, :2]
    along = right - left
    gap = at - left
    off = (along[:, 0] * gap[:, 1] - along[:, 1] * gap[:, 0]) / np.linalg.norm(along, axis=1)
    # the lens bends a line of a metre by far less than the tenth of a pixel allowed
    assert np.abs(off).max() < 0.1


def test_joints_put_right_are_drawn_where_they_were_put(client, demo):
    result, _ = told_of(client, demo)
    kept = [*result["joints_px"][:5], *result["joints_px"][6:]]
    again, joints = told_of(client, demo, joints=kept)
    assert again["count"] == result["count"] - 1
    assert len(joints["c2"]["mm"]) == len(kept)
    assert again["joints_px"] == [pytest.approx(pick) for pick in kept]


def test_counted_courses_have_no_lines_of_their_own(client, demo):
    _, joints = told_of(client, demo, count=22)
    assert joints == {}
