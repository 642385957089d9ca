"""In which order a model goes together, in plain sentences, with cautions for blade and glue."""

from __future__ import annotations

import math
from collections.abc import Sequence

from measure.elevation.title_block import CAUTION
from measure.parts.card_plan import CardPlan
from measure.parts.corners import CornerEnd, FreeEnd, TowerEnd
from measure.parts.cut_list import mark_order
from measure.parts.face_shape import FaceShape, RoundPlan
from measure.parts.folded import folded_groups
from measure.parts.joints import BACKED
from measure.parts.key_sheet import parts_of_face
from measure.parts.part import Part
from measure.parts.tabs import tabs_of
from shared.model_scales import format_scale

CAUTIONS = (
    "Cut with a fresh blade along a steel rule that has a finger guard, on a mat larger than the "
    "cut; a blunt blade needs force, and force slips.",
    "Make several light passes instead of one deep one, keep the other hand behind the blade, "
    "cap the knife whenever it is laid down and put used blades in a closed tin.",
    "White wood glue is enough for card: a thin film, and time under a weight.",
    "Fast glue (cyanoacrylate) bonds skin at once and its vapour stings eyes and airways: open a "
    "window, keep it away from cotton and wool, which it heats, soak stuck fingers in warm soapy "
    "water and never pull; if it gets into an eye, rinse with water and get medical help.",
    "Solvent glue, spray and fine sanding dust want fresh air too; children cut and glue with an "
    "adult beside them.",
)


def build_steps(plan: CardPlan, parts: Sequence[Part] = ()) -> list[str]:
    """Steps from the print to the standing shell.

    Parameters
    ----------
    plan : CardPlan
    parts : sequence of Part
        As they were laid on sheets, large ones in pieces.
    """
    shell = plan.shell
    steps = [
        "Print every sheet at actual size (100 %), measure the two bars on it, and print again "
        "with what they showed if they are not 100 and 150 mm.",
        "Lay the sheets so that the arrow marked grain follows the fibres of the card: a strip of "
        "it bends more easily across them than along them.",
        "On each part cut small holes first, then large ones, the outline last; score before the "
        "outline is cut. Where a line is to be scored on the back, its ends bear rings: prick both "
        "through and score from hole to hole.",
        "Colour all cut edges that will show (felt pen or thin paint, tried on a scrap first).",
    ]
    steps += _piece_steps(parts)
    for group in _groups(plan):
        steps += _wall_steps(plan, group)
    for face in shell.faces:
        if isinstance(face.plan, RoundPlan):
            steps += _tower_steps(plan, face)
    steps += _joining_steps(plan)
    steps += _roof_steps(plan)
    steps.append(_not_made(plan))
    return steps


def _piece_steps(parts: Sequence[Part]) -> list[str]:
    """Joining what was too large for a sheet, before anything else is done with it."""
    pieces: dict[str, list[Part]] = {}
    for part in parts:
        mark, cut, _ = part.mark.partition("/")
        if cut:
            pieces.setdefault(mark, []).append(part)
    steps = []
    for mark, made in pieces.items():
        strips = [p.mark for p in parts if p.mark.partition("/")[0].startswith(f"{mark}j")]
        name = made[0].name.rpartition(", piece")[0]
        order = f"{mark} ({name}) comes in pieces, {made[0].mark} to {made[-1].mark} from the left"
        if strips:
            steps.append(
                f"{order}: lay them face down against a straight edge, butt them, and glue "
                f"{_listed(strips)} across the joints on the back."
            )
        elif made[0].role in BACKED:
            steps.append(f"{order}: nothing joins them but what they stand against.")
        else:
            steps.append(f"{order}: glue them edge to edge onto what they cover.")
    return steps


def _groups(plan: CardPlan) -> list[list[FaceShape]]:
    """Walls that are built together because a layer goes round their corner."""
    folding = [layer for layer in plan.shell.workshop.layers if layer.role != "carcass"]
    role = folding[0].role if folding else "carcass"
    return folded_groups(plan.shell, role)


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _of(parts: Sequence[Part], *roles: str) -> str:
    """Marks of the parts of some roles, runs of three and more in short."""
    marks = sorted({p.mark for p in parts if p.role in roles}, key=mark_order)
    runs: list[list[str]] = []
    for mark in marks:
        letters, number, _ = mark_order(mark)
        if runs and mark_order(runs[-1][-1])[:2] == (letters, number - 1):
            runs[-1].append(mark)
        else:
            runs.append([mark])
    said: list[str] = []
    for run in runs:
        said += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else run
    return _listed(said) if said else ""


def _wall_steps(plan: CardPlan, group: Sequence[FaceShape]) -> list[str]:
    parts = list({p.mark: p for face in group for p in parts_of_face(plan, face)}.values())
    label = _listed([face.label for face in group])
    together = len(group) > 1
    carcass, overlay, skin = _of(parts, "carcass"), _of(parts, "overlay"), _of(parts, "skin")
    bevels = [f"{p.mark}: {p.note}" for p in parts if p.role == "carcass" and p.note]
    cut = f"carcasses {carcass} with their" if together else f"carcass {carcass} with its"
    steps = [f"{label}: cut the {cut} openings."]
    if bevels:
        steps.append(
            f"Bevel their ends with a few strokes of fine abrasive paper ({_listed(bevels)})."
        )
    if overlay and together and _any_stands_in(plan, group):
        steps.append(
            f"Score {overlay} at its folds and fold it to the angles of its corners; glue "
            f"{carcass} on its back one after the other, openings in line: where a corner stands "
            "in, two carcasses laid on it flat would run into each other."
        )
    elif overlay and together:
        steps.append(
            f"Score {overlay} at its fold and lay it face down; glue {carcass} on its back, "
            "openings in line, and dry it flat under a weight before it is folded."
        )
    elif overlay:
        steps.append(
            f"Glue the overlay {overlay} to its face, openings in line, and dry it flat under a "
            "weight."
        )
    reveal = _of(parts, "reveal")
    if reveal:
        steps.append(
            f"Line the openings with the strips {reveal}: feet first, then jambs and head in one, "
            "front edges level with the overlay."
        )
    if together:
        steps += _corner_steps(plan, group)
    if skin:
        steps.append(
            f"Glue the skin {skin} over all, cut its openings from the face along their trim "
            "lines, and trim the bleed at the edges."
        )
    glazed = _of(parts, "film", "board")
    if glazed:
        steps.append(f"Set film and boards {glazed} against the strips from behind.")
    trimmings = _of(parts, "sill", "band")
    if trimmings:
        steps.append(
            f"Build sills and bands {trimmings} up layer by layer, from the wall outwards."
        )
    return steps


def _corner_steps(plan: CardPlan, group: Sequence[FaceShape]) -> list[str]:
    """Closing the corners within a group, at their angles."""
    steps = []
    for face in group:
        end = plan.shell.ends[face.id].right
        if isinstance(end, CornerEnd):
            other = plan.shell.face(end.other)
            where = "stands out" if end.stands_out else "stands in"
            steps.append(
                f"Glue {face.label} and {other.label} together at "
                f"{180.0 - abs(math.degrees(end.turn_rad)):.1f}° between them; the corner {where}. "
                "Cut a card template of that angle to hold them by."
            )
            steps += _tab_steps(plan, face, other)
    return steps


def _any_stands_in(plan: CardPlan, group: Sequence[FaceShape]) -> bool:
    """Whether a corner within a group stands in."""
    ends = [plan.shell.ends[face.id].right for face in group[:-1]]
    return any(isinstance(end, CornerEnd) and not end.stands_out for end in ends)


def _tab_steps(plan: CardPlan, left: FaceShape, right: FaceShape) -> list[str]:
    """Gluing the tab at the corner of two walls."""
    steps = []
    for face, other, side in ((left, right, "right"), (right, left, "left")):
        carcass = _of([part for part in plan.parts if part.face == face.id], "carcass")
        steps += [
            f"There, score and fold the tab of {carcass} and glue it flat onto the back of "
            f"{other.label}."
            for tab in tabs_of(plan.shell, face)
            if tab.side == side and tab.width_mm > 0
        ]
    return steps


def _tower_steps(plan: CardPlan, face: FaceShape) -> list[str]:
    parts = parts_of_face(plan, face)
    tower = plan.towers[face.id]
    wrap = _of(parts, "wrap")
    steps = [
        f"{face.label}: score {wrap} on its face along every line, lightly and all alike, and try "
        "the blade on a scrap of the same card first."
        if tower.scores.count
        else f"{face.label}: do not score {wrap}; roll it over a dowel, its axis along the grain, "
        "until it stays round."
    ]
    springing = [c for c in tower.cautions if "springs outwards" in c]
    if springing:
        steps.append("Leave the large openings uncut for now. " + " ".join(springing))
    formers = _of(parts, "former")
    in_line = (
        f"Cut the formers {formers}, thread them on a rod with their keyholes in line, and"
        if any("keyhole" in part.note for part in parts)
        else f"Cut the formers {formers}, their marks to the front,"
    )
    steps.append(
        f"{in_line} glue them into the rolled wrap with their undersides at "
        f"{', '.join(f'{x:.1f}' for x in tower.former_levels_mm)} mm above its foot."
    )
    if tower.is_full:
        steps.append(
            f"Close the seam at the back over the backing strips {_of(parts, 'backing')}, without "
            "an overlap."
        )
    outer = _of(parts, "overlay", "course")
    if outer:
        steps.append(
            f"Only now glue {outer} round it: thin card alone squashes under a second layer."
        )
    rest = _of(parts, "skin")
    if rest:
        steps.append(f"Wrap the skin {rest} round last; it is the longest, so trim nothing yet.")
    if _of(parts, "reveal"):
        steps.append(f"Line the openings with {_of(parts, 'reveal')} and glaze them from inside.")
    trimmings = _of(parts, "sill", "band")
    if trimmings:
        steps.append(f"Lay sills and bands {trimmings} round it, from the wall outwards.")
    return steps


def _joining_steps(plan: CardPlan) -> list[str]:
    shell = plan.shell
    steps = []
    for group in _groups(plan):
        if len(group) == 1:
            steps += _corner_steps(plan, group)
    for face in shell.walls:
        for end in (shell.ends[face.id].left, shell.ends[face.id].right):
            if isinstance(end, TowerEnd):
                steps.append(
                    f"Stand {shell.face(end.other).label} against the end of {face.label}, the "
                    "marks of its formers to the front."
                )
        for gap in shell.ends[face.id].gaps:
            steps.append(
                f"Stand {shell.face(gap.tower.other).label} in its gap in {face.label}, the "
                "marks of its formers to the front, and glue both edges of the gap to it."
            )
    return steps


def _roof_steps(plan: CardPlan) -> list[str]:
    """Laying roof slopes on; they are cut a little full and trimmed."""
    steps = []
    for part in plan.parts:
        if part.role == "roof":
            skin = _of([p for p in plan.parts if p.face == part.face], "skin")
            cover = f", glue its skin {skin} on" if skin else ""
            steps.append(
                f"{part.name}: cut {part.mark}{cover} and lay it on along the eaves; it "
                f"{part.note}. Bevel and trim ridge and verges until they meet what they lie "
                "against."
            )
    return steps


def _not_made(plan: CardPlan) -> str:
    """Say what no sheet holds, so that nobody looks for it."""
    cut = {face.id for face in plan.shell.faces}
    ends = plan.shell.ends
    open_ends = [
        f"{face.label} ({side})"
        for face in plan.shell.walls
        for side, end in (("left", ends[face.id].left), ("right", ends[face.id].right))
        if isinstance(end, FreeEnd)
    ]
    roofs = "the other roofs" if any(p.role == "roof" for p in plan.parts) else "roofs"
    said = (
        "Make to fit what the photo does not show and these sheets do not hold: backs and sides, "
        f"floors, {roofs}, chimneys, gutters and downpipes."
    )
    if open_ends:
        said += f" Walls go on from the free ends of {_listed(open_ends)}."
    if len(cut) > 1 or open_ends:
        said += " Brace the shell with a floor of thick card, cut round inside it, before the roof."
    return said


def build_order_text(plan: CardPlan, parts: Sequence[Part] = ()) -> str:
    """Whole text of the build order, as a file; `parts` as for `build_steps`."""
    shell = plan.shell
    lines = [
        f"{shell.title or 'Untitled building'}: building the card model at "
        f"{format_scale(shell.denominator)}",
        "",
        "Before you begin",
        "",
        *(f"- {text}" for text in CAUTIONS),
        f"- {CAUTION}",
        "",
        "Step by step",
        "",
        *(f"{n}. {step}" for n, step in enumerate(build_steps(plan, parts), start=1)),
    ]
    if plan.cautions:
        lines += ["", "What this model asks you to mind", "", *(f"- {c}" for c in plan.cautions)]
    return "\n".join(lines) + "\n"
