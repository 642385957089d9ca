"""The page asks which bricks a wall may be laid of."""

from __future__ import annotations


def ask(client, demo, **more):
    sent = {"document": demo["document"], "face": "front", **more}
    return client.post(f"/api/surveys/{demo['key']}/bricks", json=sent)


def test_page_is_told_formats_with_verdict_share_and_door(client, demo):
    answer = ask(client, demo, openings=["door"])
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert abs(sum(row["share"] for row in told["formats"]) - 1.0) < 1e-9
    assert {row["verdict"] for row in told["formats"]} >= {"agrees", "contradicted"}
    assert all(set(row["openings"]) == {"door"} for row in told["formats"])


def test_page_is_refused_a_face_or_a_distance_that_is_not_there(client, demo):
    assert ask(client, demo, face="nowhere").status_code == 422
    answer = ask(client, demo, stretchers=[{"measure": "nothing", "count": 5}])
    assert answer.status_code == 422
    assert "no distance 'nothing'" in answer.json()["message"]
