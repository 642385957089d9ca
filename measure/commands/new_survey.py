"""``storeyrod new``."""

from __future__ import annotations

from pathlib import Path

from measure.commands.table_text import make_console
from rectify.photos.file import read_photo_header
from shared.errors import SurveyFileError
from shared.survey import Face, Photo, Survey
from shared.survey_file import write_survey

NEXT = """\
Next, in {file}:
  frame       four [x, y] picks at the corners of one upright rectangle on the wall, going
              round it; a wide one spanning several windows is best. Its size need not be known.
  references  one known size on the wall: {{"kind": "length", "at": [[x, y], [x, y]],
              "length_mm": 1981, "u_mm": 6}}, or {{"kind": "courses", "at": [[x, y], [x, y]],
              "count": 12, "gauge_mm": 75, "u_gauge_mm": 0.6}}. 'storeyrod sizes' lists many.
  measures    what you want to know: {{"id": "w1", "kind": "opening", "at": [four picks]}},
              {{"id": "d1", "kind": "distance", "at": [[x, y], [x, y]]}} ...
Picks are pixels of the upright photo, from its top left corner. Then:
  storeyrod measure {file}
Or pick by clicking: storeyrod open {file}"""


def run_new(photo: Path, *, out: Path | None) -> None:
    """Write a starting survey for a photo."""
    header = read_photo_header(photo)
    target = out or photo.with_name(f"{photo.stem}.survey.json")
    if target.exists():
        raise SurveyFileError(
            f"{target.name} is there already.", hint="Name another file with --out, or move it."
        )
    try:
        file = photo.resolve().relative_to(target.resolve().parent).as_posix()
    except ValueError:
        raise SurveyFileError(
            f"The survey {target} would not stand beside its photo.",
            hint=f"Write it into {photo.resolve().parent}.",
        ) from None
    survey = Survey(
        title=photo.stem.replace("_", " ").replace("-", " ").strip().capitalize(),
        photos=(
            Photo(
                id="street",
                file=file,
                width_px=header.width_px,
                height_px=header.height_px,
                focal_35mm=header.focal_35mm,
            ),
        ),
        faces=(Face(id="front", label="Street front", photo="street"),),
    )
    write_survey(target, survey)
    console = make_console()
    focal = (
        f"{header.focal_35mm:g} mm (35 mm equivalent)"
        if header.focal_35mm
        else "not in the photo: sizes will be less certain, a second known size helps"
    )
    console.print(
        f"Wrote {target}: {header.width_px} x {header.height_px} px, focal length {focal}."
    )
    for warning in header.warnings:
        console.print(f"  {warning}")
    console.print(NEXT.format(file=target.name), markup=False)
