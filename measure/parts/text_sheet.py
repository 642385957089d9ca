"""Plain text set on sheets: the build order as pages of the PDF."""

from __future__ import annotations

from measure.elevation import lettering
from measure.elevation.paper import paper_named
from measure.elevation.primitives import Lettering, Primitive
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import SheetNumber
from measure.parts.card_plan import CardPlan
from measure.parts.part_frame import PART_LAYERS, make_part_frame
from measure.parts.printer import Correction
from shared.model_scales import format_scale

TEXT_MM, HEADING_MM, LINE_MM, GAP_MM, INDENT_MM = 2.1, 2.6, 4.0, 1.4, 7.0


def text_sheets(
    plan: CardPlan, text: str, correction: Correction | None = None
) -> tuple[Sheet, ...]:
    """Set paragraphs on as many sheets as they take."""
    correction = correction or Correction()
    shell = plan.shell
    paper = paper_named(shell.wishes.paper).portrait()

    def frame_for(number: int, count: int) -> tuple[tuple[Primitive, ...], tuple[float, ...]]:
        frame = make_part_frame(
            paper,
            shell.wishes.margin_mm,
            correction,
            title=shell.title or "Untitled building",
            holds="How it goes together",
            number=number,
            count=count,
            scale=f"Model at {format_scale(shell.denominator)}",
            legend=False,
            grain=False,
        )
        a = frame.area
        return frame.items, (a.left_mm + 4.0, a.right_mm - 4.0, a.bottom_mm + 2.0, a.top_mm - 6.0)

    _, (left, right, low, high) = frame_for(1, 1)
    pages: list[list[Primitive]] = [[]]
    y = high
    for paragraph in text.splitlines():
        if not paragraph.strip():
            y -= GAP_MM
            continue
        head, body = _numbered(paragraph)
        indent = INDENT_MM if head else 0.0
        size = TEXT_MM if head else HEADING_MM
        lines = lettering.wrapped(body, size, right - left - indent)
        # a heading does not stand alone at the foot of a page
        needed = len(lines) if head else len(lines) + 3
        if y - LINE_MM * needed < low:
            pages.append([])
            y = high
        if head:
            pages[-1].append(Lettering("words", (left, y), head, TEXT_MM))
        for line in lines:
            pages[-1].append(Lettering("words", (left + indent, y), line, size))
            y -= LINE_MM
        y -= GAP_MM
    return tuple(
        Sheet(
            f"{shell.title}: how it goes together",
            paper,
            shell.denominator,
            PART_LAYERS,
            tuple(items),
            frame_for(number, len(pages))[0],
            (0.0, 0.0),
            number=SheetNumber(number, len(pages)),
        )
        for number, items in enumerate(pages, start=1)
    )


def _numbered(paragraph: str) -> tuple[str, str]:
    """Number or dash of a paragraph, and the rest."""
    head, _, rest = paragraph.partition(" ")
    if rest and (head == "-" or (head.endswith(".") and head[:-1].isdigit())):
        return ("–" if head == "-" else head), rest
    return "", paragraph
