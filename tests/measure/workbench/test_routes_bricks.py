"""The page asks which bricks a wall may be laid of."""

from __future__ import annotations

from tests.measure.test_brick_lengths import wall  # noqa: F401


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


def test_page_has_stretchers_counted_in_the_photo_where_no_count_is_sent(
    workbench,
    client,
    wall,  # noqa: F811
):
    key = workbench.shelf.open(wall).key
    document = client.get(f"/api/surveys/{key}").json()["document"]

    def weighed(**spanned):
        sent = {"document": document, "face": "wall", "stretchers": [spanned]}
        return client.post(f"/api/surveys/{key}/bricks", json=sent)

    told = weighed(measure="d1").json()["evidence"]
    assert told["stretchers"] == 8
    # drawn three courses long; read to a pixel of 2.5 mm at either end of 1800
    assert abs(told["ratio"] - 3.0) < 0.02
    refused = weighed(measure="d3")
    assert refused.status_code == 409
    assert "do not lie in one course" in refused.json()["message"]
