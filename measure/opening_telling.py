"""Proposed openings as plain JSON data: for other programs and for the page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from measure.opening_finder import Proposal


def tell_proposals(found: Sequence[Proposal], *, scaled: bool) -> dict[str, Any]:
    """Proposals as plain data.

    Parameters
    ----------
    found : sequence of Proposal
    scaled : bool
        Whether millimetres are true.

    Returns
    -------
    dict
        ``proposals``, the clearest first, each with its ``opening`` as the survey writes it;
        ``rows`` and ``columns``, each a name and the ids in it.
    """
    ordered = sorted(found, key=lambda one: one.order)
    return {
        "scaled": scaled,
        "proposals": [
            {
                "opening": one.opening.model_dump(mode="json"),
                "clearness": one.score,
                "row": one.row,
                "column": one.column,
                "box_mm": list(one.box_mm),
            }
            for one in found
        ],
        "rows": _groups([(one.row, one.opening.id) for one in ordered]),
        "columns": _groups([(one.column, one.opening.id) for one in ordered]),
    }


def _groups(pairs: Sequence[tuple[str, str]]) -> list[dict[str, Any]]:
    names = dict.fromkeys(name for name, _ in pairs)
    return [{"name": name, "ids": [id_ for other, id_ in pairs if other == name]} for name in names]
