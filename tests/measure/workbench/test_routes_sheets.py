"""Sheets of card from the page: laid out, refused in one sentence, packed into one archive."""

from __future__ import annotations

import copy
import io
import re
import zipfile
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest


@pytest.fixture
def front(demo) -> dict:
    """The demo cut as its front alone, skins unprinted: quick."""
    survey = copy.deepcopy(demo)
    card = {**survey["document"]["card"], "faces": ["front"], "print_skins": False}
    survey["document"]["card"] = card
    return survey


def ask(client, survey: dict, path: str) -> object:
    url = f"/api/surveys/{survey['key']}/{path}"
    return client.post(url, json={"document": survey["document"]})


def test_sheets_of_the_front_are_laid_out_as_svg(client, front):
    answer = ask(client, front, "cards")
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert told["faces"] == ["front"]
    assert told["sheets"][0]["name"] == "Put together"
    for sheet in told["sheets"][1:]:
        root = ET.fromstring(sheet["svg"])
        assert re.fullmatch(r"[\d.]+mm", root.get("width", ""))
        assert sheet["marks"]
    assert sum(row["sheets"] for row in told["materials"]) == len(told["sheets"]) - 1
    assert "blade" in told["build_order"]


def test_the_build_order_tells_of_parts_that_come_in_pieces(client, front):
    document = copy.deepcopy(front["document"])
    document["card"] = {**(document.get("card") or {}), "paper": "A6"}
    answer = ask(client, {**front, "document": document}, "cards")
    assert answer.status_code == 200, answer.text
    assert "comes in pieces" in answer.json()["build_order"]


def test_the_archive_lies_among_the_exports_and_holds_every_sheet(client, front):
    answer = ask(client, front, "cards/archive")
    assert answer.status_code == 200, answer.text
    newest = answer.json()["exports"][0]
    assert newest["name"].endswith("-card.zip")
    path = Path(front["folder"]) / "exports" / newest["name"]
    names = zipfile.ZipFile(io.BytesIO(path.read_bytes())).namelist()
    assert any(name.endswith("-parts.pdf") for name in names)
    assert "cut-list.csv" in names


def test_own_sheets_are_among_the_materials_first(client, front):
    own = {"key": "own-box", "name": "cereal box", "stack_mm": 4.2, "sheets": 10, "use": "carcass"}
    front["document"]["card"]["own_sheets"] = [own]
    first = ask(client, front, "materials").json()["materials"][0]
    assert (first["key"], first["name"]) == ("own-box", "cereal box")
    assert first["thickness_mm"] == pytest.approx(0.42)


@pytest.mark.parametrize(
    "wish",
    [
        {"carcass": "moonstone"},
        {"printed_bars": {"bar_mm": 150, "across_mm": 0, "up_mm": 150}},
        {"faces": ["nowhere"]},
    ],
    ids=["unknown sheet", "bar of zero", "unknown face"],
)
def test_what_cannot_be_cut_is_refused_in_one_sentence(client, front, wish):
    front["document"]["card"] |= wish
    answer = ask(client, front, "cards")
    assert answer.status_code in (409, 422)
    assert answer.json()["message"].endswith(".")
    assert answer.json()["code"] != "bug"


def test_a_part_that_is_pinned_comes_back_where_it_was_put(client, front):
    sheet = ask(client, front, "cards").json()["sheets"][1]
    part = sheet["parts"][0]
    assert not part["pinned"]
    pin = {key: part[key] for key in ("mark", "copy_number", "quarters")}
    pin |= {"sheet": 2, "left_mm": 3.5, "bottom_mm": 4.25}
    front["document"]["card"]["pinned"] = [pin]
    laid = ask(client, front, "cards").json()["sheets"][1:]
    found = [
        (each["material"], each["number"], one)
        for each in laid
        for one in each["parts"]
        if one["pinned"]
    ]
    assert len(found) == 1
    material, number, one = found[0]
    assert (material, number) == (sheet["material"], 2)
    assert (one["mark"], one["left_mm"], one["bottom_mm"]) == (part["mark"], 3.5, 4.25)


def test_outlines_of_parts_lie_within_the_room_of_their_sheet(client, front):
    """Within a fiftieth of a millimetre, by which the page's outlines may leave the true ones."""
    for sheet in ask(client, front, "cards").json()["sheets"][1:]:
        width, height = sheet["area_mm"][2:]
        for part in sheet["parts"]:
            for x, y in (point for ring in part["outline_mm"] for point in ring):
                assert -0.03 <= part["left_mm"] + x <= width + 0.03
                assert -0.03 <= part["bottom_mm"] + y <= height + 0.03


def test_a_pin_on_another_part_is_refused_in_one_sentence(client, front):
    one, other = ask(client, front, "cards").json()["sheets"][2]["parts"][:2]
    front["document"]["card"]["pinned"] = [
        {"mark": each["mark"], "copy_number": each["copy_number"], "sheet": 1}
        | {"left_mm": 1.0, "bottom_mm": 1.0, "quarters": each["quarters"]}
        for each in (one, other)
    ]
    answer = ask(client, front, "cards")
    assert answer.status_code == 422
    assert "apart on sheet 1" in answer.json()["message"]
