"""The documents mention what there is, and show only what is true."""

import json
import re
import shlex
import shutil
from inspect import signature
from pathlib import Path

import pytest
import typer.main

from measure.accuracy.report import scatter
from measure.accuracy.trials import CELLS, MISTAKES
from measure.cli import app
from measure.commands.checking import SEED
from measure.delivery import FORMATS
from measure.features.registry import _PLAIN
from measure.parts.part_frame import BAR_MM
from measure.size_rows import SHOWN
from rectify.photos.file import MAX_MEGAPIXELS
from rectify.snap import snap_corner
from shared import errors
from shared.survey_drawing import FaceDrawing, SkinWishes
from tests.support.command import run_command
from tests.support.markdown import table_rows

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
COMMANDS = typer.main.get_command(app).commands  # type: ignore[attr-defined]
OPTIONS = sorted(
    {
        (name, option)
        for name, command in COMMANDS.items()
        for parameter in command.params
        for option in [*parameter.opts, *parameter.secondary_opts]
        if option.startswith("--") and option != "--help"
    }
)


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_readme_shows_every_command(name):
    assert f"storeyrod {name}" in README


@pytest.mark.parametrize(("name", "option"), OPTIONS, ids=[" ".join(pair) for pair in OPTIONS])
def test_readme_explains_every_option(name, option):
    assert f"`{option}" in README, f"{option} of {name}"


@pytest.mark.parametrize("kind", sorted({*SHOWN, *_PLAIN} - {"face"}))
def test_readme_names_every_kind_of_measure(kind):
    assert kind in README


@pytest.mark.parametrize("name", FORMATS)
def test_readme_names_every_format(name):
    assert name.upper() in README


CLASSES = [
    value
    for value in vars(errors).values()
    if isinstance(value, type) and issubclass(value, errors.StoreyrodError)
]


@pytest.mark.parametrize("error", CLASSES, ids=[error.__name__ for error in CLASSES])
def test_developers_lists_every_error(error):
    assert f"`{error.code}`" in DEVELOPERS
    assert error.__name__ in (errors.__doc__ or "")


def test_paths_named_in_developers_exist():
    named = re.findall(
        r"`((?:shared|rectify|measure|tests|fixtures)/[\w/.]+\.(?:py|toml|js|json))`", DEVELOPERS
    )
    assert named
    missing = [name for name in named if not (ROOT / name).exists()]
    assert missing == []


def test_readme_opens_with_the_job_and_two_commands():
    before = README.split("passes the tests.")[0]
    blocks = re.findall(r"```\n(.*?)```", before, flags=re.DOTALL)
    assert len(blocks) == 2
    assert "storeyrod demo" in blocks[0]
    assert "-m pytest" in blocks[1]
    assert before.index("You build a model") < before.index("```")


#: Every line that begins with the program's name, and every whole command within the text;
#: ``open`` serves until it is stopped, and is run by the tests of the page.
SHOWN_COMMANDS = sorted(
    {
        shown.split("#")[0].strip()
        for shown in [
            *re.findall(r"^storeyrod .+$", README, flags=re.MULTILINE),
            *re.findall(r"`(storeyrod [^`]*\.survey\.json[^`]*)`", README),
            *re.findall(r"`(storeyrod sizes [^`]+)`", README),
        ]
        if not shown.startswith("storeyrod open")
    }
)


@pytest.mark.slow
@pytest.mark.parametrize("shown", SHOWN_COMMANDS)
def test_commands_in_the_readme_run_as_shown(shown, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = shlex.split(shown) if '"' in shown else shown.split()
    shutil.copytree(ROOT / "fixtures" / "demo", tmp_path / "pennywhistle-demo")
    if words[1] != "demo":
        shutil.copy("pennywhistle-demo/street.jpg", "street.jpg")
        for photo in ("kiln.jpg", "oblique.jpg"):
            shutil.copy(f"pennywhistle-demo/{photo}", photo)
    if words[1] != "new":
        shutil.copy("pennywhistle-demo/pennywhistle.survey.json", "street.survey.json")
    status, out, said = run_command(*words[1:])
    assert status == 0, said
    assert out


def test_python_in_the_readme_runs_as_shown(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    shutil.copytree(ROOT / "fixtures" / "demo", tmp_path / "pennywhistle-demo")
    [shown] = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)
    exec(compile(shown, "README.md", "exec"), {})
    width, u_width = map(float, capsys.readouterr().out.split())
    assert abs(width - 1040.0) <= 3 * u_width  # the door of the demo, as it was drawn
    assert (tmp_path / "exports" / "schedule.csv").stat().st_size > 0


def test_wishes_in_the_readme_are_those_of_the_survey():
    [shown] = re.findall(r"```json\n(.*?)```", README, flags=re.DOTALL)
    wishes = FaceDrawing.model_validate_json(shown)
    assert set(wishes.model_fields_set) == set(json.loads(shown))


#: ``accuracy.md`` as ``storeyrod check --accuracy --out DIR`` wrote it.
REPORT = (ROOT / "fixtures" / "accuracy.md").read_text("utf-8")


ACCURACY = table_rows(README.split("## What the ± means")[1].split("\n## ")[0])


def test_accuracy_report_is_that_of_the_command_as_it_is():
    [trials] = [one for one in COMMANDS["check"].params if "--trials" in one.opts]
    assert REPORT.count(f"{trials.default} invented buildings and cameras a row, seed {SEED};") == 1
    assert {*CELLS, *(name for name, _ in MISTAKES)} <= set(table_rows(REPORT))
    assert f"{trials.default} cases to a row:" in README


def test_readme_tells_how_many_of_all_sizes_lie_within_their_plus_minus():
    widths, heights = (
        float(table_rows(REPORT)[name][3].split()[0]) for name in ("widths", "heights")
    )
    assert f"{widths:.0f} % of the widths and {heights:.0f} % of the heights" in " ".join(
        README.split()
    )


@pytest.mark.parametrize("photo", sorted(set(ACCURACY) - {"photo"}))
def test_accuracy_in_the_readme_is_that_of_the_report(photo):
    """Half the errors, 95 % of them, the share within 2 ±: each rounded once more."""
    median, most, _, share, *_ = table_rows(REPORT)[photo.removeprefix("*mistake:* ")]
    for said, reported, rounding in zip(
        ACCURACY[photo], (median, most, share), (0.05, 0.05, 0.5), strict=True
    ):
        assert abs(float(said.split()[0]) - float(reported.split()[0])) <= rounding + 1e-9


SNAP_PX = signature(snap_corner).parameters["radius_px"].default
#: What the program has, as it stands in the README.
FIGURES = [
    f"snaps to the corner or edge within {SNAP_PX:g} pixels",
    f"up to {MAX_MEGAPIXELS:g} megapixels unless raised",
    f"with {SkinWishes().bleed_mm:g} mm of bleed",
    f"if the {BAR_MM:g} mm bars are still out",
    f"A share of 200 is uncertain by {scatter(200):.1f} %",
]


@pytest.mark.parametrize("figure", FIGURES)
def test_figures_in_the_readme_are_those_of_the_program(figure):
    assert figure in " ".join(README.split())


LEFT_OUT = [
    (name, option, parameter.default)
    for name, command in COMMANDS.items()
    for parameter in command.params
    for option in parameter.opts
    if option in ("--dpi", "--max-megapixels")
]


@pytest.mark.parametrize(("name", "option", "default"), LEFT_OUT)
def test_readme_says_what_an_option_is_when_left_out(name, option, default):
    [row] = re.findall(rf"^\| `{option} N` \|.*", README, flags=re.MULTILINE)
    assert name in row.split("|")[2]
    assert row.endswith(f", {default:g} if left out |")


def test_nothing_in_the_documents_names_a_machine_path():
    for text in (README, DEVELOPERS):
        assert not re.search(r"/(work|tmp|opt|root|home)/", text)


def words_not_used():
    """The last column of the table of words in DEVELOPERS.md."""
    table = DEVELOPERS.split("## 12. Words")[1].split("\n## ")[0]
    rows = [line.strip("|").split("|") for line in table.splitlines() if line.startswith("| ")]
    return sorted({word.strip() for row in rows[1:] for word in row[2].split(",") if word.strip()})


def test_one_word_for_one_thing():
    """In names as well: there a word may end at an underscore."""
    sources = [
        path
        for package in ("shared", "rectify", "measure")
        for path in (ROOT / package).rglob("*")
        if path.suffix in {".py", ".js", ".html", ".css", ".toml"}
    ]
    assert len(sources) > 200
    words = words_not_used()
    assert len(words) > 15
    shunned = "|".join(re.escape(form) for word in words for form in (word, word.capitalize()))
    pattern = re.compile(rf"\b(?:{shunned})s?\b")
    found = [
        f"{path.relative_to(ROOT)}: {match[0]}"
        for path in [*sources, ROOT / "README.md", ROOT / "CHANGELOG.md"]
        for match in pattern.finditer(path.read_text("utf-8").replace("_", " "))
    ]
    assert found == []
