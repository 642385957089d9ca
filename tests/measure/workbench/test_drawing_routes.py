"""The elevation on the page is the one that is exported: lined up, completed, fitted."""

import copy
import datetime as dt
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from measure.delivery import Wish, make_files
from measure.survey_job import SurveyJob
from shared.survey_file import read_survey


def elevation_of(client, survey, drawing=None):
    document = copy.deepcopy(survey["document"])
    document["faces"][0]["drawing"] = drawing
    url = f"/api/surveys/{survey['key']}/elevation"
    answer = client.post(url, json={"document": document, "face": "front"})
    assert answer.status_code == 200, answer.text
    return answer.json()


def groups_of(told):
    root = ET.fromstring(told["svg"])
    return {node.get("id"): node for node in root.iter("{http://www.w3.org/2000/svg}g")}


def test_places_as_picked_are_turned_off_on_the_page(client, demo):
    told = elevation_of(client, demo)
    assert "as-picked" not in [layer["id"] for layer in told["layers"]]
    ghosts = groups_of(told)["as-picked"]
    assert ghosts.get("display") == "none"
    plain = elevation_of(client, demo, {"tidy": False})
    # a band or a course may be cut in other parts
    assert len(ghosts) > 5
    assert abs(len(told["paths"]) - len(plain["paths"])) < 5


def test_elevation_is_laid_on_the_photo_by_its_left_edge(client, demo):
    lined, plain = elevation_of(client, demo), elevation_of(client, demo, {"tidy": False})

    def left_of(told):
        starts = [path[1:].replace("L", " ").split()[0] for path in told["paths"]]
        return min(float(start) for start in starts)

    assert left_of(lined) == pytest.approx(left_of(plain), abs=0.2)


def test_a_plot_that_reduces_the_elevation_changes_the_scale_of_the_sheet(client, demo):
    plot = {"width_mm": 60, "choice": "reduce", "keep_true": False}
    told = elevation_of(client, demo, {"plot": plot})
    text = "".join(ET.fromstring(told["svg"]).itertext())
    assert "SCALE 1:148" not in text
    assert "Everything at 0." in text


def test_a_wish_that_cannot_be_met_is_refused_in_one_sentence(client, demo):
    document = copy.deepcopy(demo["document"])
    document["faces"][0]["drawing"] = {"completions": [{"kind": "mirror", "axis_mm": -5000}]}
    url = f"/api/surveys/{demo['key']}/elevation"
    answer = client.post(url, json={"document": document, "face": "front"})
    assert answer.status_code == 422
    assert "lies outside the wall" in answer.json()["message"]
    assert answer.json()["message"].startswith("Face 'front': ")
    assert answer.json()["details"]["face"] == "front"


def test_the_table_comes_with_its_liberties(client, demo):
    url = f"/api/surveys/{demo['key']}/exports"
    body = {"document": demo["document"], "face": "front", "format": "csv"}
    written = client.post(url, json=body).json()["exports"]
    liberties = written[0]["name"].replace(".csv", "-liberties.csv")
    text = (Path(demo["folder"]) / "exports" / liberties).read_text("utf-8-sig")
    assert text.startswith("id,part,measured_mm,")


def on_paper(client, survey, **how):
    url = f"/api/surveys/{survey['key']}/elevation"
    body = {"document": survey["document"], "face": "front", "how": how}
    return client.post(url, json=body).json()


def test_the_sheet_on_the_page_is_the_exported_one_schedule_and_all(client, demo):
    """A3, which has room for the schedule beside the front."""
    path = Path(demo["folder"]) / "pennywhistle.survey.json"
    wish = Wish(dt.date.today(), ("svg",), ("front",), paper="A3")
    exported = dict(make_files(SurveyJob(read_survey(path), path), wish))["front-elevation.svg"]
    assert on_paper(client, demo, paper="A3")["svg"] == exported.decode()


def test_the_schedule_leaves_the_sheet_with_its_openings(client, demo):
    lettered = {
        hidden: len(
            ET.tostring(groups_of(on_paper(client, demo, paper="A3", hidden=[hidden]))["title"])
        )
        for hidden in ("datum", "openings")
    }
    assert lettered["openings"] < lettered["datum"]


def test_letters_that_no_font_has_are_told_on_the_page_as_on_the_command_line(client, demo):
    """U+12345 is a cuneiform sign: no font that comes with a common system has it."""
    front = copy.deepcopy(demo["document"]["faces"][0])
    front |= {"drawing": None, "guides": [], "measures": front["measures"][:1]}
    document = {**demo["document"], "faces": [front], "ties": [], "card": None}
    body = {"document": document | {"title": "Malt house \U00012345"}, "face": "front"}
    url = f"/api/surveys/{demo['key']}/exports"
    (said,) = client.post(url, json=body | {"format": "pdf"}).json()["remarks"]
    assert said.startswith("pennywhistle-front.pdf shows boxes for \U00012345, which no font")
    assert client.post(url, json=body | {"format": "svg"}).json()["remarks"] == []
