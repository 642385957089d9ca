"""One wall in several photos is one wall, however it is said."""

import pytest

from shared.same_walls import same_walls
from shared.survey import Face


def faces(**said: str | None) -> list[Face]:
    """Faces by name, each the same as another or as none."""
    return [Face(id=name, photo=f"photo-of-{name}", same_as=other) for name, other in said.items()]


def test_wall_of_one_photo_is_itself() -> None:
    assert same_walls(faces(front=None, wing=None)) == {"front": ("front",), "wing": ("wing",)}


@pytest.mark.parametrize(
    ("said", "wall"),
    [
        ({"a": None, "b": "a", "c": "a"}, ("a", "b", "c")),
        ({"a": "b", "b": "c", "c": None}, ("c", "a", "b")),
        ({"a": "b", "b": "a", "c": "b"}, ("a", "b", "c")),
        ({"c": "b", "b": "a", "a": "b"}, ("b", "c", "a")),
    ],
)
def test_wall_is_kept_under_the_face_that_all_others_lead_to(said, wall) -> None:
    assert set(same_walls(faces(**said)).values()) == {wall}


def test_face_that_is_the_same_as_one_left_out_is_taken_by_itself() -> None:
    assert same_walls(faces(b="a")) == {"b": ("b",)}
