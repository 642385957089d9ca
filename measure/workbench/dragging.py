"""A line of the elevation while it is dragged: answered from what was lined up before."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import Any

from measure.elevation.build import Composed, LinedUp, compose, line_up
from measure.elevation.draw_facade import body_items
from measure.elevation.elsewhere import wall_of
from measure.elevation.lines import DrawnLine, drawn_lines
from measure.workbench.answers import Answer
from measure.workbench.bench_job import inferred_paths_of, paths_of
from measure.workbench.telling import clean_json
from shared.survey import Face
from shared.survey_drawing import FaceDrawing, MovedLine

#: Faces kept lined up: the one in hand, the one before it, and those of a second page.
MOST_KEPT = 4


class LinedUpFaces:
    """Faces lined up lately, by survey and the stamp of their answer. Safe between threads.

    The stamp alone does not do: a copy of a survey beside another photo has the same.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, str, str], LinedUp] = OrderedDict()
        self._lock = threading.Lock()

    def find(self, survey_key: str, answer: Answer, face_id: str) -> LinedUp:
        """The face of an answer of an open survey, lined up: what takes long."""
        key = survey_key, answer.stamp, face_id
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        solution = answer.solution_of(face_id)
        face = face_of(answer, face_id)
        result = answer.results.faces[face_id]
        wall = wall_of(answer.survey, answer.results, face_id)
        wishes = face.drawing or FaceDrawing()
        made = line_up(answer.survey, face, result, solution, wishes, wall)
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return made


def face_of(answer: Answer, face_id: str) -> Face:
    """A face of an answered survey, by its id."""
    return next(face for face in answer.survey.faces if face.id == face_id)


def dragged(lined: LinedUp, moved: tuple[MovedLine, ...], denominator: float) -> dict[str, Any]:
    """The elevation with lines moved, as paths on the chart: no lettering, no sizes, no sheet.

    Raises
    ------
    FieldError
        For a place where a line cannot be; the page shows the sentence and keeps the line.
    """
    wishes = (lined.face.drawing or FaceDrawing()).model_copy(update={"moved": moved})
    done = compose(lined, wishes, denominator)
    items = body_items(done.facade, done.details)
    return {
        "paths": paths_of(items, lined.origin_mm),
        "inferred": inferred_paths_of(items, lined.origin_mm),
        "lines": tell_lines(lined, done),
    }


def tell_lines(lined: LinedUp, done: Composed) -> list[dict[str, Any]]:
    """Lines that can be taken hold of, on the chart of the face."""
    edges = lined.edges[0].u_mm, lined.edges[1].u_mm
    u_mm, v_mm = lined.origin_mm
    told = []
    for line in drawn_lines(done, edges):
        along, across = (u_mm, v_mm) if line.what == "level" else (v_mm, u_mm)
        told.append(_tell(line, along, across))
    cleaned: list[dict[str, Any]] = clean_json(told)
    return cleaned


def _tell(line: DrawnLine, along_mm: float, across_mm: float) -> dict[str, Any]:
    return {
        "what": line.what,
        "at_mm": round(line.at_mm, 3),
        "chart_mm": round(line.at_mm + across_mm, 3),
        "measured_mm": round(line.measured_mm, 3),
        "members": list(line.members),
        "pieces_mm": [[round(a + along_mm, 1), round(b + along_mm, 1)] for a, b in line.pieces],
        "owners": list(line.owners),
        "moved": line.moved,
        "fixed": line.fixed,
    }
