"""What is wrong with a value of the survey, as one sentence.

Turns the first finding of the validation into words that name the face, the
measure or the photo by its id. Reads the JSON schema of the survey to know the
keys and the numbers of picks that a place allows.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from pydantic import ValidationError

from shared.errors import FieldError
from shared.survey import Survey
from shared.survey_places import Step, format_place, format_value, make_place_details, quote

_PATTERNS = {
    Survey.model_json_schema()["$defs"]["Face"]["properties"]["id"]["pattern"]: (
        "may not be empty nor hold spaces, slashes, quote marks, <, > or &"
    ),
    "^[0-9a-f]{64}$": "must be 64 hexadecimal digits in small letters, or null",
}
_WANTED = {
    "string_type": "must be text in double quotes",
    "string_unicode": "must be text, and half of a character is none",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "bool_type": "must be true or false",
    "tuple_type": "must be a list in square brackets",
    "dict_type": "must be a group of keys in curly brackets",
    "model_type": "must be a group of keys in curly brackets",
    "model_attributes_type": "must be a group of keys in curly brackets",
    "finite_number": "must be a number",
}
_ITEMS = {
    "photos": "photos",
    "faces": "faces",
    "measures": "measures",
    "together": "groups",
    "apart": "groups",
    "completions": "completions",
    "details": "details",
    "paint_out": "parts",
    "bays": "names",
    "of": "names",
    "axis_of": "names",
    "sides": "sides",
    "transoms_mm": "heights",
}
_LIMITS = {
    "greater_than": ("must be more than {gt}", "gt"),
    "greater_than_equal": ("must be {ge} or more", "ge"),
    "less_than": ("must be less than {lt}", "lt"),
    "less_than_equal": ("must be {le} or less", "le"),
}


def make_field_refusal(found: ValidationError, document: Any, name: str) -> FieldError:
    """Word the first finding of a validation.

    Parameters
    ----------
    found : ValidationError
        What pydantic found in the document.
    document : Any
        The plain data that was validated.
    name : str
        What to call the document.

    Returns
    -------
    FieldError
        One sentence; `details` holds the path, the ids on it, and how many
        findings there were.
    """
    findings = found.errors(include_url=False)
    first = _choose_finding(findings)
    path, allowed = _follow(first["loc"], is_key=first["type"] == "extra_forbidden")
    message = f"{name}: {_word_finding(first, document, path, allowed)}."
    details = make_place_details(document, path)
    details["findings"] = len(findings)
    return FieldError(message.replace("?.", "?"), details=details)


def _choose_finding(findings: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    """Take the first finding, or one within the same value that looked deeper.

    Where one of several types may stand, pydantic tells first what the others found.
    """
    start = findings[0]["loc"]
    if not (start and "[" in str(start[-1])):
        return findings[0]
    within = [one for one in findings if one["loc"][: len(start) - 1] == start[:-1]]
    return max(within, key=lambda one: len(one["loc"]))


def suggest(word: object, known: Sequence[str]) -> str:
    """Propose the nearest known word, or list them all.

    Examples
    --------
    >>> suggest("lenght_mm", ["at", "length_mm"])
    "did you mean 'length_mm'?"
    >>> suggest("colour", ["at", "length_mm"])
    'it can be at or length_mm'
    """
    near = difflib.get_close_matches(word, known, n=1) if isinstance(word, str) else []
    if near:
        return f"did you mean {quote(near[0])}?"
    *others, last = known
    return f"it can be {', '.join(others)} or {last}" if others else f"it can only be {last}"


def _word_finding(
    finding: Mapping[str, Any], document: Any, path: list[Step], allowed: Mapping[str, Any]
) -> str:
    kind, value = finding["type"], finding["input"]
    context: Mapping[str, Any] = finding.get("ctx", {})
    place = format_place(document, path)
    if kind == "value_error":
        said = str(context.get("error", finding["msg"]))
        if said.startswith("a pick is"):
            return f"{place} must be {said.removeprefix('a pick is ')}, not {format_value(value)}"
        return said if not path else f"{place}: {said}"
    if kind == "extra_forbidden":
        return f"{place} is not known: {suggest(path[-1], sorted(allowed))}"
    if kind == "missing":
        return f"{place} is missing"
    if kind == "union_tag_not_found":
        kinds = suggest("", sorted(allowed))
        return f"{format_place(document, [*path, 'kind'])} is missing: {kinds}"
    if kind == "union_tag_invalid":
        tag = quote(str(context["tag"]))
        return (
            f"{format_place(document, [*path, 'kind'])} is {tag}, which is not known here: "
            f"{suggest(context['tag'], sorted(allowed))}"
        )
    if kind == "literal_error":
        known = str(context["expected"]).replace("'", "").replace(" or ", ", ").split(", ")
        return f"{place} is {format_value(value)}, which is not known: {suggest(value, known)}"
    return f"{place} {_word_value(kind, context, path, value, allowed)}"


def _word_value(
    kind: str, context: Mapping[str, Any], path: list[Step], value: Any, allowed: Mapping[str, Any]
) -> str:
    if kind in ("too_short", "too_long"):
        return _word_number_of_items(context, path, allowed)
    if kind == "string_too_long":
        return f"may have {context['max_length']} characters at most, not {len(value)}"
    if kind == "string_too_short":
        return "may not be empty"
    if kind == "string_pattern_mismatch" and context["pattern"] in _PATTERNS:
        return f"{_PATTERNS[context['pattern']]}, not {format_value(value)}"
    if kind in _LIMITS:
        words, limit = _LIMITS[kind]
        return f"{words.format_map({limit: _plain(context[limit])})}, not {format_value(value)}"
    wanted = _WANTED.get(kind)
    if wanted is None:
        return f"cannot be {format_value(value)}"
    if isinstance(value, str) and kind in ("float_type", "int_type", "bool_type"):
        wanted += " without quote marks"
    return f"{wanted}, not {format_value(value)}"


def _word_number_of_items(
    context: Mapping[str, Any], path: list[Step], allowed: Mapping[str, Any]
) -> str:
    least, most = allowed.get("minItems", 0), allowed.get("maxItems")
    found = context["actual_length"]
    of_picks = str(allowed.get("items", {}).get("$ref", "")).endswith("/Pick")
    items = "picks" if of_picks else _ITEMS.get(str(path[-1]), "entries")
    if least == most:
        wanted = f"exactly {least}"
    elif context.get("min_length") is not None:
        wanted = f"at least {least}"
    else:
        wanted = f"at most {most}"
    return f"needs {wanted} {items}, not {found}"


def _plain(number: Any) -> str:
    return f"{number:.0f}" if float(number).is_integer() else str(number)


def _follow(loc: Sequence[Step], *, is_key: bool) -> tuple[list[Step], Mapping[str, Any]]:
    """Walk pydantic's location down the schema; with `is_key` its last step is an unknown key.

    Returns the path in the document (pydantic's location also names the kind
    chosen in each union) and what the last place allows: its keys, its kinds,
    or the bounds of its list.
    """
    node = _resolve(_schema())
    path: list[Step] = []
    holder = node
    for number, step in enumerate(loc):
        mapping = node.get("discriminator", {}).get("mapping", {})
        if step in mapping:
            node = holder = _resolve({"$ref": mapping[step]})
            continue
        within = _enter(node, step)
        if not within and isinstance(step, str) and not (is_key and number == len(loc) - 1):
            continue  # pydantic's own name for one of several types, or for a key as such
        path.append(step)
        holder, node = node, within
    mapping = node.get("discriminator", {}).get("mapping")
    if mapping:
        return path, mapping
    if node:
        return path, node
    return path, holder.get("properties", {})


def _enter(node: Mapping[str, Any], step: Step) -> Mapping[str, Any]:
    if isinstance(step, int):
        return _resolve(node.get("items", {}))
    by_name = [*node.get("patternProperties", {}).values(), node.get("additionalProperties", {})]
    inner = node.get("properties", {}).get(step, by_name[0])
    return _resolve(inner) if isinstance(inner, Mapping) else {}


def _resolve(node: Mapping[str, Any]) -> Mapping[str, Any]:
    """Follow references, and of 'this or null' take this."""
    while True:
        if "$ref" in node:
            node = _schema()["$defs"][node["$ref"].rsplit("/", 1)[1]]
        elif "anyOf" in node:
            node = next(one for one in node["anyOf"] if one.get("type") != "null")
        else:
            return node


@cache
def _schema() -> Mapping[str, Any]:
    return Survey.model_json_schema()
