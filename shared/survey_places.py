"""Where something stands in a survey, in the user's words: face 'front', measure 'w1', key 'at'.

A path is the list of keys and list positions that leads to a value of the
plain (JSON) document. Knows nothing of validation.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

Step = str | int
MAX_SHOWN = 60  # characters of a user's value that are repeated in a sentence

_ITEM_WORDS = {
    "photos": "photo",
    "faces": "face",
    "guides": "guide",
    "references": "reference",
    "measures": "measure",
    "together": "group put together",
    "apart": "group kept apart",
    "completions": "completion",
    "details": "detail",
    "bands": "band",
    "own_sheets": "own sheet",
    "paint_out": "part painted out",
}
#: Lists of names of openings, not of picks.
_NAME_LISTS = ("of", "axis_of", "bays")
#: Keys that hold one pick; within a list of picks there is no key any more.
_SINGLE_PICKS = ("", "at", "datum", "axis_at")
_PICK_WORDS = ("its x", "its y", "its u_px")


def format_value(value: Any) -> str:
    """Show a value of the document in a sentence: short, on one line, printable.

    Examples
    --------
    >>> format_value([1, "a"])
    '[1, "a"]'
    >>> format_value({"id": "w1", "at": []})
    'a group of keys'
    """
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, (list, tuple)) and len(value) > 3:
        return f"a list of {len(value)}"
    text = json.dumps(value, ensure_ascii=False, default=str)
    return _tidy(text)


def quote(text: str) -> str:
    """Put a user's name in single quotes, short and printable.

    Examples
    --------
    >>> quote("front")
    "'front'"
    """
    return f"'{_tidy(text)}'"


def format_place(document: Any, path: Sequence[Step]) -> str:
    """Name the value that a path leads to.

    Items that carry an id are named by it, references by their label, anything
    else by its position counted from 1.

    Examples
    --------
    >>> survey = {"faces": [{"id": "front", "measures": [{"id": "w1", "at": [[1, 2]]}]}]}
    >>> format_place(survey, ["faces", 0, "measures", 0, "at", 0])
    "face 'front', measure 'w1', key 'at', pick 1"
    >>> format_place(survey, ["faces", 0, "surface", "hinge", "face"])
    "face 'front', surface, hinge, key 'face'"
    """
    words: list[str] = []
    node: Any = document
    key = ""
    for number, step in enumerate(path):
        above, node = node, _child(node, step)
        following = path[number + 1] if number + 1 < len(path) else None
        if isinstance(step, int):
            words.append(_item_words(key, step, node, above))
            key = ""
        elif following is None or (isinstance(following, int) and step not in _ITEM_WORDS):
            words.append(f"key {quote(step)}")
            key = step
        else:
            key = step
            if not isinstance(following, int):
                words.append(_tidy(step))
    return ", ".join(words) if words else "the survey"


def make_place_details(document: Any, path: Sequence[Step]) -> dict[str, Any]:
    """Say the same for a program: the path, and the ids of photo, face and measure on it."""
    details: dict[str, Any] = {"path": list(path)}
    node: Any = document
    for step, above in zip(path, ("", *path), strict=False):
        node = _child(node, step)
        if isinstance(step, int) and above in ("photos", "faces", "measures"):
            name = node.get("id") if isinstance(node, dict) else None
            if isinstance(name, str):
                details[_ITEM_WORDS[str(above)]] = name
    return details


def _child(node: Any, step: Step) -> Any:
    if isinstance(step, int):
        return node[step] if isinstance(node, list) and 0 <= step < len(node) else None
    return node.get(step) if isinstance(node, dict) else None


def _item_words(key: str, position: int, item: Any, items: Any) -> str:
    if isinstance(item, dict) or key in _ITEM_WORDS:
        word = _ITEM_WORDS.get(key, "number")
        for naming in ("id", "label"):
            name = item.get(naming) if isinstance(item, dict) else None
            if isinstance(name, str) and name.strip():
                return f"{word} {quote(name)}"
        return f"{word} {position + 1}"
    if key in _NAME_LISTS:
        return f"name {position + 1}"
    beside = items if isinstance(items, list) else []
    if any(isinstance(one, list) for one in beside):
        return f"pick {position + 1}"
    of_pick = key in _SINGLE_PICKS and any(isinstance(one, (int, float)) for one in beside)
    if of_pick and position < len(_PICK_WORDS):
        return _PICK_WORDS[position]
    return f"number {position + 1}"


def _tidy(text: str) -> str:
    shown = "".join(
        letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text[: MAX_SHOWN + 1]
    )
    return shown if len(shown) <= MAX_SHOWN else shown[: MAX_SHOWN - 1] + "…"
