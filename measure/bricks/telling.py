"""The brick formats weighed, as plain JSON data: for other programs and for the page."""

from __future__ import annotations

from typing import Any

from measure.bricks.hypotheses import BrickChoice, Hypothesis


def tell_choice(choice: BrickChoice) -> dict[str, Any]:
    """A choice of bricks as plain data.

    Parameters
    ----------
    choice : BrickChoice

    Returns
    -------
    dict
        ``sentence``; ``evidence`` with ``gauge_mm`` (null without another known size) and
        ``ratio`` of stretcher with joint to course (null where none were counted), each with its
        ``u_``; ``formats``, the likeliest first, each with where its gauge is from, its verdict,
        and the openings as the courses alone would make them.
    """
    evidence = choice.evidence
    gauge_mm, u_gauge_mm = evidence.gauge_mm if evidence.scaled else (None, None)
    ratio, u_ratio = evidence.ratio or (None, None)
    return {
        "sentence": choice.sentence,
        "evidence": {
            "courses": evidence.courses,
            "stretchers": evidence.stretchers,
            "gauge_mm": gauge_mm,
            "u_gauge_mm": u_gauge_mm,
            "ratio": ratio,
            "u_ratio": u_ratio,
        },
        "formats": [_format(one) for one in choice.hypotheses],
    }


def _format(one: Hypothesis) -> dict[str, Any]:
    size = one.size
    return {
        "key": size.key,
        "name": size.name,
        "region": size.region,
        "gauge_mm": size.gauge_mm,
        "u_gauge_mm": size.u_gauge_mm,
        "source": size.source,
        "provenance": size.gauge_provenance or size.provenance,
        "module_mm": one.module_mm,
        "verdict": one.verdict,
        "chi_square": one.chi_square,
        "tests": one.tests,
        "chance": one.chance,
        "w": one.w,
        "share": one.share,
        "openings": {
            opening.id: {
                "label": opening.label,
                "width_mm": opening.width_mm,
                "u_width_mm": opening.u_width_mm,
                "height_mm": opening.height_mm,
                "u_height_mm": opening.u_height_mm,
            }
            for opening in one.openings
        },
    }
