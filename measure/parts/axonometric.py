"""A picture of the assembled shell, drawn from above and to one side, as SVG.

Lines that run parallel in the model run parallel in the picture; nothing is foreshortened
with distance, so thicknesses can be compared. Edges that do not meet carry a number, and the
list below says by how much.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import numpy as np
from numpy.typing import NDArray

from measure.elevation.lettering import clean, width_mm
from measure.elevation.title_block import CAUTION
from measure.parts.assembled import Facet, Seam, facets_of, said_of, seams_of
from measure.parts.card_plan import CardPlan
from shared.model_scales import format_scale

Array = NDArray[np.float64]

WIDTH_MM, EDGE_MM = 190.0, 8.0
AZIMUTH_RAD, ELEVATION_RAD = math.radians(24.0), math.radians(28.0)
FONT = "DejaVu Sans, Verdana, sans-serif"
INK = "#1a1a1a"
_LIGHT = np.array([0.35, 0.75, 0.56])


def svg_of_assembled(
    plan: CardPlan, azimuth_rad: float = AZIMUTH_RAD, elevation_rad: float = ELEVATION_RAD
) -> bytes:
    """Draw the shell.

    Parameters
    ----------
    plan : CardPlan
    azimuth_rad : float
        How far the viewer stands to the right of the main wall's front.
    elevation_rad : float
        How far above it.

    Returns
    -------
    bytes
        SVG; the same plan gives the same bytes.
    """
    view = _view(azimuth_rad, elevation_rad)
    facets = facets_of(plan)
    drawn = _ordered(facets, view)
    points = np.concatenate([ring @ view[:2].T for facet in drawn for ring in facet.rings])
    low, high = points.min(axis=0), points.max(axis=0)
    scale = (WIDTH_MM - 2 * EDGE_MM) / max(float(high[0] - low[0]), 1e-6)
    scale = min(scale, 200.0 / max(float(high[1] - low[1]), 1e-6))
    shown = (high - low) * scale
    seams = seams_of(plan)
    open_seams = [seam for seam in seams if not seam.closes]
    words = _words(plan, open_seams, all_close=bool(seams) and not open_seams)
    height = float(shown[1]) + 2 * EDGE_MM + 5.0 * len(words)

    def place(xyz: Array) -> tuple[float, float]:
        x, y = (view[:2] @ xyz - low) * scale
        return EDGE_MM + float(x), EDGE_MM + float(shown[1] - y)

    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "version": "1.1",
            "width": f"{WIDTH_MM:g}mm",
            "height": f"{height:.2f}mm",
            "viewBox": f"0 0 {WIDTH_MM:g} {height:.2f}",
        },
    )
    title = f"{clean(plan.shell.title)}: the assembled shell"
    ET.SubElement(root, "title").text = title
    ET.SubElement(root, "desc").text = CAUTION
    ET.SubElement(
        root, "rect", {"width": f"{WIDTH_MM:g}", "height": f"{height:.2f}", "fill": "#ffffff"}
    )
    group = ET.SubElement(
        root, "g", {"stroke": INK, "stroke-width": "0.1", "stroke-linejoin": "round"}
    )
    smooth = {face.id for face in plan.shell.faces if face.id in plan.towers}
    for facet in drawn:
        data = " ".join(_ring_data([place(p) for p in ring]) for ring in facet.rings)
        tone = _tone(facet)
        path = ET.SubElement(group, "path", {"d": data, "fill": tone, "fill-rule": "evenodd"})
        if facet.face in smooth:
            path.set("stroke", tone)
    for number, seam in enumerate(open_seams, start=1):
        _flag(root, place(np.array(seam.at_mm)), number)
    y = EDGE_MM * 1.5 + float(shown[1]) + 4.0
    for line in words:
        _text(root, EDGE_MM, y, line, 2.6)
        y += 5.0
    ET.indent(root, " ")
    text = ET.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _view(azimuth: float, elevation: float) -> Array:
    """Rows: right, up, towards the viewer."""
    towards = np.array(
        [
            math.sin(azimuth) * math.cos(elevation),
            math.sin(elevation),
            math.cos(azimuth) * math.cos(elevation),
        ]
    )
    right = np.array([math.cos(azimuth), 0.0, -math.sin(azimuth)])
    return np.array([right, np.cross(towards, right), towards])


def _normal(ring: Array) -> Array:
    """Normal of a flat ring by its area, after Newell."""
    after = np.roll(ring, -1, axis=0)
    normal = np.sum(np.cross(ring, after), axis=0)
    size = float(np.linalg.norm(normal))
    return np.asarray(normal / size if size > 0 else normal)


def _ordered(facets: list[Facet], view: Array) -> list[Facet]:
    """Facets that face the viewer, the further faces first, their layers from inside out."""
    towards = view[2]
    seen = [f for f in facets if float(_normal(f.rings[0]) @ towards) > 1e-6]
    depth = {
        face: float(np.mean([np.mean(f.rings[0] @ towards) for f in facets if f.face == face]))
        for face in {f.face for f in facets}
    }
    return sorted(
        seen,
        key=lambda f: (depth[f.face], f.rank, round(float(np.mean(f.rings[0] @ towards)), 6)),
    )


def _tone(facet: Facet) -> str:
    """Grey by how the facet lies to the light; inner layers darker."""
    lit = max(0.0, float(_normal(facet.rings[0]) @ _LIGHT))
    grey = round(
        255 * min(0.98, 0.55 + 0.4 * lit) * (0.72, 0.82, 0.91, 1.0)[min(facet.rank, 2) + 1]
    )
    return f"#{grey:02x}{grey:02x}{grey:02x}"


def _ring_data(points: list[tuple[float, float]]) -> str:
    body = " L".join(f"{x:.3f},{y:.3f}" for x, y in points)
    return f"M{body} Z"


def _flag(root: ET.Element, at: tuple[float, float], number: int) -> None:
    x, y = at
    ET.SubElement(
        root,
        "circle",
        {
            "cx": f"{x:.2f}", "cy": f"{y:.2f}", "r": "2.4",
            "fill": "#ffffff", "stroke": INK, "stroke-width": "0.5",
        },
    )  # fmt: skip
    _text(root, x - width_mm(str(number), 2.2) / 2.0, y + 1.1, str(number), 2.2)


def _text(root: ET.Element, x: float, y: float, words: str, size: float) -> None:
    ET.SubElement(
        root,
        "text",
        {
            "x": f"{x:.2f}", "y": f"{y:.2f}", "font-family": FONT,
            "font-size": f"{size * 1.37:.2f}", "fill": INK,
        },
    ).text = clean(words)  # fmt: skip


def _words(plan: CardPlan, open_seams: list[Seam], *, all_close: bool) -> list[str]:
    shell = plan.shell
    lines = [
        f"{shell.title or 'Untitled building'} at {format_scale(shell.denominator)}, wall "
        f"{shell.workshop.thickness_mm:.2f} mm thick"
    ]
    if all_close:
        lines.append("Every seam closes within 0.05 mm.")
    lines += [f"{n}  {said_of(seam)}" for n, seam in enumerate(open_seams, start=1)]
    return lines
