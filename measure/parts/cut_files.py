"""All files of a card model: sheets as PDF, SVG and DXF, key, cut list, build order, picture."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, replace

from measure.elevation.sheet import Sheet
from measure.export.files import safe_stem
from measure.parts.assembled import said_of, seams_of
from measure.parts.build_order import build_order_text
from measure.parts.card_plan import CardPlan
from measure.parts.cut_list import csv_of_parts
from measure.parts.key_sheet import key_sheets, keyed_faces
from measure.parts.nesting import Report
from measure.parts.part import Part
from measure.parts.part_sheets import LaidSheet, lay_parts
from measure.parts.printer import Correction, corrected_sheet, correction_from_bars
from measure.parts.skin_print import PhotoOfFace
from measure.parts.text_sheet import text_sheets


@dataclass(frozen=True, slots=True)
class CardFiles:
    """A model laid out and written.

    Attributes
    ----------
    plan : CardPlan
    parts : tuple of Part
        As laid: large ones in pieces.
    sheets : tuple of LaidSheet
    correction : Correction
    files : mapping of str to bytes
        By name, in reading order.
    """

    plan: CardPlan
    parts: tuple[Part, ...]
    sheets: tuple[LaidSheet, ...]
    correction: Correction
    files: Mapping[str, bytes]

    @property
    def cautions(self) -> tuple[str, ...]:
        """What the model asks to be minded."""
        return self.plan.cautions


def make_card_files(
    plan: CardPlan,
    date: dt.date,
    report: Report | None = None,
    photo: PhotoOfFace | None = None,
) -> CardFiles:
    """Lay a plan out and write all its files.

    Parameters
    ----------
    plan : CardPlan
    date : datetime.date
        Written into the files; the clock is not read.
    report : callable, optional
        Told what is being done and how far it is; returning False stops.
    photo : callable, optional
        Gives the straightened photo that is printed on skins, where that is wished for.

    Returns
    -------
    CardFiles
        PDF and SVG are corrected for the printer where its bars were measured; DXF, which goes
        to a cutter, never is.
    """
    from measure.export.dxf import dxf_from_sheet
    from measure.export.pdf import pdf_from_sheets
    from measure.export.svg import svg_from_sheet
    from measure.parts.axonometric import svg_of_assembled

    def tell(what: str, share: float) -> bool | None:
        return report(what, share) if report else None

    def lay_tell(what: str, share: float) -> bool | None:
        return tell(what, 0.5 * share)

    correction = correction_from_bars(plan.shell.wishes.printed_bars)
    wanted = photo if plan.shell.wishes.print_skins else None
    laid, parts = lay_parts(plan, correction, lay_tell, wanted)
    seen = tuple(caution for each in laid for caution in each.cautions)
    gaps = tuple(said_of(seam) for seam in seams_of(plan) if not seam.closes)
    plan = replace(plan, cautions=(*plan.cautions, *gaps, *seen))
    text = build_order_text(plan, parts)
    tell("writing sheets", 0.5)
    keys = [corrected_sheet(sheet, correction) for sheet in key_sheets(plan, correction)]
    words = [corrected_sheet(sheet, correction) for sheet in text_sheets(plan, text, correction)]
    pages: list[Sheet] = [*words, *keys]
    printed = [corrected_sheet(each.sheet, correction) for each in laid]
    stem = safe_stem(plan.shell.title or "card model")
    files: dict[str, bytes] = {
        f"{stem}-parts.pdf": pdf_from_sheets([*pages, *printed], date),
        "assembled.svg": svg_of_assembled(plan),
        "cut-list.csv": csv_of_parts(parts, laid),
        "build-order.txt": text.encode("utf-8"),
    }
    tell("writing sheets", 0.7)
    for face, key in zip(keyed_faces(plan), keys, strict=True):
        files[f"key-{safe_stem(face.id)}.svg"] = svg_from_sheet(key)
    for number, (each, sheet) in enumerate(zip(laid, printed, strict=True), start=1):
        name = f"sheet-{number:02d}-{safe_stem(each.material.key)}"
        files[f"{name}.svg"] = svg_from_sheet(sheet)
        files[f"{name}.dxf"] = dxf_from_sheet(each.sheet, date)
        tell("writing sheets", 0.7 + 0.3 * number / len(laid))
    return CardFiles(plan, parts, laid, correction, files)


def archive_of(files: Mapping[str, bytes], date: dt.date) -> bytes:
    """All files in one archive; the same files and date give the same bytes."""
    buffer = io.BytesIO()
    stamp = (max(date.year, 1980), date.month, date.day, 0, 0, 0)
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            info = zipfile.ZipInfo(name, stamp)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, data)
    return buffer.getvalue()
