"""What a drawing says of itself where there is no sheet around it.

Frame: millimetres of paper, the upper left corner of the caption at (0, 0), y up.
"""

from __future__ import annotations

from measure.elevation import lettering
from measure.elevation.bars import bar_scale
from measure.elevation.drawing import SHEET_LAYERS
from measure.elevation.primitives import Lettering, Primitive
from measure.elevation.title_block import SMALL_MM, TEXT_MM, TITLE_MM, TitleBlock

LEAST_WIDTH_MM = 90.0


def caption_primitives(block: TitleBlock, width_mm: float, scale_words: str) -> list[Primitive]:
    """Title, scale, bar scale, how far to trust the sizes, and cautions, one below the other.

    Parameters
    ----------
    block : TitleBlock
    width_mm : float
        Of the drawing above; the caption is no narrower than 90 mm.
    scale_words : str
        Such as "FULL SIZE, 1 unit is 1 mm of the building".
    """
    room_mm = max(width_mm, LEAST_WIDTH_MM)
    made: list[Primitive] = []
    y = 0.0
    facts = ", ".join(part for part in (block.photo, block.date.isoformat()) if part)
    texts = (
        (block.title, TITLE_MM, 3),
        (block.subtitle, TEXT_MM, 2),
        (scale_words, TEXT_MM, 2),
        (facts, SMALL_MM, 2),
        (block.plus_minus, SMALL_MM, 4),
        *((note, SMALL_MM, 4) for note in block.notes),
        (block.cautions, SMALL_MM, 8),
    )
    for text, wanted_mm, most_lines in texts:
        lines, size_mm = lettering.fitted(text, wanted_mm, room_mm, most_lines=most_lines)
        for line in lines:
            y -= size_mm * lettering.LINE_STEP
            made.append(Lettering("title", (0.0, y), line, size_mm))
        # Depth of the letters below the baseline, which a smaller next line would run into.
        y -= 0.3 * size_mm if lines else 0.0
    layer = next(layer for layer in SHEET_LAYERS if layer.name == "bar")
    y -= 9.0
    made += bar_scale(layer, 0.0, y, block.scale_denominator, room_mm, block.bar_unit)
    return made
