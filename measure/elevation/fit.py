"""An elevation fitted to the plot that the layout has for it, and what each way costs.

Making everything smaller keeps the proportions and falsifies door and bricks, which the eye
knows. Taking out bays or storeys, or narrowing the wall between openings, keeps door and
bricks true and makes another building. Each choice says which.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from measure.elevation.facade import DrawnOpening, Facade
from measure.elevation.wall_strips import Strip, Strips, strips_along, strips_up
from shared.errors import FieldError
from shared.number_text import format_number
from shared.survey_drawing import PlotFit

ChoiceKind = Literal["reduce", "fewer-bays", "narrow-piers", "lower-storeys", "fewer-storeys"]

#: Solid wall narrower than this on the model breaks in the cutting (common practice, no source).
LEAST_PIER_MODEL_MM = 1.0

#: What fits within this fits.
FITS_MM = 1e-6

#: A sill this near the foot of the wall, or below it, is a threshold.
THRESHOLD_MM = 60.0

_COMPANION: dict[str, tuple[ChoiceKind, ...]] = {
    "fewer-bays": ("fewer-storeys", "lower-storeys"),
    "narrow-piers": ("lower-storeys", "fewer-storeys"),
    "lower-storeys": ("narrow-piers", "fewer-bays"),
    "fewer-storeys": ("fewer-bays", "narrow-piers"),
}
_ACROSS = ("fewer-bays", "narrow-piers")
_KINDS: tuple[ChoiceKind, ...] = (
    "reduce",
    "fewer-bays",
    "narrow-piers",
    "lower-storeys",
    "fewer-storeys",
)


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to fit the plot.

    Attributes
    ----------
    kind : str
    facade : Facade
        What would be built.
    denominator : float
        Of the scale it would be built to.
    width_model_mm, height_model_mm : float
    door_true : bool
        Whether doors and courses keep the size that the scale gives them.
    costs : tuple of str
        What it costs, and where it is no longer the real building.
    """

    kind: ChoiceKind
    facade: Facade
    denominator: float
    width_model_mm: float
    height_model_mm: float
    door_true: bool
    costs: tuple[str, ...]


def list_choices(
    facade: Facade,
    denominator: float,
    *,
    width_mm: float | None = None,
    height_mm: float | None = None,
    keep_true: bool = False,
) -> list[Choice]:
    """All ways to fit an elevation into a plot.

    Parameters
    ----------
    facade : Facade
    denominator : float
        Of the model's scale.
    width_mm, height_mm : float, optional
        What the layout allows, in millimetres of the model; at least one of them.
    keep_true : bool
        Leave out what changes the size of doors and courses.

    Returns
    -------
    list of Choice
        None if it fits as it is.

    Raises
    ------
    FieldError
        If the plot is smaller than a door.
    """
    found: list[Choice] = []
    for kind in _KINDS:
        plot = PlotFit(width_mm=width_mm, height_mm=height_mm, choice=kind, keep_true=keep_true)
        try:
            choice = fit_facade(facade, denominator, plot)
        except _CannotFit:
            continue
        if choice is not None and not any(_same(choice, other) for other in found):
            found.append(choice)
    return found


def _same(one: Choice, other: Choice) -> bool:
    return one.facade == other.facade and one.denominator == other.denominator


class _CannotFit(FieldError):
    """A way that does not lead into the plot; another may."""


def fit_facade(facade: Facade, denominator: float, plot: PlotFit) -> Choice | None:
    """Fit an elevation into a plot in the way chosen.

    Returns
    -------
    Choice or None
        None if it fits as it is.

    Raises
    ------
    FieldError
        If the plot is smaller than a door, or this way cannot fit it.
    """
    check_plot(facade, denominator, plot)
    allowed = {
        "across": None if plot.width_mm is None else plot.width_mm * denominator,
        "up": None if plot.height_mm is None else plot.height_mm * denominator,
    }
    wall = facade.wall_box
    over = {
        "across": allowed["across"] is not None and wall.width_mm > allowed["across"] + FITS_MM,
        "up": allowed["up"] is not None and wall.height_mm > allowed["up"] + FITS_MM,
    }
    if not any(over.values()):
        return None
    if plot.choice == "reduce":
        return _reduced(facade, denominator, allowed, plot.keep_true)
    kinds: list[tuple[ChoiceKind, ...]] = []
    own = "across" if plot.choice in _ACROSS else "up"
    other = "up" if own == "across" else "across"
    if over[own]:
        kinds.append((plot.choice,))
    if over[other]:
        kinds.append(_COMPANION[plot.choice])
    if not over[own]:
        words = "wide" if own == "across" else "high"
        raise _CannotFit(
            f"The elevation is not too {words} for its plot, so '{plot.choice}' does not help.",
            hint="Choose another way.",
        )
    made, costs = facade, []
    for ways in kinds:
        made, cost = _first_that_fits(made, denominator, allowed, ways)
        costs += cost
    box = made.wall_box
    return Choice(
        plot.choice,
        made,
        denominator,
        box.width_mm / denominator,
        box.height_mm / denominator,
        True,
        tuple(costs),
    )


def check_plot(facade: Facade, denominator: float, plot: PlotFit) -> None:
    """Refuse a plot that not even a door goes into."""
    for door in doors_of(facade):
        for size, words, full_mm in (
            (plot.width_mm, "narrower", door.width_mm),
            (plot.height_mm, "lower", door.height_mm),
        ):
            model_mm = full_mm / denominator
            if size is not None and size < model_mm:
                raise FieldError(
                    f"A plot of {format_number(size, 1)} mm is {words} than opening '{door.id}', "
                    f"which is {format_number(model_mm, 1)} mm at 1:{denominator:g}.",
                    hint="Give a larger plot or a smaller scale.",
                )


def doors_of(facade: Facade) -> list[DrawnOpening]:
    """Openings that reach down to the foot of the wall; without any, those that reach lowest."""
    if not facade.openings:
        return []
    foot = facade.wall_box.bottom_mm
    found = [each for each in facade.openings if each.sill_mm <= foot + THRESHOLD_MM]
    if found:
        return found
    lowest = min(each.sill_mm for each in facade.openings)
    return [each for each in facade.openings if each.sill_mm <= lowest + THRESHOLD_MM]


def _reduced(
    facade: Facade, denominator: float, allowed: dict[str, float | None], keep_true: bool
) -> Choice:
    wall = facade.wall_box
    factor = min(
        size / real
        for size, real in ((allowed["across"], wall.width_mm), (allowed["up"], wall.height_mm))
        if size is not None and real > 0.0
    )
    if keep_true:
        raise _CannotFit(
            f"Reducing to {factor:.2f} would make doors and courses smaller, and they are to be "
            "kept true.",
            hint='Choose another way, or allow it: "keep_true": false.',
        )
    costs = [f"Everything at {factor:.2f} of its size: 1:{denominator / factor:.4g} instead of "
             f"1:{denominator:g}."]  # fmt: skip
    for door in doors_of(facade)[:1]:
        true, small = door.height_mm / denominator, door.height_mm * factor / denominator
        costs.append(
            f"Opening '{door.id}' becomes {small:.1f} mm high instead of {true:.1f} mm, as if it "
            f"were {format_number(door.height_mm * factor)} mm."
        )
    for courses in facade.courses[:1]:
        gauge = courses.gauge_mm / denominator
        costs.append(f"A course becomes {gauge * factor:.2f} mm instead of {gauge:.2f} mm.")
    costs.append("Beside models at the true scale it looks small: the door tells.")
    return Choice(
        "reduce",
        facade,
        denominator / factor,
        wall.width_mm * factor / denominator,
        wall.height_mm * factor / denominator,
        False,
        tuple(costs),
    )


def _first_that_fits(
    facade: Facade,
    denominator: float,
    allowed: dict[str, float | None],
    ways: Sequence[ChoiceKind],
) -> tuple[Facade, list[str]]:
    problem: _CannotFit | None = None
    for way in ways:
        size = allowed["across" if way in _ACROSS else "up"]
        assert size is not None
        try:
            if way in ("fewer-bays", "fewer-storeys"):
                return _fewer(facade, size, way)
            return _narrower(facade, denominator, size, way)
        except _CannotFit as error:
            problem = problem or error
    raise problem if problem is not None else _CannotFit("Nothing fits.")


def _strips_of(facade: Facade, way: ChoiceKind) -> Strips:
    wall = facade.wall_box
    if way in _ACROSS:
        return strips_along(facade.openings, wall.left_mm, wall.right_mm)
    return strips_up(facade.openings, wall.bottom_mm, wall.top_mm)


def _map(facade: Facade, way: ChoiceKind, moved: Callable[[float], float]) -> Facade:
    def same(at: float) -> float:
        return at

    if way in _ACROSS:
        return facade.mapped(moved, same)
    made = facade.mapped(same, moved)
    # courses keep their gauge: they are laid anew from the lowest
    relaid = tuple(
        replace(
            old,
            joints_mm=tuple(
                min(new.joints_mm) + number * old.gauge_mm for number in range(len(old.joints_mm))
            ),
        )
        for old, new in zip(facade.courses, made.courses, strict=True)
    )
    return replace(made, courses=relaid)


def _fewer(facade: Facade, size_mm: float, way: ChoiceKind) -> tuple[Facade, list[str]]:
    """Take strips out until the wall fits: repeated ones first, never one with a door."""
    word = "bays" if way == "fewer-bays" else "storeys"
    doors = {each.id for each in doors_of(facade)}
    strips = _strips_of(facade, way)
    first = strips.high_mm - strips.low_mm
    before = len(strips.strips)
    made, gone = facade, []
    while strips.high_mm - strips.low_mm > size_mm + FITS_MM:
        number = _most_spare(strips, doors)
        if number is None:
            raise _CannotFit(
                f"Leaving out {word} does not fit the plot: those without a door give "
                f"{format_number(first - (strips.high_mm - strips.low_mm))} mm, "
                f"{format_number(first - size_mm)} mm are needed.",
                hint="Choose another way or a larger plot.",
            )
        gone += [each.id for each in strips.strips[number].openings]
        kept = tuple(each for each in made.openings if each.id not in gone)
        made = _map(replace(made, openings=kept), way, strips.without(number))
        strips = _strips_of(made, way)
    left = len(strips.strips)
    last = strips.high_mm - strips.low_mm
    return made, [
        f"{before - left} of {before} {word} left out ({', '.join(gone)}): "
        f"{format_number(last)} mm of {format_number(first)} mm.",
        f"No longer the real building: it has {before} {word}, this has {left}. "
        "Doors, windows and courses are true.",
    ]


def _most_spare(strips: Strips, doors: set[str]) -> int | None:
    """The strip to take out: the one with most twins, then the one farthest from a door."""
    if len(strips.strips) < 2:
        return None
    looks = [_look(strip) for strip in strips.strips]
    with_door = [n for n, s in enumerate(strips.strips) if any(o.id in doors for o in s.openings)]
    spare = [n for n in range(len(strips.strips)) if n not in with_door]
    if not spare:
        return None

    def rank(number: int) -> tuple[int, int, int]:
        away = min((abs(number - door) for door in with_door), default=0)
        return looks.count(looks[number]), away, number

    return max(spare, key=rank)


def _look(strip: Strip) -> tuple[tuple[str, int, int], ...]:
    """Forms and sizes in a strip, to tell twins by; sizes to 5 cm."""
    return tuple(
        (each.form, round(each.width_mm / 50.0), round(each.height_mm / 50.0))
        for each in sorted(strip.openings, key=lambda each: (each.sill_mm, each.left_mm))
    )


def _narrower(
    facade: Facade, denominator: float, size_mm: float, way: ChoiceKind
) -> tuple[Facade, list[str]]:
    """Multiply all solid wall by one factor, if that leaves enough to cut."""
    strips = _strips_of(facade, way)
    total = strips.high_mm - strips.low_mm
    solid = strips.solid_mm
    factor = (size_mm - (total - solid)) / solid if solid > 0.0 else -1.0
    widths = [high - low for low, high in strips.solids_mm if high - low > 1.0]
    least = min(widths, default=0.0)
    across = way == "narrow-piers"
    if factor <= 0.0 or least * factor / denominator < LEAST_PIER_MODEL_MM:
        word = "piers" if across else "wall between rows"
        raise _CannotFit(
            f"Narrowing the {word} does not fit the plot: the narrowest would be "
            f"{max(least * factor / denominator, 0.0):.1f} mm on the model, and less than "
            f"{LEAST_PIER_MODEL_MM:g} mm cannot be cut.",
            hint="Choose another way or a larger plot.",
        )
    made = _map(facade, way, strips.narrowed(factor))
    what = "Every pier" if across else "All wall between rows of openings"
    size = "width" if across else "height"
    real = "piers are" if across else "storeys are"
    more = "wider" if across else "higher"
    return made, [
        f"{what} at {factor:.2f} of its {size}: the narrowest {format_number(least * factor)} mm "
        f"instead of {format_number(least)} mm, {format_number(size_mm)} mm in all instead of "
        f"{format_number(total)} mm.",
        f"No longer the real building: its {real} {format_number(solid - solid * factor)} mm "
        f"{more} in sum. Doors, windows and courses are true.",
    ]
