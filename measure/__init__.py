"""True surface to sizes, drawing and files.

evaluate.py      a survey and its photos' solutions -> results
features/        what each kind of measure makes of chart points
elevation/       results -> drawing -> sheets of paper
export/          sheets -> SVG, DXF, PDF, CSV, PNG
graphs/          how good the sizes are, where courses lie
cli.py           the command line
workbench/       the page in the browser

Imports from ``shared`` and ``rectify``.

The short path, for scripts and notebooks: open a survey, solve and measure it, straighten
a wall, export. Here the demo building, with few pixels to be quick:

>>> import datetime as dt
>>> from measure.delivery import Wish, make_files
>>> from measure.commands.demo import demo_folder
>>> from measure.survey_job import open_survey
>>> job = open_survey(demo_folder() / "pennywhistle.survey.json")
>>> results = job.measure()
>>> door = results.faces["front"].measures["door"]
>>> door.kind, abs(door.size("width_mm") - 1040) < 4 * door.u_of("width_mm")
('opening', True)
>>> wall = job.straighten("front", dpi=100)
>>> wall.rgb.shape[2], wall.rgb.shape[:2] == wall.visible.shape
(3, True)
>>> wish = Wish(dt.date(2026, 12, 1), formats=("svg", "csv"), faces=("front",))
>>> files = dict(make_files(job, wish))
>>> sorted(files)[0], files["front-elevation-1.svg"][:5]
('front-elevation-1.svg', b'<?xml')

`measure.export.files.write_files` puts them into a folder. A notebook shows `results` as a
table and `wall` as a picture; `measure.graphs.courses.courses_figure` makes a matplotlib figure
of courses that were counted in a photo, one of `job.readings`.
"""
