"""The program's side of the page, spoken to as the page does."""

from __future__ import annotations

import copy
import io
import json
import re
import xml.etree.ElementTree as ET
import zipfile
from pathlib import Path

import cv2
import httpx
import numpy as np
import pytest

from tests.support.photo_makers import write_picture

TAB, OTHER = "tab-one-1111", "tab-two-2222"


def results_of(client: httpx.Client, survey: dict, **more: object) -> dict:
    answer = client.post(
        f"/api/surveys/{survey['key']}/results", json={"document": survey["document"], **more}
    )
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_the_first_page_lists_scales_sizes_and_papers(client):
    start = client.get("/api/start").json()
    assert {"value": "1:148"}.items() <= next(
        row for row in start["scales"] if row["value"] == "1:148"
    ).items()
    door = next(row for row in start["sizes"] if row["key"] == "uk-door-leaf-762x1981.height")
    assert door["length_mm"] == pytest.approx(1981.2)
    assert door["along"] == "plumb"
    assert door["door_face"] == "leaf"
    assert "uk-door-leaf-762x1981" in door["words"]
    brick = [row["name"] for row in start["sizes"] if row["size"] == "fr-brick-60"]
    assert [name.rpartition(": ")[2] for name in brick] == ["height", "length"]
    assert start["papers"][0] == "A4"


def test_results_are_what_the_command_line_prints_and_where_things_stand(client, demo):
    answer = results_of(client, demo)
    assert not answer["quick"]
    measures = answer["results"]["faces"]["front"]["measures"]
    # truth of the demo: the first floor window is 1000 mm wide
    assert abs(measures["f2"]["width_mm"] - 1000.0) <= 3 * measures["f2"]["u_width_mm"]
    # and 22 courses, that nobody counted, lie between the picks of c2
    assert (measures["c2"]["count"], measures["c2"]["sure"]) == (22, True)
    face = answer["page"]["faces"]["front"]
    assert face["solved"]
    assert face["sized"]
    for i in range(4):
        assert f"faces/@front/frame/#{i}" in face["picks_mm"]
    assert answer["page"]["trust"]["front"]["u_across_mm"] > 0


def test_a_quick_answer_gives_the_same_sizes_as_the_whole_one(client, demo):
    survey = copy.deepcopy(demo)
    survey["document"]["faces"][0]["frame"][0][0] += 0.37
    quick = results_of(client, survey, quick=True)
    whole = results_of(client, survey)
    assert quick["quick"]
    for face, result in whole["results"]["faces"].items():
        for name, measure in result["measures"].items():
            if measure["kind"] == "courses":
                continue
            other = quick["results"]["faces"][face]["measures"][name]
            for key, value in measure.items():
                if key.endswith("_mm") and not key.startswith("u_") and isinstance(value, float):
                    near = 0.05 * measure[f"u_{key}"] if f"u_{key}" in measure else 0.05
                    assert other[key] == pytest.approx(value, abs=near), (face, name, key)


def test_a_face_that_cannot_be_placed_does_not_stop_the_others(client, demo):
    survey = copy.deepcopy(demo)
    front = survey["document"]["faces"][0]
    broken = {
        "id": "broken",
        "photo": front["photo"],
        "frame": [[10, 10], [11, 10], [12, 10], [13, 10]],
    }
    survey["document"]["faces"].append(broken)
    answer = results_of(client, survey)
    assert answer["page"]["faces"]["front"]["solved"]
    assert not answer["page"]["faces"]["broken"]["solved"]
    assert answer["page"]["faces"]["broken"]["problem"]["message"].endswith(".")


def test_a_slipped_corner_is_named_with_its_path(client, demo):
    survey = copy.deepcopy(demo)
    survey["document"]["faces"][0]["guides"][4]["at"][2][1] += 25
    suspects = results_of(client, survey)["page"]["suspects"]
    assert "faces/@front/guides/#4/at/#2" in [one["path"] for one in suspects]
    assert suspects[0]["sentence"].endswith(".")


def test_points_go_to_the_wall_and_back(client, demo):
    stamp = results_of(client, demo)["stamp"]
    points = [[1544.9, 1266.2], [2200.5, 1500.25]]
    url = f"/api/surveys/{demo['key']}/map"
    ask = {"stamp": stamp, "face": "front"}
    wall = client.post(url, json={**ask, "to": "chart", "points": points}).json()["points"]
    back = client.post(url, json={**ask, "to": "photo", "points": wall}).json()["points"]
    np.testing.assert_allclose(back, points, atol=1e-4)  # the lens model is inverted by iteration


def test_the_wall_view_shows_the_photo_pixel_that_the_map_names(client, demo):
    """The middle pixel of a straightened window holds the colour of the photo pixel it maps to."""
    stamp = results_of(client, demo)["stamp"]
    u, v, size = 1000.0, 2000.0, 400.0
    window = {"stamp": stamp, "u": u, "v": v, "width_mm": size, "height_mm": size}
    made = client.get(
        f"/api/surveys/{demo['key']}/walls/front/view",
        params={**window, "out_width": 41, "out_height": 41},
    )
    assert made.headers["content-type"] == "image/jpeg"
    wall = _decode(made.content)
    assert wall.shape == (41, 41, 3)
    (px,) = client.post(
        f"/api/surveys/{demo['key']}/map",
        json={"stamp": stamp, "face": "front", "to": "photo", "points": [[u + 200, v + 200]]},
    ).json()["points"]
    patch = client.get(
        f"/api/surveys/{demo['key']}/photos/street/view",
        params={
            "x": px[0] - 5,
            "y": px[1] - 5,
            "width": 10,
            "height": 10,
            "out_width": 10,
            "out_height": 10,
        },
    )
    photo = _decode(patch.content)
    # both are compressed and the window is 10 mm to the pixel: compare patches, not pixels
    np.testing.assert_allclose(
        wall[16:25, 16:25].mean(axis=(0, 1)), photo.mean(axis=(0, 1)), atol=25
    )


def test_a_window_of_the_photo_is_the_photo(client, demo):
    whole = client.get(
        f"/api/surveys/{demo['key']}/photos/street/view",
        params={"x": 0, "y": 0, "width": 4032, "height": 3024, "out_width": 504, "out_height": 378},
    )
    truth = cv2.imread(str(Path(demo["folder"]) / "street.jpg"))
    small = cv2.resize(truth, (504, 378), interpolation=cv2.INTER_AREA)[..., ::-1]
    difference = np.abs(_decode(whole.content).astype(float) - small)
    assert difference.mean() < 6  # of 255: two compressions and two ways to make smaller


def test_an_old_stamp_is_said_to_be_old(client, demo):
    answer = client.get(
        f"/api/surveys/{demo['key']}/walls/front/view",
        params={
            "stamp": "gone",
            "u": 0,
            "v": 0,
            "width_mm": 9,
            "height_mm": 9,
            "out_width": 9,
            "out_height": 9,
        },
    )
    assert answer.status_code == 409
    assert answer.json()["code"] == "stamp"


def test_only_the_tab_that_holds_a_survey_may_save_it(client, demo):
    url = f"/api/surveys/{demo['key']}"
    assert client.post(f"{url}/hold", json={"tab": TAB}).json()["held"]
    assert not client.post(f"{url}/hold", json={"tab": OTHER}).json()["held"]
    body = {"document": demo["document"], "revision": demo["revision"]}
    refused = client.put(url, json={**body, "tab": OTHER})
    assert (refused.status_code, refused.json()["code"]) == (409, "held")
    assert client.put(url, json={**body, "tab": TAB}).status_code == 200
    assert client.post(f"{url}/hold", json={"tab": OTHER, "take_over": True}).json()["held"]
    assert client.put(url, json={**body, "tab": TAB}).json()["code"] == "held"
    client.post(f"{url}/let-go", json={"tab": OTHER})
    assert client.post(f"{url}/hold", json={"tab": TAB}).json()["held"]
    client.post(f"{url}/let-go", json={"tab": TAB})


def test_a_file_changed_by_someone_else_is_not_overwritten(client, demo):
    url = f"/api/surveys/{demo['key']}"
    now = client.get(url).json()
    path = next(Path(demo["folder"]).glob("*.survey.json"))
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "\n", encoding="utf-8")
    body = {"document": now["document"], "revision": now["revision"], "tab": TAB}
    assert client.put(url, json=body).json()["code"] == "stale"
    path.write_text(text, encoding="utf-8")


def test_saving_keeps_the_version_before_and_can_go_back(client, demo):
    url = f"/api/surveys/{demo['key']}"
    now = client.get(url).json()
    changed = {**now["document"], "title": "Changed for a moment"}
    client.put(url, json={"document": changed, "revision": now["revision"], "tab": TAB})
    versions = client.get(f"{url}/versions").json()["versions"]
    assert versions
    back = client.post(f"{url}/versions", json={"name": versions[0]["name"], "tab": TAB}).json()
    assert back["document"]["title"] == now["document"]["title"]


def test_a_photo_becomes_a_survey_with_its_lens_known(client, tmp_path, workbench):
    photo = Path(__file__).parents[3] / "fixtures" / "demo" / "street.jpg"
    made = client.post("/api/photos", params={"name": "My street.jpg"}, content=photo.read_bytes())
    survey = made.json()
    assert survey["document"]["photos"][0]["width_px"] == 4032
    answer = results_of(client, survey)
    assert "read from the photo" in answer["page"]["photos"]["photo"]["lens_says"]
    assert answer["page"]["trust"]["front"]["state"] == "none"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("letter.jpg", b"Dear Sir"),
        ("empty.jpg", b""),
        ("vector.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
        ("cut.jpg", None),
    ],
)
def test_what_is_no_photo_is_refused_and_leaves_nothing(client, workbench, name, content):
    demo_photo = Path(__file__).parents[3] / "fixtures" / "demo" / "street.jpg"
    before = sorted(workbench.home.rglob("*")) if workbench.home.exists() else []
    body = demo_photo.read_bytes()[:100_000] if content is None else content
    answer = client.post("/api/photos", params={"name": name}, content=body)
    assert answer.status_code == 422
    assert answer.json()["message"].endswith(".")
    assert sorted(workbench.home.rglob("*")) == before


@pytest.mark.parametrize(
    "name",
    [
        "../../../escape.png",
        "..\\..\\escape.png",
        "/etc/escape.png",
        "C:\\escape.png",
        "..",
        ".png",
        "a\x00b.png",
        "con.png",
        "x" * 250,
    ],
)
def test_an_uploaded_name_cannot_leave_the_home_folder(client, workbench, tmp_path, name):
    picture = write_picture(tmp_path / "small.png", np.full((64, 80, 3), 120, np.uint8))
    before = set(tmp_path.rglob("*"))
    answer = client.post("/api/photos", params={"name": name}, content=picture.read_bytes())
    if answer.status_code == 200:
        folder = Path(answer.json()["folder"]).resolve()
        assert folder.is_relative_to(workbench.home.resolve())
    else:
        assert answer.status_code == 422
    assert set(tmp_path.rglob("*")) == before
    assert not (workbench.home.parent / "escape.png").exists()


@pytest.mark.parametrize("file", ["../secret.jpg", "/etc/hostname", "link.jpg"])
def test_a_survey_cannot_show_a_file_outside_its_folder(client, workbench, demo, file):
    folder = Path(demo["folder"])
    secret = folder.parent / "secret.jpg"
    secret.write_bytes((folder / "street.jpg").read_bytes())
    if not (folder / "link.jpg").is_symlink():
        (folder / "link.jpg").symlink_to(secret)
    survey = copy.deepcopy(demo)
    survey["document"]["photos"][0]["file"] = file
    told = results_of(client, survey)["page"]["photos"]["street"]
    assert told["problem"] is not None
    assert "width_px" not in told


@pytest.mark.parametrize("format_", ["svg", "pdf", "dxf", "csv", "png", "zip"])
def test_every_format_is_written_beside_the_survey_and_served(client, demo, format_):
    url = f"/api/surveys/{demo['key']}/exports"
    body = {"document": demo["document"], "face": "front", "format": format_}
    written = client.post(url, json=body)
    assert written.status_code == 200, written.text
    newest = written.json()["exports"][0]
    assert newest["name"].endswith(f".{format_}")
    assert (Path(demo["folder"]) / "exports" / newest["name"]).stat().st_size == newest["bytes"]
    data = client.get(newest["href"]).content
    assert len(data) == newest["bytes"]
    if format_ == "svg":
        root = ET.fromstring(data)
        assert re.fullmatch(r"[\d.]+mm", root.get("width", ""))
        assert any(node.get("id") == "f2" for node in root.iter())
    if format_ == "zip":
        names = zipfile.ZipFile(io.BytesIO(data)).namelist()
        assert {name.rpartition(".")[2] for name in names} == {"svg", "pdf", "dxf", "csv", "png"}


@pytest.mark.parametrize(
    "name", ["../street.jpg", "..%2fstreet.jpg", "street.jpg", ".part", "a.svg"]
)
def test_only_exports_can_be_fetched(client, demo, name):
    assert client.get(f"/api/surveys/{demo['key']}/exports/{name}").status_code in (404, 409)


def test_hidden_layers_are_not_drawn(client, demo):
    url = f"/api/surveys/{demo['key']}/elevation"
    body = {"document": demo["document"], "face": "front"}
    whole = client.post(url, json=body).json()
    assert "openings" in [layer["id"] for layer in whole["layers"]]
    without = client.post(url, json={**body, "how": {"hidden": ["openings"]}}).json()
    groups = {node.get("id") for node in ET.fromstring(without["svg"]).iter()}
    assert "f2" not in groups
    # openings are closed lines; courses run on where no opening stands in their way
    closed = [sum(path.endswith("Z") for path in drawn["paths"]) for drawn in (whole, without)]
    assert closed[1] < closed[0]


def test_the_plus_minus_map_is_least_in_the_middle(client, demo):
    stamp = results_of(client, demo)["stamp"]
    spots = client.post(
        f"/api/surveys/{demo['key']}/plus-minus", json={"stamp": stamp, "face": "front"}
    ).json()["spots"]
    at = np.array([spot["at"] for spot in spots])
    u_mm = np.array([spot["u_mm"] for spot in spots])
    from_middle = np.hypot(*(at - at.mean(axis=0)).T)
    assert u_mm[np.argmin(from_middle)] < 0.5 * u_mm[np.argmax(from_middle)]


def test_a_document_that_cannot_be_is_refused_in_the_command_lines_words(client, demo):
    broken = json.loads(json.dumps(demo["document"]))
    broken["faces"][0]["frame"] = [[1, 2], [3, 4]]
    answer = client.post(f"/api/surveys/{demo['key']}/results", json={"document": broken})
    assert answer.status_code == 422
    assert "front" in answer.json()["message"]


def test_an_unknown_survey_is_not_found(client):
    assert client.get("/api/surveys/0123456789abcdef").status_code == 404


def _decode(data: bytes) -> np.ndarray:
    decoded = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    return decoded[..., ::-1]
