"""The page asks for guides that a photo holds."""

from __future__ import annotations


def ask(client, demo, **more):
    sent = {"document": demo["document"], "photo": "kiln", **more}
    return client.post(f"/api/surveys/{demo['key']}/guides", json=sent)


def test_page_is_told_guides_and_what_they_change_and_nothing_is_saved(client, demo):
    answer = ask(client, demo)
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert told["count"] > 5
    assert all(guide["found"] for guides in told["guides"].values() for guide in guides)
    # the demo's careful picks leave the lines a quarter of a pixel off already
    assert told["after"]["lines_rms_px"] <= 1.1 * told["before"]["lines_rms_px"]
    again = client.get(f"/api/surveys/{demo['key']}").json()
    assert again["document"] == demo["document"]


def test_a_document_with_them_taken_is_answered(client, demo):
    told = ask(client, demo).json()
    document = demo["document"]
    for face in document["faces"]:
        face["guides"] += told["guides"].get(face["id"], [])
    answer = client.post(f"/api/surveys/{demo['key']}/results", json={"document": document})
    assert answer.status_code == 200, answer.text
    told_k1 = answer.json()["results"]["photos"]["kiln"]["k1"]
    assert abs(told_k1 - told["after"]["k1"]) < 1e-4


def test_page_is_refused_a_photo_that_is_not_there(client, demo):
    answer = ask(client, demo, photo="nowhere")
    assert answer.status_code == 422
    assert "Nothing is picked in photo 'nowhere'" in answer.json()["message"]
