"""Real photographs lent to the tests; they lie beside the project, not in it."""

from pathlib import Path

import pytest

REAL_PHOTOS = Path(__file__).resolve().parents[2].parent / "shared" / "photos"


def real_photo(name: str) -> Path:
    """Path of a real photo, such as "buildings/pavilion.jpg"; skips the test where it is absent."""
    path = REAL_PHOTOS / name
    if not path.is_file():
        pytest.skip(f"the real photo {name} is not beside this checkout (../shared/photos)")
    return path
