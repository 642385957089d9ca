"""Sound input made unsound: bytes of files, and values in JSON, by chance."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

#: Numbers that programs get wrong, as four bytes.
EDGES = (0, 1, 0x7F, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0x00010000)

#: Values that stand where others are expected.
ODD_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 0.5, -0.0, 1e-300, 1e300, -1e300, 1e18, 2**63, 2**64, 3.9999999,
    float("nan"), float("inf"), float("-inf"), "", " ", "0", "1:148", "x" * 500, "\u0000", "\ud800",
    "../../etc/passwd", "/dev/zero", "con", "a/b", "\\\\server\\x", "ɐ\u202e", [], {}, [[]], [{}],
    [0, 0], [1, 2, 3], [None, None], {"kind": "length"}, {"": None},
)  # fmt: skip


def mutated_bytes(content: bytes, rng: np.random.Generator) -> bytes:
    """Copy of `content` with one to six of: flips, numbers, gaps, repeats, cuts, zeros."""
    data = bytearray(content)
    for _ in range(int(rng.integers(1, 7))):
        if not data:
            break
        # a good part of a file's sense lies in its first bytes
        span = len(data) if rng.random() < 0.5 else min(len(data), 400)
        at = int(rng.integers(span))
        what = int(rng.integers(7))
        length = int(rng.integers(1, 33))
        if what == 0:
            data[at] ^= 1 << int(rng.integers(8))
        elif what == 1:
            data[at] = int(rng.integers(256))
        elif what == 2:
            value = EDGES[int(rng.integers(len(EDGES)))]
            data[at : at + 4] = value.to_bytes(4, "big" if rng.random() < 0.5 else "little")
        elif what == 3:
            del data[at : at + length]
        elif what == 4:
            data[at:at] = data[at : at + length] * int(rng.integers(1, 5))
        elif what == 5:
            del data[at:]
        else:
            data[at : at + length] = bytes(length)
    return bytes(data)


def places_of(node: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Paths of every value in plain data."""
    yield path
    if isinstance(node, dict):
        for key, value in node.items():
            yield from places_of(value, (*path, key))
    elif isinstance(node, list):
        for number, value in enumerate(node):
            yield from places_of(value, (*path, number))


def mutated_json(document: Any, rng: np.random.Generator) -> Any:
    """Copy of plain data with one to three values replaced, nudged, left out, doubled, swapped."""
    made = copy.deepcopy(document)
    for _ in range(int(rng.integers(1, 4))):
        places = [path for path in places_of(made) if path]
        if not places:
            break
        path = places[int(rng.integers(len(places)))]
        holder = made
        for step in path[:-1]:
            holder = holder[step]
        _CHANGES[int(rng.integers(len(_CHANGES)))](holder, path[-1], rng)
    return made


def _replace(holder: Any, key: Any, rng: np.random.Generator) -> None:
    holder[key] = copy.deepcopy(ODD_VALUES[int(rng.integers(len(ODD_VALUES)))])


def _nudge(holder: Any, key: Any, rng: np.random.Generator) -> None:
    """Change a number by a little or by a lot; it often stays allowed."""
    value = holder[key]
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        factor = float(rng.choice([0.0, -1.0, 0.5, 0.99, 1.01, 2.0, 1e3, 1e-3]))
        holder[key] = value * factor + float(rng.choice([0.0, 0.0, 1.0, -1.0]))
    elif isinstance(value, str):
        holder[key] = value[: len(value) // 2] or "x"
    else:
        _shuffle(holder, key, rng)


def _leave_out(holder: Any, key: Any, rng: np.random.Generator) -> None:
    del holder[key]


def _double(holder: Any, key: Any, rng: np.random.Generator) -> None:
    if isinstance(holder, list):
        holder.insert(int(key), copy.deepcopy(holder[key]))
    else:
        holder[f"{key}2" if rng.random() < 0.5 else "x"] = copy.deepcopy(holder[key])


def _shuffle(holder: Any, key: Any, rng: np.random.Generator) -> None:
    value = holder[key]
    if isinstance(value, list):
        holder[key] = [value[i] for i in rng.permutation(len(value))]
    elif isinstance(value, dict) and value:
        names = list(value)
        holder[key] = dict(zip(names, [value[n] for n in reversed(names)], strict=True))


def _swap(holder: Any, key: Any, rng: np.random.Generator) -> None:
    keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
    other = keys[int(rng.integers(len(keys)))]
    holder[key], holder[other] = holder[other], holder[key]


_CHANGES: tuple[Callable[[Any, Any, np.random.Generator], None], ...] = (
    _replace, _nudge, _nudge, _nudge, _leave_out, _double, _shuffle, _swap,
)  # fmt: skip


def json_bytes(document: Any) -> bytes:
    """JSON as loose as programs write it: NaN and Infinity are left in, halves of pairs too."""
    return json.dumps(document).encode("utf-8", "surrogatepass")
