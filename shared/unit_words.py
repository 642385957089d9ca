"""Units of length: what people call them and how long they are."""

from __future__ import annotations

from typing import Literal

LengthUnit = Literal["mm", "cm", "m", "in", "ft"]

MM_PER_INCH = 25.4
MM_PER_FOOT = 304.8

MM_PER_UNIT: dict[LengthUnit, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "ft": MM_PER_FOOT,
}

_WORDS: dict[LengthUnit, str] = {
    "mm": "mm mms millimetre millimetres millimeter millimeters",
    "cm": "cm cms centimetre centimetres centimeter centimeters",
    "m": "m metre metres meter meters",
    "in": 'in ins inch inches "',
    "ft": "ft foot feet '",
}
UNIT_FROM_WORD: dict[str, LengthUnit] = {
    word: unit for unit, words in _WORDS.items() for word in words.split()
}
"""Unit meant by each word, in lower case, without a full stop."""
