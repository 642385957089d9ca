"""Common mistakes of people who measure from photos, each with its sound twin, drawn by chance.

A case is a survey as it would be picked, shaking hand and all, and the facts of its photo.
The twin is the same street, camera and hand without the mistake. Projection is plain numpy
(`tests.support.scenes`), nothing of the solver.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from measure.evaluate import evaluate
from measure.results import Results
from rectify.photos.doubts import SCREEN_SIZES_PX, list_photo_doubts
from rectify.photos.exif import ExifFacts
from rectify.solution import PhotoFacts
from shared.survey import Survey
from tests.support.scenes import SceneCamera, rectangle
from tests.support.surveyed import Hand, facts, length

LEAF_MM, U_LEAF_MM = 1981.0, 6.0
#: Masonry openings are 45 to 110 mm larger than the leaf in them.
FRAME_MM = (45.0, 110.0)


@dataclass
class Street:
    """A wall, its camera and the hand that picks it."""

    rng: np.random.Generator
    camera: SceneCamera
    width_mm: float
    storeys: int
    storey_mm: float
    hand: Hand = field(init=False)

    def __post_init__(self) -> None:
        self.hand = Hand(self.camera, u_px=0.7, seed=int(self.rng.integers(1 << 30)))

    @property
    def eaves_mm(self) -> float:
        """Height of the wall."""
        return self.storeys * self.storey_mm

    def windows(self) -> dict[str, np.ndarray]:
        """Windows of the upper storeys: corners, shape (4, 2)."""
        found = {}
        columns = max(2, int(self.width_mm // 2600))
        for row in range(1, self.storeys):
            for column in range(columns):
                u = -self.width_mm / 2 + (column + 0.5) * self.width_mm / columns
                sill = row * self.storey_mm + 850.0
                found[f"w{row}{column}"] = rectangle(u - 500, sill, u + 500, sill + 1500)
        return found

    @property
    def door(self) -> np.ndarray:
        """Where the door's leaf stands."""
        return rectangle(-400, 150, 438, 150 + LEAF_MM)

    @property
    def frame(self) -> np.ndarray:
        """A wide rectangle: from the foot of the lowest windows to the head of the highest."""
        every = np.concatenate(list(self.windows().values()))
        (u0, v0), (u1, v1) = every.min(axis=0), every.max(axis=0)
        return rectangle(u0, v0, u1, v1)


def draw_street(
    rng: np.random.Generator,
    *,
    yaw_deg: tuple[float, float] = (15.0, 40.0),
    pitch_deg: tuple[float, float] = (3.0, 14.0),
    **camera: Any,
) -> Street:
    """Draw a street front and a camera that sees all of it."""
    while True:
        width, storeys = rng.uniform(7000, 11000), int(rng.integers(2, 4))
        storey = rng.uniform(2700, 3300)
        distance = rng.uniform(1.0, 1.5) * max(width, storeys * storey)
        yaw = rng.uniform(*yaw_deg) * rng.choice([-1.0, 1.0])
        focal_35mm = rng.uniform(23.0, 32.0)
        focal_px = focal_35mm * 5000.0 / 43.2666
        scene = SceneCamera(
            focal_px=camera.get("focal_px", focal_px),
            yaw_deg=yaw,
            pitch_deg=rng.uniform(*pitch_deg),
            roll_deg=rng.uniform(-1.5, 1.5),
            centre_mm=(
                -distance * np.sin(np.radians(yaw)),
                1600.0,
                distance * np.cos(np.radians(yaw)),
            ),
            principal_shift_px=tuple(rng.normal(0.0, 25.0, 2)),
            k1=camera.get("k1", rng.normal(0.0, 0.003)),
        )
        top = storeys * storey
        corners = [*rectangle(-width / 2, 0, width / 2, top), [0, top], [0, 0]]
        # a lens without its bend must see all of it too
        straight = replace(scene, k1=0.0).project_wall(corners)
        seen = np.concatenate([scene.project_wall(corners), straight])
        if (seen > 20).all() and (seen < np.array([3980, 2980])).all():
            return Street(rng, scene, width, storeys, storey)


def plain_face(street: Street) -> dict[str, Any]:
    """A face as a careful user picks it: frame, guides, two known sizes, its windows."""
    hand, eaves, half = street.hand, street.eaves_mm, street.width_mm / 2
    windows = street.windows()
    across = [[-half + 200, 600], [half - 200, 600]]
    return {
        "id": "front",
        "photo": "street",
        "frame": hand.on_wall(street.frame),
        "guides": [
            {
                "kind": "plumb",
                "at": hand.on_wall([[-half, 300], [-half, eaves / 2], [-half, eaves]]),
            },
            {"kind": "plumb", "at": hand.on_wall([[half, 300], [half, eaves / 2], [half, eaves]])},
            {"kind": "level", "at": hand.on_wall([[-half, eaves], [0, eaves], [half, eaves]])},
            {"kind": "level", "at": hand.on_wall([[-half, 450], [0, 450], [half, 450]])},
        ],
        "references": [
            length(hand, street.door[[0, 3]], "door leaf", U_LEAF_MM),
            length(hand, across, "wall by tape", 10.0),
        ],
        "measures": [
            {"id": name, "kind": "opening", "at": hand.on_wall(corners)}
            for name, corners in windows.items()
        ],
    }


@dataclass(frozen=True)
class Case:
    """One survey of one photo, ready to be measured."""

    face: dict[str, Any]
    facts: PhotoFacts

    def results(self) -> Results:
        """Measure it."""
        survey = Survey.model_validate(
            {"photos": [{"id": "street", "file": "street.jpg"}], "faces": [self.face]}
        )
        return evaluate(survey, {"street": self.facts}, stop_at_problem=False)

    def said(self) -> list[str]:
        """Everything that is said of it, the plain advice about ± left out."""
        results = self.results()
        said = list(results.photos["street"].warnings)
        tags = ExifFacts(focal_35mm=self.facts.focal_35mm, present=True)
        said += list_photo_doubts(tags, "JPEG", self.facts.width_px, self.facts.height_px)
        for face in results.faces.values():
            for measure in face.measures.values():
                said += measure.warnings
            said += [str(problem) for problem in face.problems.values()]
        return [text for text in said if not text.startswith("Only to ±")]


Pair = tuple[Case, Case]
"""With the mistake, and without."""


def glass_without_set_back(rng: np.random.Generator) -> Pair:
    """Windows picked at the glass, 60 to 200 mm behind the wall."""
    street = draw_street(rng)
    face, seed = plain_face(street), street.hand.rng.bit_generator.state
    behind = rng.uniform(60.0, 200.0)

    def measures(set_back_mm: float) -> list[dict[str, Any]]:
        street.hand.rng.bit_generator.state = seed
        return [
            {
                "id": name,
                "kind": "opening",
                "at": street.hand.on_wall(corners, behind),
                "at_glass": True,
                "set_back_mm": set_back_mm,
            }
            for name, corners in street.windows().items()
        ]

    known = facts(street.camera)
    return (
        Case({**face, "measures": measures(0.0)}, known),
        Case({**face, "measures": measures(behind)}, known),
    )


def frame_on_a_bay(rng: np.random.Generator) -> Pair:
    """Frame and one known size on a bay 300 to 700 mm proud of the wall that is measured."""
    street = draw_street(rng)
    face = plain_face(street)
    proud = rng.uniform(300.0, 700.0)
    bay = street.frame * 0.7 + street.frame.mean(axis=0) * 0.3
    on_bay = {
        **face,
        "frame": street.hand.on_wall(bay, -proud),
        "references": [
            *face["references"],
            {
                **length(street.hand, bay[[3, 2]], "bay by tape", 10.0),
                "at": street.hand.on_wall(bay[[3, 2]], -proud),
            },
        ],
    }
    known = facts(street.camera)
    return Case(on_bay, known), Case(face, known)


def edge_of_another_plane(rng: np.random.Generator) -> Pair:
    """One side of a rectangle picked on something that stands 200 to 500 mm before the wall."""
    street = draw_street(rng)
    face = plain_face(street)
    proud = rng.uniform(200.0, 500.0)
    corners = rectangle(-0.4 * street.width_mm, 500, 0.4 * street.width_mm, street.eaves_mm - 300)
    true = street.hand.on_wall(corners)
    wrong = list(true)
    for at in (1, 2):
        wrong[at] = street.hand.on_wall(corners[[at]], -proud)[0]
    known = facts(street.camera)
    extra = {"kind": "rectangle"}
    return (
        Case({**face, "guides": [*face["guides"], {**extra, "at": wrong}]}, known),
        Case({**face, "guides": [*face["guides"], {**extra, "at": true}]}, known),
    )


def leaf_for_opening(rng: np.random.Generator) -> Pair:
    """The opening in the wall picked where the size is that of the leaf."""
    street = draw_street(rng)
    face = plain_face(street)
    taller = rng.uniform(*FRAME_MM)
    opening = street.door + np.array([[-30, taller], [30, taller], [30, 0], [-30, 0]])
    face["measures"].append({"id": "d1", "kind": "opening", "at": street.hand.on_wall(opening)})
    leaf = {**face["references"][0], "size": "uk-door-leaf"}
    sound = {**face, "references": [leaf, face["references"][1]]}
    picked = {**leaf, "at": street.hand.on_wall(opening[[0, 3]])}
    known = facts(street.camera)
    return Case({**face, "references": [picked, face["references"][1]]}, known), Case(sound, known)


def one_point_without_focal(rng: np.random.Generator) -> Pair:
    """Square-on and level, and the photo does not say its focal length; the twin does."""
    street = draw_street(rng, yaw_deg=(0.0, 1.5), pitch_deg=(-0.5, 0.5))
    face = plain_face(street)
    face["references"] = face["references"][:1]
    return Case(face, facts(street.camera, known=False)), Case(face, facts(street.camera))


def cropped_unmarked(rng: np.random.Generator) -> Pair:
    """A third or more cut off one side of the picture, its tags left as they were."""
    street = draw_street(rng, yaw_deg=(20.0, 40.0), pitch_deg=(8.0, 15.0))
    face = plain_face(street)
    known = facts(street.camera)
    every = np.array(
        [p[:2] for name in ("guides", "references", "measures") for item in face[name]
         for p in item["at"]] + [p[:2] for p in face["frame"]]
    )  # fmt: skip
    low = np.maximum(every.min(axis=0) - rng.uniform(5.0, 60.0, 2), 0.0)
    high = np.minimum(every.max(axis=0) + rng.uniform(5.0, 60.0, 2), [4000.0, 3000.0])

    def shifted(node: Any) -> Any:
        if isinstance(node, dict):
            return {k: moved(v) if k in ("at", "frame") else shifted(v) for k, v in node.items()}
        return [shifted(v) for v in node] if isinstance(node, list) else node

    def moved(picks: list[list[float]]) -> list[list[float]]:
        return [[x - float(low[0]), y - float(low[1]), *u] for x, y, *u in picks]

    width, height = (int(np.ceil(x)) for x in high - low)
    cropped = replace(known, width_px=width, height_px=height)
    return Case(shifted(face), cropped), Case(face, known)


def lens_uncorrected(rng: np.random.Generator) -> Pair:
    """A wide-angle lens that bends lines, as no phone leaves them; the twin is straight."""
    wide = rng.uniform(16.0, 22.0) * 5000.0 / 43.2666
    street = draw_street(rng, focal_px=wide, k1=-rng.uniform(0.04, 0.12))
    straight = replace(street.camera, k1=0.0)
    twin = Street(street.rng, straight, street.width_mm, street.storeys, street.storey_mm)
    return (
        Case(plain_face(street), facts(street.camera)),
        Case(plain_face(twin), facts(straight)),
    )


@dataclass(frozen=True)
class FileCase:
    """The tags and size of one photo file."""

    tags: ExifFacts
    file_format: str
    width_px: int
    height_px: int

    def said(self) -> list[str]:
        """What its tags and size say against it."""
        return list(list_photo_doubts(self.tags, self.file_format, self.width_px, self.height_px))


def draw_file(rng: np.random.Generator) -> FileCase:
    """Draw a photo as a camera leaves it."""
    sizes = ((4032, 3024), (4000, 3000), (6000, 4000), (5184, 3456), (8064, 6048), (4624, 3468))
    long, short = sizes[rng.integers(len(sizes))]
    tags = ExifFacts(
        orientation=int(rng.choice([1, 3, 6, 8])),
        focal_35mm=float(rng.integers(23, 55)),
        camera_make="Kerbside",
        camera_model="K1",
        software="17.4.1",
        lens_model="K1 back camera 5.7mm f/1.5",
        recorded_width_px=long,
        recorded_height_px=short,
        present=True,
    )
    upright = tags.orientation >= 5
    return FileCase(tags, "JPEG", short if upright else long, long if upright else short)


def mirrored(rng: np.random.Generator) -> tuple[FileCase, FileCase]:
    """Left and right turned about, and the file has a sign of it: without one nobody can tell."""
    sound = draw_file(rng)
    sign: dict[str, Any] = (
        {"lens_model": "K1 front camera 2.7mm f/2.2"}
        if rng.random() < 0.5
        else {"orientation": int(rng.choice([2, 4])) if sound.tags.orientation < 5 else 5}
    )
    return replace(sound, tags=replace(sound.tags, **sign)), sound


def screenshot(rng: np.random.Generator) -> tuple[FileCase, FileCase]:
    """A picture of a screen that showed the photo."""
    sound = draw_file(rng)
    screens = sorted(SCREEN_SIZES_PX)
    long, short = screens[rng.integers(len(screens))]
    if rng.random() < 0.5:
        long, short = short, long
    with_comment = ExifFacts(comment="Screenshot", present=True)
    tags = with_comment if rng.random() < 0.5 else ExifFacts()
    return FileCase(tags, "PNG", long, short), sound


def cropped_file(rng: np.random.Generator) -> tuple[FileCase, FileCase]:
    """Cropped by a program that leaves the tags, or by one that takes them away."""
    sound = draw_file(rng)
    width, height = (int(x * rng.uniform(0.4, 0.9)) for x in (sound.width_px, sound.height_px))
    tags = sound.tags
    if rng.random() < 0.5:
        tags = replace(tags, recorded_width_px=None, recorded_height_px=None)
    return FileCase(tags, "JPEG", width, height), sound


MISTAKES: dict[str, Callable[[np.random.Generator], Pair | tuple[FileCase, FileCase]]] = {
    "glass picked without a set-back": glass_without_set_back,
    "frame on a shallow bay": frame_on_a_bay,
    "edge of a different plane": edge_of_another_plane,
    "door opening for its leaf": leaf_for_opening,
    "photo cropped, not marked": cropped_unmarked,
    "photo cropped, by its file alone": cropped_file,
    "wide-angle lens not corrected": lens_uncorrected,
    "one-point view, focal length unknown": one_point_without_focal,
    "mirrored photo, with a sign of it": mirrored,
    "screenshot of a photo": screenshot,
}


@dataclass(frozen=True)
class Score:
    """How often a mistake was pointed out, and its sound twin was not left in peace."""

    name: str
    cases: int
    caught: int
    false_alarms: int


def score(name: str, cases: int, first: int = 0) -> Score:
    """Draw cases of one mistake, each from its own seed, and count."""
    caught = false_alarms = 0
    for number in range(first, first + cases):
        rng = np.random.default_rng([zlib.crc32(name.encode()), number])
        wrong, sound = MISTAKES[name](rng)
        caught += bool(wrong.said())
        false_alarms += bool(sound.said())
    return Score(name, cases, caught, false_alarms)
