"""The page asks for openings."""

from __future__ import annotations


def test_page_is_offered_openings_in_rows_and_columns(client, demo):
    wing = next(face for face in demo["document"]["faces"] if face["id"] == "wing")
    wing["measures"] = [one for one in wing["measures"] if one["kind"] == "outline"]
    sent = {"document": demo["document"], "face": "wing"}
    answer = client.post(f"/api/surveys/{demo['key']}/openings", json=sent)
    assert answer.status_code == 200, answer.text
    told = answer.json()
    ids = [one["opening"]["id"] for one in told["proposals"]]
    assert len(ids) >= 4
    assert sorted(id_ for row in told["rows"] for id_ in row["ids"]) == sorted(ids)
    assert sorted(id_ for column in told["columns"] for id_ in column["ids"]) == sorted(ids)
    # accepting is adding to the document: the answer measures them
    wing["measures"] += [one["opening"] for one in told["proposals"]]
    results = client.post(
        f"/api/surveys/{demo['key']}/results", json={"document": demo["document"]}
    ).json()
    assert set(ids) <= set(results["results"]["faces"]["wing"]["measures"])


def test_page_is_refused_a_face_that_is_not_there(client, demo):
    sent = {"document": demo["document"], "face": "nowhere"}
    answer = client.post(f"/api/surveys/{demo['key']}/openings", json=sent)
    assert answer.status_code == 422
