"""What a notebook shows of results and pictures when they stand at the end of a cell."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import cv2
import numpy as np
import pytest

from measure.results import Results
from measure.size_rows import size_rows
from measure.survey_job import open_survey
from rectify.straighten import Straightened
from rectify.window import Window
from tests.support.street_survey import write_street


@pytest.fixture(scope="module")
def results(tmp_path_factory) -> Results:
    return open_survey(write_street(tmp_path_factory.mktemp("street"))).measure()


def _cells(html: str) -> list[list[str]]:
    root = ET.fromstring(f"<div>{html}</div>")
    return [["".join(cell.itertext()) for cell in row] for row in root.findall("table/tbody/tr")]


def test_results_show_as_a_table_of_every_size(results):
    cells = _cells(results._repr_html_())
    assert [row[4] for row in cells] == [row.text() for row in size_rows(results)]
    assert all("±" in row[4] for row in cells)


def test_words_of_the_survey_are_shown_as_written_not_run(results):
    shown = replace(results, title="<script>1 & 2</script>")._repr_html_()
    caption = ET.fromstring(f"<div>{shown}</div>").find("table/caption")
    assert caption is not None
    assert caption.text == "<script>1 & 2</script>"


def _picture(width_px: int, height_px: int) -> Straightened:
    rgb = np.zeros((height_px, width_px, 3), np.uint8)
    rgb[..., 0] = 200
    visible = np.full((height_px, width_px), 255, np.uint8)
    visible[:, : width_px // 2] = 0
    return Straightened(rgb, visible, Window(0.0, 0.0, 1.0, 1.0, width_px, height_px))


def test_a_picture_shows_its_colours_and_is_clear_where_not_visible():
    shown = cv2.imdecode(
        np.frombuffer(_picture(40, 20)._repr_png_(), np.uint8), cv2.IMREAD_UNCHANGED
    )
    assert shown[10, 30].tolist() == [0, 0, 200, 255]  # blue, green, red, opacity
    assert shown[10, 5, 3] == 0


@pytest.mark.parametrize("size", [(4000, 1000), (1000, 4000)])
def test_a_large_picture_is_shown_small(size):
    shown = cv2.imdecode(np.frombuffer(_picture(*size)._repr_png_(), np.uint8), cv2.IMREAD_COLOR)
    assert sorted(shown.shape[:2]) == [250, 1000]
