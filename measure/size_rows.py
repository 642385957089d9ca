"""Results as rows of a table: one row for each size a builder asks for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

from measure.results import FaceResult, MeasureResult, Results
from rectify.surfaces import Round
from shared.number_text import format_number
from shared.uncertain_text import format_uncertain_mm, format_uncertain_number

#: Sizes shown for each kind, in this order, with the trade's word for each.
SHOWN: dict[str, tuple[tuple[str, str], ...]] = {
    "opening": (
        ("width_mm", "width"),
        ("chord_mm", "straight across"),
        ("height_mm", "height"),
        ("sill_mm", "sill level"),
        ("turn_deg", "round the tower"),
    ),
    "distance": (("length_mm", "length"), ("chord_mm", "straight across")),
    "level": (("level_mm", "level"),),
    "courses": (("gauge_mm", "gauge"), ("height_mm", "height of all")),
    "arc": (("radius_mm", "radius"), ("span_mm", "span"), ("rise_mm", "rise")),
    "spacing": (("mean_mm", "mean spacing"),),
    "slope": (("slope_deg", "pitch"),),
    "set-back": (("depth_mm", "depth"),),
    "outline": (("area_m2", "area"), ("perimeter_mm", "perimeter")),
    "face": (
        ("radius_mm", "radius"),
        ("axis_set_back_mm", "axis behind wall"),
        ("hinge_deg", "angle to its neighbour"),
        ("pitch_deg", "pitch"),
        ("set_back_mm", "behind its wall"),
    ),
}


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One size.

    Parameters
    ----------
    face, id, label, kind : str
        Whose it is; `kind` is "face" for a size of the face itself.
    key, what : str
        Its key in the JSON and its trade word.
    value, u : float
        In the unit of the key's ending: mm, deg or m2.
    model_mm : float or None
        At the model's scale, for lengths.
    note : str
        Such as the number of courses.
    warnings : tuple of str
    """

    face: str
    id: str
    label: str
    kind: str
    key: str
    what: str
    value: float
    u: float
    model_mm: float | None
    note: str = ""
    warnings: tuple[str, ...] = ()

    @property
    def unit(self) -> str:
        """Unit of the value: mm, deg or m2."""
        return self.key.rsplit("_", 1)[1]

    def text(self, units: str = "metric") -> str:
        """Value with its ± for people."""
        if self.unit == "mm":
            if self.key == "gauge_mm":
                return f"{format_uncertain_number(self.value, self.u)} mm"
            return format_uncertain_mm(
                self.value, self.u, "imperial" if units == "imperial" else "metric"
            )
        sign = {"deg": "°", "m2": " m²"}[self.unit]
        return f"{format_uncertain_number(self.value, self.u)}{sign}"

    def model_text(self) -> str:
        """Size on the model, to a hundredth of a millimetre."""
        return "" if self.model_mm is None else f"{format_number(self.model_mm, 2)} mm"


def size_rows(results: Results, face: str | None = None) -> list[SizeRow]:
    """List the sizes of a survey, face by face in the survey's order."""
    rows: list[SizeRow] = []
    for face_id, result in results.faces.items():
        if face in (None, face_id):
            rows += _face_rows(results, result)
            for measure in result.measures.values():
                rows += _measure_rows(results, face_id, measure)
    return rows


def html_of_sizes(results: Results) -> str:
    """Every size with its ±, and what is to be doubted, as HTML for a notebook."""
    head = ("face", "id", "label", "what", "true size", f"at {results.model_scale}", "")
    rows = [
        (row.face, row.id, row.label, row.what, row.text(), row.model_text(), row.note)
        for row in size_rows(results)
    ]
    doubts = [warning for photo in results.photos.values() for warning in photo.warnings]
    cells = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows
    )
    heads = "".join(f'<th scope="col">{escape(word)}</th>' for word in head)
    return (
        f"<table><caption>{escape(results.title)}</caption>"
        f"<thead><tr>{heads}</tr></thead><tbody>{cells}</tbody></table>"
        + "".join(f"<p>{escape(doubt)}</p>" for doubt in doubts)
    )


def _measure_rows(results: Results, face: str, measure: MeasureResult) -> Iterator[SizeRow]:
    for number, (key, what) in enumerate(SHOWN[measure.kind]):
        if key not in measure.sizes:
            continue
        value, u = measure.size(key), measure.u_of(key)
        model = value / results.denominator if key.endswith("_mm") else None
        count = measure.facts.get("count")
        note = f"{count} courses" if count is not None else ""
        if count is not None and not measure.facts.get("sure", True):
            note += ", not sure"
        warnings = measure.warnings if number == 0 else ()
        yield SizeRow(
            face,
            measure.id,
            measure.label,
            measure.kind,
            key,
            what,
            value,
            u,
            model,
            note,
            warnings,
        )


def _face_rows(results: Results, face: FaceResult) -> Iterator[SizeRow]:
    solution = results.photos[face.photo].solution
    shape = solution.unknowns.shapes[face.id]
    if isinstance(solution.surface(face.id), Round):
        for key, what in SHOWN["face"][: 1 if shape.kind == "alone" else 2]:
            value, u = solution.value_and_u(face.id, key.removesuffix("_mm"))
            model = value / results.denominator
            yield SizeRow(face.id, "", "", "face", key, what, value, u, model)
    elif shape.kind in ("hinged", "roof"):
        angle, u = solution.value_and_u(face.id, "heading" if shape.kind == "hinged" else "pitch")
        degrees = 57.29577951308232
        key, what = SHOWN["face"][2 if shape.kind == "hinged" else 3]
        yield SizeRow(face.id, "", "", "face", key, what, angle * degrees, u * degrees, None)
    elif shape.kind == "parallel":
        value, u = solution.value_and_u(face.id, "set_back")
        key, what = SHOWN["face"][4]
        model = value / results.denominator
        yield SizeRow(face.id, "", "", "face", key, what, value, u, model)
