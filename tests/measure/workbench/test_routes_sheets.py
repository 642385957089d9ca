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
