"""Sheets as PDF: pages of true paper size, vector lines, fonts embedded.

The pages ask readers to print them at their own size (``/PrintScaling /None``).
Letters that DejaVu Sans lacks come from a font of this computer that has them;
where none has, an empty box stands for the letter.
"""

from __future__ import annotations

import datetime as dt
import io
import math
import threading
import warnings
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

import matplotlib as mpl
from matplotlib.backends.backend_pdf import Name, PdfFile, RendererPdf
from matplotlib.font_manager import FontProperties, fontManager
from matplotlib.ft2font import FT2Font
from matplotlib.path import Path as MplPath
from matplotlib.transforms import Affine2D, Bbox

from measure.elevation.lettering import EM_FROM_CAPITAL, clean, font_file, known_characters
from measure.elevation.path_geometry import ArcSegment, Point, arc_centre_mm, point_on_arc_mm, walk
from measure.elevation.primitives import Fill, Lettering, Primitive, Stroke, dash_lengths_mm
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import CAUTION, scale_in_words

POINTS_PER_MM = 72.0 / 25.4
MISSING_LETTER = "\N{WHITE SQUARE}"
# A cubic curve over an eighth of a turn leaves the circle by 4.2e-6 of its radius.
LARGEST_PIECE_RAD = math.pi / 4
_SETTINGS = {
    "pdf.fonttype": 42,
    "pdf.use14corefonts": False,
    "pdf.compression": 6,
    "text.usetex": False,
    "path.simplify": False,
}
# The settings of matplotlib belong to the whole program: one PDF at a time.
_ONE_AT_A_TIME = threading.Lock()


def pdf_from_sheets(sheets: Sequence[Sheet], date: dt.date) -> bytes:
    """Write sheets as one PDF, a page each.

    Parameters
    ----------
    sheets : sequence of Sheet
        At least one.
    date : datetime.date
        Written as the day of making; the clock is not read.

    Returns
    -------
    bytes
        The same sheets and date give the same bytes.

    Raises
    ------
    ValueError
        If there is no sheet.
    """
    if not sheets:
        raise ValueError("sheets: at least 1, got 0")
    made_at = dt.datetime(date.year, date.month, date.day, tzinfo=dt.UTC)
    buffer = io.BytesIO()
    with _ONE_AT_A_TIME, mpl.rc_context(_SETTINGS), warnings.catch_warnings():
        pdf = PdfFile(
            buffer,
            {
                "Title": clean(sheets[0].title),
                "Subject": f"{scale_in_words(sheets[0].scale_denominator)}. {CAUTION}",
                "Creator": "storeyrod",
                "Producer": "storeyrod, by matplotlib",
                "CreationDate": made_at,
            },
        )
        try:
            for sheet in sheets:
                _draw_page(pdf, sheet)
            # What follows belongs to no page.
            pdf.endStream()
            # Written again with the wish added: the later place of an object counts.
            pdf.writeObject(
                pdf.rootObject,
                {
                    "Type": Name("Catalog"),
                    "Pages": pdf.pagesObject,
                    "ViewerPreferences": {"PrintScaling": Name("None")},
                },
            )
            pdf.finalize()
        finally:
            pdf.close()
    return buffer.getvalue()


def letters_without_font(sheets: Sequence[Sheet]) -> str:
    """Letters on the sheets that no font of this computer has; a PDF shows boxes for them."""
    missing = {
        character
        for sheet in sheets
        for item in (*sheet.drawing_items, *sheet.sheet_items)
        if isinstance(item, Lettering)
        for character in clean(item.text)
        if not _font_file_with(character)
    }
    return "".join(sorted(missing))


def _draw_page(pdf: Any, sheet: Sheet) -> None:
    """One page."""
    width_mm, height_mm = sheet.paper.width_mm, sheet.paper.height_mm
    pdf.newPage(width_mm / 25.4, height_mm / 25.4)
    renderer = RendererPdf(pdf, 72, height_mm / 25.4, width_mm / 25.4)
    for picture in sheet.pictures:
        left, bottom, width, height = (
            edge * POINTS_PER_MM
            for edge in (
                picture.box.left_mm,
                picture.box.bottom_mm,
                picture.box.width_mm,
                picture.box.height_mm,
            )
        )
        place = Affine2D.from_values(width, 0.0, 0.0, height, left, bottom)
        # the library takes the lowest row first
        renderer.draw_image(renderer.new_gc(), 0.0, 0.0, picture.rgba[::-1], place)
    for items, window in ((sheet.drawing_items, sheet.window), (sheet.sheet_items, None)):
        clip = None
        if window is not None:
            clip = Bbox.from_extents(
                *(
                    edge * POINTS_PER_MM
                    for edge in (window.left_mm, window.bottom_mm, window.right_mm, window.top_mm)
                )
            )
        hidden = {layer.name for layer in sheet.layers if not layer.shown}
        for item in items:
            if item.layer not in hidden:
                _draw_item(renderer, item, clip)
    renderer.finalize()


def _draw_item(renderer: Any, item: Primitive, clip: Bbox | None) -> None:
    """One primitive; points of the page are 1/72 inch from its lower left corner."""
    gc = renderer.new_gc()
    gc.set_foreground((0.0, 0.0, 0.0))
    if clip is not None:
        gc.set_clip_rectangle(clip)
    if isinstance(item, Lettering):
        _draw_lettering(renderer, gc, item)
    else:
        gc.set_capstyle("butt")
        gc.set_joinstyle("miter")
        if isinstance(item, Stroke):
            gc.set_linewidth(item.width_mm * POINTS_PER_MM)
            dashes = dash_lengths_mm(item.line_kind, item.width_mm)
            if dashes:
                gc.set_dashes(0.0, [length * POINTS_PER_MM for length in dashes])
            renderer.draw_path(gc, _mpl_path(item, item.closed), Affine2D().scale(POINTS_PER_MM))
        else:
            gc.set_linewidth(0.0)
            renderer.draw_path(
                gc, _mpl_path(item, True), Affine2D().scale(POINTS_PER_MM), (0.0, 0.0, 0.0)
            )
    gc.restore()


def _mpl_path(item: Stroke | Fill, closed: bool) -> MplPath:
    """Path in millimetres, arcs as cubic curves."""
    vertices: list[Point] = [item.start_mm]
    codes = [MplPath.MOVETO]
    for start, segment in walk(item.start_mm, item.segments):
        if isinstance(segment, ArcSegment):
            for curve in _curves(start, segment):
                vertices += curve
                codes += [MplPath.CURVE4] * 3
        else:
            vertices.append(segment.to_mm)
            codes.append(MplPath.LINETO)
    if closed:
        vertices.append(item.start_mm)
        codes.append(MplPath.CLOSEPOLY)
    return MplPath(vertices, codes)


def _curves(start_mm: Point, arc: ArcSegment) -> Iterator[list[Point]]:
    """Cubic curves along an arc: two handles and an end each, handles of 4/3 tan(turn/4) radii."""
    pieces = math.ceil(abs(arc.sweep_rad) / LARGEST_PIECE_RAD - 1e-9)
    turn = arc.sweep_rad / pieces
    reach = 4.0 / 3.0 * math.tan(turn / 4)
    cx, cy = arc_centre_mm(start_mm, arc)
    x0, y0 = start_mm
    for number in range(1, pieces + 1):
        last = number == pieces
        x1, y1 = arc.to_mm if last else point_on_arc_mm(start_mm, arc, turn * number)
        yield [
            (x0 - reach * (y0 - cy), y0 + reach * (x0 - cx)),
            (x1 + reach * (y1 - cy), y1 - reach * (x1 - cx)),
            (x1, y1),
        ]
        x0, y0 = x1, y1


def _draw_lettering(renderer: Any, gc: Any, item: Lettering) -> None:
    """One line of text, starting where its measured width says."""
    text = "".join(c if _font_file_with(c) else MISSING_LETTER for c in clean(item.text))
    if not text:
        return
    size_pt = item.size_mm * EM_FROM_CAPITAL * POINTS_PER_MM
    x, y = item.left_end_mm
    renderer.draw_text(
        gc,
        x * POINTS_PER_MM,
        y * POINTS_PER_MM,
        text,
        _font(text, size_pt),
        math.degrees(item.angle_rad),
    )


def _font(text: str, size_pt: float) -> FontProperties:
    """DejaVu Sans, followed by the fonts that have the letters it lacks."""
    others = sorted({family for c in text if (family := _family_with(c))})
    if not others:
        return FontProperties(fname=font_file(), size=size_pt)
    return FontProperties(family=["DejaVu Sans", *others], size=size_pt)


def _font_file_with(character: str) -> str:
    """File of a font that has the letter; empty where there is none."""
    if ord(character) in known_characters() or not character.isprintable():
        return str(font_file())
    return _other_font(character)[1]


def _family_with(character: str) -> str:
    """Family of another font that has a letter which DejaVu Sans lacks; empty otherwise."""
    if ord(character) in known_characters() or not character.isprintable():
        return ""
    return _other_font(character)[0]


@lru_cache(maxsize=4096)
def _other_font(character: str) -> tuple[str, str]:
    """Family and file of the first upright font of this computer that has a letter."""
    entries = sorted(
        {
            (entry.name, entry.fname)
            for entry in fontManager.ttflist
            # A last-resort font has a box with a code in it for every letter there is.
            if entry.style == "normal" and "last resort" not in entry.name.lower()
        }
    )
    for family, file in entries:
        if ord(character) in _characters_of(file):
            return family, file
    return "", ""


@lru_cache(maxsize=512)
def _characters_of(file: str) -> frozenset[int]:
    """Code points of a font; none for one that cannot be opened or embedded."""
    try:
        return frozenset(FT2Font(file).get_charmap())
    except (OSError, RuntimeError):
        return frozenset()
