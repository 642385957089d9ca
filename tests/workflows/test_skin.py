"""The skin of a face, from the wishes in its survey to the file."""

import numpy as np
import pytest
from PIL import Image

from measure.skin_job import make_skin
from measure.survey_job import open_survey
from shared.survey_skin import SkinWishes
from tests.support.command import run_command
from tests.support.scenes import picks, rectangle
from tests.support.street_survey import CAMERA, write_street

# The wall is 7200 by 5600 mm, from -3600 to 3600 and up from 0; at 1:148 48.65 by 37.84 mm.
WALL_MM = (7200.0 / 148.0, 5600.0 / 148.0)


def pixels_of(file):
    with Image.open(file) as image:
        return np.asarray(image).copy()


def on_wall(points):
    return picks(CAMERA.project_wall(np.asarray(points, dtype=float)))


def street_with(folder, **skin):
    return write_street(folder, {"drawing": {"skin": skin}})


@pytest.mark.parametrize("dpi", [300, 1200])
def test_skin_prints_at_the_size_of_the_model_with_its_bleed(tmp_path, dpi):
    path = street_with(tmp_path, bleed_mm=2.0)
    words = ("--formats", "png", "--dpi", dpi, "--out", tmp_path / "out", "-q")
    status, _, err = run_command("export", path, *words)
    assert (status, err) == (0, "")
    with Image.open(tmp_path / "out" / "front-skin.png") as image:
        assert image.info["dpi"] == pytest.approx((dpi, dpi), rel=1e-3)
        size_mm = [pixels / dpi * 25.4 for pixels in image.size]
    # picks of a small photo: good to some parts in a thousand, and to a pixel
    assert size_mm == pytest.approx([side + 4.0 for side in WALL_MM], rel=5e-3)


def test_no_skin_without_a_wish_for_one_nor_as_picked(tmp_path):
    plain = write_street(tmp_path / "plain")
    wished = street_with(tmp_path / "wished")
    for path, more in ((plain, ()), (wished, ("--as-picked",))):
        out = path.parent / "out"
        words = ("--formats", "png", "--dpi", 150, "--out", out, "-q", *more)
        assert run_command("export", path, *words)[0] == 0
        assert [file.name for file in out.glob("*skin*")] == []


def test_light_is_evened_and_the_pattern_stays(tmp_path):
    path = write_street(tmp_path)
    photo = tmp_path / "street.png"
    pixels = pixels_of(photo).astype(float)
    shade = np.linspace(0.5, 1.2, pixels.shape[1])[None, :, None]
    Image.fromarray(np.clip(pixels * shade, 0, 255).astype(np.uint8)).save(photo)
    job = open_survey(path)
    spread = []
    for even in (False, True):
        skin = make_skin(job, "front", SkinWishes(even_light=even, bleed_mm=0.0), dpi=150)
        columns = np.array_split(skin.rgb[..., 0].astype(float), 6, axis=1)
        means = [part.mean() for part in columns]
        spread.append(np.ptp(means) / np.mean(means))
    assert spread[0] > 0.3
    assert spread[1] < 0.12


def test_a_lamp_post_is_painted_over_with_the_bay_beside_it(tmp_path):
    path = write_street(tmp_path)
    photo = tmp_path / "street.png"
    pole = rectangle(-1500.0, 500.0, -1300.0, 2500.0)
    pixels = pixels_of(photo)
    corners = CAMERA.project_wall(pole)
    low, high = corners.min(axis=0).astype(int), corners.max(axis=0).astype(int) + 1
    pixels[low[1] : high[1], low[0] : high[0]] = (255, 0, 255)
    Image.fromarray(pixels).save(photo)
    around = rectangle(-1600.0, 400.0, -1200.0, 2600.0)
    job = open_survey(path)
    found = []
    for more in ({}, {"bays": ("w2", "w3")}):
        part = [{"at": on_wall(around), "blend_mm": 0.0, **more}] if more else []
        wishes = SkinWishes.model_validate({"even_light": False, "paint_out": part})
        skin = make_skin(job, "front", wishes, dpi=150)
        found.append(int((np.abs(skin.rgb.astype(int) - (255, 0, 255)).max(axis=2) < 60).sum()))
        assert skin.notes == ()
    assert found[0] > 50
    assert found[1] == 0


def test_colours_are_balanced_by_what_is_grey(tmp_path):
    path = write_street(tmp_path)
    photo = tmp_path / "street.png"
    pixels = pixels_of(photo)
    patch = rectangle(1000.0, 800.0, 1800.0, 1600.0)
    corners = CAMERA.project_wall(patch)
    low, high = corners.min(axis=0).astype(int) - 2, corners.max(axis=0).astype(int) + 3
    pixels[low[1] : high[1], low[0] : high[0]] = (180, 150, 120)
    Image.fromarray(pixels).save(photo)
    wish = {"even_light": False, "neutral": on_wall(patch), "bleed_mm": 0.0}
    skin = make_skin(open_survey(path), "front", SkinWishes.model_validate(wish), dpi=150)
    along, up = skin.window.mm_per_px
    column = int((4600.0 + 400.0) / along)  # the middle of the patch, from the left of the wall
    row = skin.rgb.shape[0] - int(1200.0 / up)
    middle = skin.rgb[row, column].astype(int)
    assert np.ptp(middle) <= 2


@pytest.mark.parametrize(
    ("skin", "sentence"),
    [
        ({"neutral": [[1, 2], [3, 4]]}, "what is neutral needs at least 3 picks around it"),
        (
            {"paint_out": [{"at": [[1, 2], [3, 4], [5, 9]]}]},
            "needs one place to take the picture from: shift_mm, bays or axis_at",
        ),
        (
            {"paint_out": [{"at": [[1, 2], [3, 4], [5, 9]], "bays": ["w1", "w1"]}]},
            "needs two different openings in 'bays'",
        ),
        (
            {"paint_out": [{"at": [[1, 2]], "shift_mm": 3}]},
            "part painted out 1, key 'at' needs at least 3 picks, not 1",
        ),
        (
            {"paint_out": [{"at": [[450, 400], [500, 400], [500, 450]], "bays": ["w1", "w9"]}]},
            "Face 'front': There is no opening 'w9' on this face to take the skin's picture from.",
        ),
        ({"bleed_mm": -1}, "key 'bleed_mm' must be 0 or more"),
    ],
)
def test_a_skin_that_cannot_be_is_refused_in_one_sentence(tmp_path, skin, sentence):
    path = street_with(tmp_path, **skin)
    words = ("--formats", "png", "--dpi", 150, "--out", tmp_path / "out", "-q")
    status, _, err = run_command("export", path, *words)
    assert status == 2
    assert sentence in err
    assert err.count("\n") == 1
