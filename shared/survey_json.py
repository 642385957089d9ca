"""JSON text -> plain data, strictly: what two readers could understand differently is refused.

Refused are text that is not UTF-8, keys that stand twice, NaN and Infinity,
nesting without end and texts too large to be a survey. Knows the JSON standard
(RFC 8259), not what a survey means.
"""

from __future__ import annotations

import json
import math
import re
from typing import Any

from shared.errors import FieldError, SurveyFileError
from shared.survey_places import Step, format_place, make_place_details, quote

MAX_BYTES = 64 * 1024 * 1024
MAX_DEPTH = 40  # a survey needs 8 levels; the rest is room for later versions
_LONGEST_INTEGER = 30  # digits; longer ones cannot be told from rounded numbers anyway
# What no drawing could show and XML 1.0 (section 2.2) cannot hold, and halves of pairs.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")

# What the standard library says -> what it means to somebody who edits the file by hand.
_JSON_WORDS = (
    ("Expecting property name", "a key in double quotes is expected here"),
    ("Expecting ':'", "a colon is missing here"),
    ("Expecting ','", "a comma or a closing bracket is missing here"),
    ("Expecting value", "a value is missing here"),
    ("Illegal trailing comma", "a comma stands before a closing bracket here"),
    ("Unterminated string", "the text that starts here is never closed with a quote mark"),
    ("Invalid control character", "a text is broken across lines or holds a tab here"),
    ("Invalid \\", "a text holds a backslash that stands for nothing here"),
    ("Extra data", "something follows after the end of the survey here"),
)


def parse_json(raw: bytes | str, name: str) -> Any:
    r"""Read one JSON document.

    Parameters
    ----------
    raw : bytes or str
        The text; bytes must be UTF-8, a byte order mark is passed over.
    name : str
        What to call the document in a refusal.

    Returns
    -------
    Any
        Dictionaries, lists, str, int, float, bool, None. A number without a
        fraction is an int however it is written, so ``12.0`` counts as 12.

    Raises
    ------
    SurveyFileError
        If it is not one JSON document, or too large, or nested too deep.
    FieldError
        If a key stands twice, a number is NaN or infinite, or a text holds a
        control character.

    Examples
    --------
    >>> parse_json('{"count": 12.0, "gauge_mm": 76.2}', "demo")
    {'count': 12, 'gauge_mm': 76.2}
    >>> parse_json('{"count": 12,\n"count": 13}', "demo")
    Traceback (most recent call last):
    shared.errors.FieldError: demo: key 'count' stands twice: keep one of the two.
    """
    text = _decode(raw, name)
    doubled: dict[int, str] = {}
    try:
        document = json.loads(
            text,
            object_pairs_hook=lambda pairs: _make_dict(pairs, doubled),
            parse_float=_parse_number,
            parse_int=_parse_integer,
        )
    except json.JSONDecodeError as cause:
        raise _make_syntax_refusal(cause, text, name) from cause
    except RecursionError as cause:
        raise _make_depth_refusal(name) from cause
    _check_values(document, doubled, name)
    return document


def format_json_for_validation(document: Any, name: str) -> str:
    """Write plain data as JSON again; NaN stays visible, so that it can be refused by place.

    Raises
    ------
    SurveyFileError
        If the data is nested too deep or in a circle.
    TypeError
        If it holds something that JSON cannot.
    """
    try:
        return json.dumps(document, ensure_ascii=True)
    except (RecursionError, ValueError) as cause:
        raise _make_depth_refusal(name) from cause


def _decode(raw: bytes | str, name: str) -> str:
    if len(raw) > MAX_BYTES:
        raise SurveyFileError(
            f"{name} is larger than {MAX_BYTES // 2**20} MB, which no survey needs: "
            "check that it is the right file."
        )
    if isinstance(raw, bytes):
        if not raw.strip(b"\0 \t\r\n"):
            state = "holds nothing but zero bytes" if b"\0" in raw else "is empty"
            raise SurveyFileError(f"{name} {state}: restore an earlier version or start anew.")
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as cause:
            raise SurveyFileError(
                f"{name} is not UTF-8 text (byte {cause.start + 1} is not): "
                "check that it is a survey, or save it as UTF-8."
            ) from cause
        return text
    text = raw.removeprefix("\ufeff")
    if not text.strip():
        raise SurveyFileError(f"{name} is empty: restore an earlier version or start anew.")
    return text


def _make_dict(pairs: list[tuple[str, Any]], doubled: dict[int, str]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                doubled[id(made)] = key
                break
            seen.add(key)
    return made


def _parse_number(text: str) -> int | float:
    number = float(text)
    exact = number.is_integer() and abs(number) < 2**53
    return int(number) if exact and str(number) != "-0.0" else number


def _parse_integer(text: str) -> int | float:
    return int(text) if len(text) <= _LONGEST_INTEGER else float(text)


def _check_values(document: Any, doubled: dict[int, str], name: str) -> None:
    """Walk through everything without recursion; refuse by place."""
    waiting: list[tuple[Any, tuple[Step, ...]]] = [(document, ())]
    while waiting:
        node, path = waiting.pop()
        if isinstance(node, float):
            if not math.isfinite(node):
                raise FieldError(
                    f"{name}: {format_place(document, path)} must be an ordinary number: "
                    "NaN, Infinity and numbers past all measure are refused.",
                    details=make_place_details(document, path),
                )
        elif isinstance(node, str):
            if _FORBIDDEN.search(node):
                raise FieldError(
                    f"{name}: {format_place(document, path)} holds a character that is none "
                    "(a control character or half of a pair): type the text anew.",
                    details=make_place_details(document, path),
                )
        elif isinstance(node, (dict, list)):
            if len(path) >= MAX_DEPTH:
                raise _make_depth_refusal(name)
            if id(node) in doubled:
                path = (*path, doubled[id(node)])
                raise FieldError(
                    f"{name}: {format_place(document, path)} stands twice: keep one of the two.",
                    details=make_place_details(document, path),
                )
            steps = node.items() if isinstance(node, dict) else enumerate(node)
            waiting.extend((child, (*path, step)) for step, child in reversed(list(steps)))


def _make_syntax_refusal(cause: json.JSONDecodeError, text: str, name: str) -> SurveyFileError:
    words = next((plain for said, plain in _JSON_WORDS if cause.msg.startswith(said)), cause.msg)
    place = f"line {cause.lineno}, column {cause.colno}"
    details = {"line": cause.lineno, "column": cause.colno}
    at_end = cause.pos >= len(text.rstrip()) or cause.msg.startswith("Unterminated string")
    if at_end and not text.rstrip().endswith("}"):
        last_line = text.rstrip().count("\n") + 1
        return SurveyFileError(
            f"{name} breaks off in line {last_line}, before the survey is complete "
            f"({place}: {words}): restore an earlier version or copy it again.",
            details=details,
        )
    near = text[cause.pos : cause.pos + 20].split("\n")[0].strip()
    found = f" (found {quote(near)})" if near else ""
    return SurveyFileError(f"{name} is not valid JSON at {place}: {words}{found}.", details=details)


def _make_depth_refusal(name: str) -> SurveyFileError:
    return SurveyFileError(
        f"{name} is nested more than {MAX_DEPTH} levels deep, which no survey is: "
        "check that it is the right file."
    )
