"""The same drawing gives the same bytes in another run of the program."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

from measure.elevation.page import make_sheets
from measure.export.dxf import dxf_from_drawing
from measure.export.pdf import pdf_from_sheets
from measure.export.svg import svg_from_sheet
from tests.support.maltings_drawing import DATE, make_maltings_block, make_maltings_drawing

ROOT = Path(__file__).parents[3]


def digests() -> list[str]:
    drawing, block = make_maltings_drawing(), make_maltings_block(148.0, subtitle="Ж ξ")
    sheets = make_sheets(drawing, block)
    files = (
        svg_from_sheet(sheets[0]),
        pdf_from_sheets(sheets, DATE),
        dxf_from_drawing(drawing, block),
    )
    return [hashlib.sha256(data).hexdigest() for data in files]


def test_another_run_with_other_hashes_and_another_day_gives_the_same_bytes():
    code = "from tests.measure.export.test_same_bytes import digests; print(*digests())"
    environment = {**os.environ, "PYTHONHASHSEED": "12345", "TZ": "Pacific/Auckland"}
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.split() == digests()
