"""Every detail and completion that the page can add, with the values it begins with, is drawn."""

from __future__ import annotations

import copy
import json
import shutil
import subprocess
from pathlib import Path

import pytest

JS = Path(__file__).parents[3] / "measure" / "workbench" / "static" / "js"

SCRIPT = """
import { makeWish } from "%(js)s/edits/wishes.js";
import { COMPLETIONS, DETAILS } from "%(js)s/wishes_spec.js";
const face = JSON.parse(process.argv[1]);
const made = [];
for (const [list, specs] of [["details", DETAILS], ["completions", COMPLETIONS]]) {
  for (const kind of Object.keys(specs)) {
    made.push([list, makeWish(face, list, kind, [2300, 1400])]);
  }
}
console.log(JSON.stringify(made));
"""


@pytest.fixture(scope="module")
def wishes(workbench) -> tuple[dict, list]:
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is not installed")
    with workbench.client() as client:
        demo = client.post("/api/demo", json={}).json()
    # a wall with room to copy and repeat in
    front = demo["document"]["faces"][0]
    kept = [one for one in front["measures"] if one["id"] in ("g1", "f2", "s3", "door", "o1")]
    front |= {"drawing": None, "guides": front["guides"][:3], "measures": kept}
    demo["document"] |= {"faces": [front], "card": None}
    script = SCRIPT % {"js": JS.as_uri()}
    told = subprocess.run(
        [node, "--input-type=module", "-e", script, json.dumps(front)],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return demo, json.loads(told.stdout)


def test_what_the_page_adds_is_drawn_as_it_begins(client, wishes):
    demo, made = wishes
    assert len(made) == 18
    plain = _drawn(client, demo, demo["document"])
    for list_, wish in made:
        document = copy.deepcopy(demo["document"])
        document["faces"][0]["drawing"] = {list_: [wish]}
        told = _drawn(client, demo, document)
        # a bay begins at the spacing measured, where the next window stands already
        if wish["kind"] != "repeat":
            assert told["paths"] != plain["paths"], wish["kind"]


def _drawn(client, demo: dict, document: dict) -> dict:
    url = f"/api/surveys/{demo['key']}/elevation"
    told = client.post(url, json={"document": document, "face": "front"})
    assert told.status_code == 200, (document["faces"][0]["drawing"], told.text)
    return told.json()
