"""What stands out of a wall: plinths, string courses and sills as strips of paper.

A strip's real projection is rounded to what the sheets at hand can build; each layer of a
strip that goes round a corner is mitred for its own distance from the wall.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from measure.parts.corners import CornerEnd, FreeEnd, Side
from measure.parts.face_shape import FaceShape
from measure.parts.part import Part, PartWords, lines_of_polygon
from measure.parts.part_marks import mark_on
from measure.parts.reveals import is_window, strip_part
from measure.parts.shell import Shell
from measure.parts.tower_plan import TowerPlan
from measure.parts.tower_wrap import wrap_length_mm
from measure.parts.walls import cut_openings
from measure.parts.workshop import Projection, build_up
from shared.card_wishes import Band

#: Strips lower than this cannot be cut and laid by hand (0.5 to 1 mm: common practice, no
#: source); 3 mm is easy.
LEAST_STRIP_MM = 0.5

#: A band with less wall than this behind it has nothing to be glued to.
BARE_SHARE = 0.25

#: A projection this far from the true one is worth a sentence.
WORTH_SAYING_MM = 0.05


def band_parts(shell: Shell, face: FaceShape, marks: Iterator[str]) -> tuple[list[Part], list[str]]:
    """Strips of all bands of a wall, and what is to be said of them."""
    parts: list[Part] = []
    said: list[str] = []
    for band in shell.wishes.of_face(face.id).bands:
        projection = band_projection(shell, band)
        said += _projection_sentence(band.label, face.id, projection, shell.denominator)
        low, high = band_levels(shell, face, band)
        if high - low < LEAST_STRIP_MM:
            said.append(_too_low(band, face, high - low))
            continue
        said += _beyond_wall(shell, band, face, low, high)
        for number, material in enumerate(projection.sheets):
            shape = band_shape(shell, face, band, projection, number)
            for piece in shapely.get_parts(shape):
                if piece.area < 0.05:
                    continue
                mark = next(marks)
                lines = lines_of_polygon("cut", piece, mark)
                words, up = mark_on(piece, mark, arrow=high - low >= 6.0)
                left, bottom, right, top = piece.bounds
                if min(right - left, top - bottom) < 3.0:
                    half = PartWords((0.0, 0.0), mark).area.bounds[2]
                    words, up = (PartWords((left - half - 1.0, bottom), mark),), []
                parts.append(
                    Part(
                        mark,
                        f"{band.label}, layer {number + 1} of {len(projection.sheets)}",
                        face.id,
                        "band",
                        material,
                        (*lines, *up),
                        words,
                        grain="along",
                        note="",
                    )
                )
    return parts, said


def tower_band_parts(
    shell: Shell, tower: TowerPlan, marks: Iterator[str]
) -> tuple[list[Part], list[str]]:
    """Bands round a tower: each layer is longer than the one that it covers."""
    parts: list[Part] = []
    said: list[str] = []
    face = tower.face
    for band in shell.wishes.of_face(face.id).bands:
        projection = band_projection(shell, band)
        said += _projection_sentence(band.label, face.id, projection, shell.denominator)
        low, high = band_levels(shell, face, band)
        if high - low < LEAST_STRIP_MM:
            said.append(_too_low(band, face, high - low))
            continue
        for number, material in enumerate(projection.sheets):
            out = projection.outer_of(number, shell.workshop.glue_gap_mm)
            length = wrap_length_mm(
                tower.outer_mm + 2.0 * out, material.thickness_mm, tower.arc_deg
            )
            parts.append(
                strip_part(
                    next(marks),
                    f"{band.label}, layer {number + 1} of {len(projection.sheets)}",
                    face.id,
                    "band",
                    material,
                    length,
                    high - low,
                    grain="along",
                    note="curl it over a rod first; its joint at the back",
                )
            )
    return parts, said


def _beyond_wall(
    shell: Shell, band: Band, face: FaceShape, low_mm: float, high_mm: float
) -> list[str]:
    """Say where a band has no wall behind it over most of its length."""
    box, scale = face.box, shell.denominator
    left = box.left_mm if band.left_mm is None else max(box.left_mm, band.left_mm / scale)
    right = box.right_mm if band.right_mm is None else min(box.right_mm, band.right_mm / scale)
    if right <= left:
        return [f"The {band.label} of face {face.id} lies beside the wall: check its ends."]
    asked = shapely.box(left, low_mm, right, high_mm)
    bare = 1.0 - face.area.intersection(asked).area / asked.area
    if bare < BARE_SHARE:
        return []
    return [
        f"The {band.label} of face {face.id} has no wall behind {100 * bare:.0f} % of it: give the "
        "face an extent that reaches as far, or the band other levels."
    ]


def _too_low(band: Band, face: FaceShape, height_mm: float) -> str:
    return (
        f"The {band.label} of face {face.id} is {height_mm:.2f} mm high on the model: too low for "
        "a strip, so print it."
    )


def band_projection(shell: Shell, band: Band) -> Projection:
    """Layers that a band is built up from."""
    shop = shell.workshop
    return build_up(band.out_mm / shell.denominator, shop.papers, shop.glue_gap_mm)


def band_levels(shell: Shell, face: FaceShape, band: Band) -> tuple[float, float]:
    """Foot and head of a band, v on the model."""
    scale = shell.denominator
    return face.datum_mm + band.foot_mm / scale, face.datum_mm + band.head_mm / scale


def band_shape(
    shell: Shell, face: FaceShape, band: Band, projection: Projection, number: int
) -> shapely.Geometry:
    """Front of one layer of a band, on the wall's chart: ended at corners, openings left free."""
    out = projection.outer_of(number, shell.workshop.glue_gap_mm)
    low, high = band_levels(shell, face, band)
    box = face.box
    scale = shell.denominator
    left = box.left_mm if band.left_mm is None else band.left_mm / scale
    right = box.right_mm if band.right_mm is None else band.right_mm / scale
    if left <= box.left_mm + 1e-6:
        left -= _shift(shell, face, "left", band, out)
    if right >= box.right_mm - 1e-6:
        right += _shift(shell, face, "right", band, out)
    holes = [o.area for o in cut_openings(shell, face)]
    holes += [gap.area_at(-out, box.bottom_mm, box.top_mm) for gap in shell.ends[face.id].gaps]
    return shapely.box(left, low, right, high).difference(shapely.union_all(holes))


def _shift(shell: Shell, face: FaceShape, side: Side, band: Band, out_mm: float) -> float:
    """How far a layer runs past the wall's end: on round the corner where the band goes on."""
    end = shell.ends[face.id].at(side)
    if isinstance(end, FreeEnd):
        return 0.0
    shift = end.band_shift_mm(out_mm)
    if isinstance(end, CornerEnd) and shift > 0 and not _goes_on(shell, face, end.other, band):
        return 0.0
    return shift


def _goes_on(shell: Shell, face: FaceShape, other_id: str, band: Band) -> bool:
    other = shell.face(other_id)
    low, high = band_levels(shell, face, band)
    for theirs in shell.wishes.of_face(other_id).bands:
        their_low, their_high = band_levels(shell, other, theirs)
        if their_low < high and low < their_high:
            return True
    return False


def sill_parts(shell: Shell, face: FaceShape, marks: Iterator[str]) -> tuple[list[Part], list[str]]:
    """Sills of the windows that have them; alike ones are one part with a count."""
    wish = shell.wishes.of_face(face.id)
    sill = wish.sill or shell.wishes.sill
    if sill is None:
        return [], []
    scale = shell.denominator
    shop = shell.workshop
    projection = build_up(sill.out_mm / scale, shop.papers, shop.glue_gap_mm)
    height = sill.height_mm / scale
    said = _projection_sentence("sill", face.id, projection, scale)
    if height < LEAST_STRIP_MM:
        said.append(
            f"Sills of face {face.id} are {height:.2f} mm high: too low to cut; print them."
        )
        return [], said
    groups: dict[float, list[str]] = {}
    for opening in cut_openings(shell, face):
        own = wish.openings.get(opening.id)
        asked = own.sill if own is not None else None
        stands_clear = is_window(shell, face, opening) and opening.head != "round"
        if stands_clear if asked is None else asked:
            length = opening.width_mm + 2.0 * sill.beyond_mm / scale
            groups.setdefault(round(length, 2), []).append(opening.id)
    parts = []
    for length, ids in groups.items():
        for number, material in enumerate(projection.sheets):
            parts.append(
                strip_part(
                    next(marks),
                    f"sill, layer {number + 1} of {len(projection.sheets)}: {', '.join(ids[:6])}"
                    + (" ..." if len(ids) > 6 else ""),
                    face.id,
                    "sill",
                    material,
                    length,
                    height,
                    count=len(ids),
                    openings=tuple(ids),
                    note="its top is level with the foot of the opening",
                )
            )
    return parts, said


def _projection_sentence(
    label: str, face: str, projection: Projection, denominator: float
) -> list[str]:
    off = projection.built_mm - projection.wanted_mm
    if abs(off) < WORTH_SAYING_MM:
        return []
    return [
        f"The {label} of face {face} stands out {projection.wanted_mm:.2f} mm on the model; the "
        f"sheets at hand build {projection.built_mm:.2f} mm ({abs(off) * denominator:.0f} mm "
        f"full size {'more' if off > 0 else 'less'})."
    ]
