"""Surveys for tests: one small and readable, and a strategy that makes any valid one."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from shared.card_wishes import CardWishes
from shared.survey import Survey
from shared.survey_details import Detail
from shared.survey_drawing import Apart, Completion, PlotFit, Together
from tests.support.schema_values import IDENTIFIERS, LETTERS, values_of

DOOR = [[1210.5, 2400.0], [1490.25, 2396.0], [1492.0, 1820.5], [1212.0, 1822.0]]


def make_plain_survey() -> dict[str, Any]:
    """Plain data of a survey of the maltings with a front, a wing and the kiln tower."""
    return {
        "format": "storeyrod survey",
        "version": 1,
        "title": "Pennywhistle Maltings",
        "photos": [{"id": "street", "file": "street.jpg", "width_px": 4032, "height_px": 3024}],
        "faces": [
            {
                "id": "front",
                "photo": "street",
                "frame": DOOR,
                "guides": [{"kind": "plumb", "at": [[900, 400], [905, 2600]]}],
                "references": [
                    {
                        "kind": "length",
                        "label": "door leaf",
                        "at": [[1210.5, 2400], [1212, 1822]],
                        "length_mm": 2032,
                        "u_mm": 6,
                    }
                ],
                "measures": [
                    {"id": "w1", "kind": "opening", "label": "W1", "at": DOOR},
                    {"id": "c1", "kind": "courses", "at": [[700, 2500], [700, 1200]]},
                ],
            },
            {
                "id": "wing",
                "photo": "street",
                "surface": {
                    "kind": "wall",
                    "hinge": {"face": "front", "at": [[2900, 700], [2905, 2650]]},
                },
            },
            {
                "id": "tower",
                "photo": "street",
                "surface": {
                    "kind": "round",
                    "beside": "front",
                    "left_edge": [[200, 300], [210, 2500]],
                    "radius_mm": 2750,
                },
            },
        ],
    }


def make_survey(title: str = "Pennywhistle Maltings", notes: str = "") -> Survey:
    """Make the same as a survey, told apart by title and notes."""
    return Survey.model_validate({**make_plain_survey(), "title": title, "notes": notes})


def _numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, exclude_min=True, exclude_max=True, allow_nan=False)


labels = st.text(LETTERS, max_size=20)
set_backs = _numbers(-1e6, 1e6)
lengths = _numbers(0, 1e7)
uncertainties = st.floats(0, 1e7, exclude_max=True)
coordinates = _numbers(-1e6, 1e6)
picks = st.one_of(
    st.tuples(coordinates, coordinates),
    st.tuples(coordinates, coordinates, _numbers(0, 1e4)),
).map(list)


def _picks(least: int, most: int | None = None) -> st.SearchStrategy[list[Any]]:
    return st.lists(picks, min_size=least, max_size=most or least)


def _kind(name: str, **fields: Any) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({"kind": st.just(name), **fields})


def _measure(name: str, **fields: Any) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(
        {"kind": st.just(name), **fields}, optional={"label": labels, "set_back_mm": set_backs}
    )


_counts = st.integers(1, 1000)
guides = st.one_of(
    _kind("plumb", at=_picks(2, 4), set_back_mm=set_backs),
    _kind("level", at=_picks(2, 4), set_back_mm=set_backs),
    _kind("rectangle", at=_picks(4), set_back_mm=set_backs),
)
_sizes = st.none() | st.text(LETTERS, max_size=12)
references = st.one_of(
    _kind(
        "length",
        at=_picks(2),
        length_mm=lengths,
        u_mm=uncertainties,
        along=st.sampled_from(["free", "level", "plumb"]),
        label=labels,
        size=_sizes,
    ),
    _kind("courses", at=_picks(2), count=_counts, gauge_mm=lengths, u_gauge_mm=uncertainties),
)
measures = st.one_of(
    _measure("distance", at=_picks(2)),
    _measure(
        "opening",
        at=_picks(4),
        head=st.sampled_from(["flat", "semicircular", "segmental", "pointed", "round"]),
        head_at=_picks(0, 3),
        at_glass=st.booleans(),
    ),
    _measure("level", at=_picks(1)),
    _measure("courses", at=_picks(2), count=st.none() | _counts),
    _measure("arc", at=_picks(3, 5)),
    _measure("spacing", at=_picks(2, 5)),
    _measure("slope", at=_picks(2)),
    _measure("set-back", at=_picks(2)),
    _measure("outline", at=_picks(3, 6)),
)

AS_LISTS = {"Pick": picks}
drawings = st.fixed_dictionaries(
    {},
    optional={
        "tidy": st.booleans(),
        "together": st.lists(values_of(Together, AS_LISTS), max_size=2),
        "apart": st.lists(values_of(Apart, AS_LISTS), max_size=2),
        "out_of_true_mm": uncertainties,
        "completions": st.lists(values_of(Completion, AS_LISTS), max_size=2),
        "details": st.lists(values_of(Detail, AS_LISTS), max_size=2),
        "plot": values_of(PlotFit, AS_LISTS),
    },
)


@st.composite
def surveys(draw: st.DrawFn) -> Survey:
    """Make any valid survey: up to two photos and three faces, every kind of part."""
    photos = [
        {
            "id": name,
            "file": draw(st.text(LETTERS, min_size=1, max_size=20)),
            "sha256": draw(st.none() | st.text("0123456789abcdef", min_size=64, max_size=64)),
            "width_px": draw(st.none() | st.integers(1, 199_999)),
            "height_px": draw(st.none() | st.integers(1, 199_999)),
            "focal_35mm": draw(st.none() | _numbers(1, 5000)),
            "cropped": draw(st.booleans()),
        }
        for name in draw(st.lists(IDENTIFIERS, min_size=1, max_size=2, unique=True))
    ]
    names = draw(st.lists(IDENTIFIERS, max_size=3, unique=True))
    return Survey.model_validate(
        {
            "title": draw(labels),
            "notes": draw(labels),
            "model_scale": draw(st.sampled_from(["1:148", "1:76.2", "3.5 mm = 1 ft", ""])),
            "photos": photos,
            "card": draw(st.none() | values_of(CardWishes, {})),
            "faces": [_draw_face(draw, name, names, photos) for name in names],
        }
    )


def _draw_face(
    draw: st.DrawFn, name: str, names: list[str], photos: list[dict[str, Any]]
) -> dict[str, Any]:
    others = [other for other in names if other != name]
    surface = st.just({"kind": "wall"}) | st.fixed_dictionaries(
        {"kind": st.just("round")},
        optional={
            "beside": st.sampled_from([*others, None]),
            "left_edge": st.none() | _picks(2, 3),
            "right_edge": st.none() | _picks(2, 3),
            "meets_wall": st.none() | _picks(2, 3),
            "axis_set_back_mm": st.none() | set_backs,
            "u_axis_set_back_mm": st.none() | uncertainties,
            "radius_mm": st.none() | lengths,
            "u_radius_mm": st.none() | uncertainties,
        },
    )
    if others:
        hinges = st.fixed_dictionaries({"face": st.sampled_from(others), "at": _picks(2, 3)})
        surface |= st.fixed_dictionaries({"kind": st.just("wall"), "hinge": hinges})
    found = draw(st.lists(measures, max_size=4))
    ids = draw(st.lists(IDENTIFIERS, min_size=len(found), max_size=len(found), unique=True))
    return {
        "id": name,
        "label": draw(labels),
        "photo": draw(st.sampled_from(photos))["id"],
        "surface": draw(surface),
        "frame": draw(st.none() | _picks(4)),
        "datum": draw(st.none() | picks),
        "guides": draw(st.lists(guides, max_size=2)),
        "references": draw(st.lists(references, max_size=2)),
        "drawing": draw(st.none() | drawings),
        "measures": [{"id": one, **measure} for one, measure in zip(ids, found, strict=True)],
    }
