"""A survey as JSON text that a person can read and a version tool can compare.

Every key is written, in the order of the document's definition but with id and
kind first; a pick stays on one line, and so does any part that fits; a list
of parts has at least a line for each.
"""

from __future__ import annotations

import json
from typing import Any

from shared.survey import Survey

LINE_LENGTH = 100
_FIRST_KEYS = ("id", "kind", "label")


def format_survey(survey: Survey) -> str:
    r"""Write a survey as text, ending in a line break.

    Returns
    -------
    str
        JSON with two spaces of indent. Reading it gives an equal survey: every
        number is written with as many digits as tell it apart.

    Examples
    --------
    >>> print(*format_survey(Survey(title="Shed")).splitlines()[:4], sep="\n")
    {
      "format": "storeyrod survey",
      "version": 1,
      "title": "Shed",
    """
    return _format_open(survey.model_dump(), 0) + "\n"


def _format_item(value: Any, indent: int, room: int) -> str:
    """Write a value, on one line if `room` characters are enough for it."""
    closed = _format_closed(value, room)
    of_parts = isinstance(value, (list, tuple)) and any(isinstance(one, dict) for one in value)
    if closed is not None and not of_parts:
        return closed
    return _format_open(value, indent)


def _format_open(value: Any, indent: int) -> str:
    inner = indent + 2
    room = LINE_LENGTH - inner - 1
    if isinstance(value, dict):
        lines = []
        for name in _order_keys(value):
            start = f"{json.dumps(name)}: "
            lines.append(start + _format_item(value[name], inner, room - len(start)))
        opening, closing = "{", "}"
    else:
        lines = [_format_item(item, inner, room) for item in value]
        opening, closing = "[", "]"
    separator = ",\n" + " " * inner
    return f"{opening}\n{' ' * inner}{separator.join(lines)}\n{' ' * indent}{closing}"


def _format_closed(value: Any, room: int) -> str | None:
    """Write a value on one line, or give None as soon as it gets too long.

    Text and bare numbers cannot be broken, so they always fit.
    """
    if isinstance(value, float):
        return _format_number(value)
    if not isinstance(value, (dict, list, tuple)):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, dict):
        items = [(f"{json.dumps(key)}: ", value[key]) for key in _order_keys(value)]
    else:
        items = [("", item) for item in value]
    parts: list[str] = []
    for start, item in items:
        part = _format_closed(item, room - len(start))
        if part is None:
            return None
        parts.append(start + part)
        room -= len(parts[-1]) + 2
        if room < 0:
            return None
    inside = ", ".join(parts)
    return f"{{{inside}}}" if isinstance(value, dict) else f"[{inside}]"


def _order_keys(group: dict[str, Any]) -> list[str]:
    first = [key for key in _FIRST_KEYS if key in group]
    return first + [key for key in group if key not in first]


def _format_number(number: float) -> str:
    text = repr(number)
    return text.removesuffix(".0") if text != "-0.0" else text
