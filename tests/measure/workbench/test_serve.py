"""What happens between the command line and the page: where things are kept, what is opened."""

from __future__ import annotations

import re
import shutil
import sys
from pathlib import Path

import pytest
import uvicorn

from measure.demo_building import DEMO_SURVEY, find_demo_folder
from measure.workbench.serve import listen, serve, state_folder_of_user
from shared.errors import InputError, PhotoError


@pytest.mark.parametrize(
    ("platform", "variable", "folder"),
    [
        ("linux", {}, "HOME/.local/state/storeyrod"),
        ("linux", {"XDG_STATE_HOME": "/elsewhere"}, "/elsewhere/storeyrod"),
        ("darwin", {}, "HOME/Library/Application Support/storeyrod"),
        ("win32", {}, "HOME/AppData/Local/storeyrod"),
        ("win32", {"LOCALAPPDATA": "/local"}, "/local/storeyrod"),
    ],
)
def test_what_is_kept_for_the_user_lies_where_each_system_puts_it(
    monkeypatch, platform, variable, folder
):
    monkeypatch.setattr(Path, "home", lambda: Path("HOME"))
    monkeypatch.setattr(sys, "platform", platform)
    for name in ("XDG_STATE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variable.items():
        monkeypatch.setenv(name, value)
    assert state_folder_of_user() == Path(folder)


def test_a_taken_port_is_refused_with_what_to_do():
    with listen(0) as taken:
        taken.listen()
        with pytest.raises(InputError, match="Leave --port out"):
            listen(taken.getsockname()[1])


@pytest.fixture
def started(monkeypatch):
    """Run the server not at all; what it would have served, and what a browser would open."""
    apps, pages = [], []

    def run(server, sockets):
        apps.append(server.config.app)
        for one in sockets:
            one.close()

    monkeypatch.setattr(uvicorn.Server, "run", run)
    monkeypatch.setattr("webbrowser.open", pages.append)
    return apps, pages


def test_the_page_is_opened_at_the_address_that_is_said(started, tmp_path):
    _, pages = started
    said = []
    serve(home=tmp_path / "home", state_folder=tmp_path / "state", say=said.append)
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\?key=\S+", pages[0])
    assert said[0].endswith(pages[0])
    assert "Ctrl-C" in said[1]


def test_no_page_is_opened_where_none_is_wanted(started, tmp_path):
    apps, pages = started
    serve(browser=False, home=tmp_path, state_folder=tmp_path / "state", say=len)
    assert len(apps) == 1
    assert pages == []


def test_a_survey_and_the_photo_beside_it_open_the_same_survey(started, tmp_path):
    demo = find_demo_folder()
    photo = tmp_path / "pennywhistle.jpg"
    survey = tmp_path / "pennywhistle.survey.json"
    shutil.copy(next(demo.glob("*.jpg")), photo)
    shutil.copy(demo / DEMO_SURVEY, survey)
    for file in (survey, photo):
        serve(file, browser=False, home=tmp_path, state_folder=tmp_path / "state", say=len)
    by_survey, by_photo = (app.state.bench.opened for app in started[0])
    assert by_survey is not None
    assert by_survey == by_photo


def test_a_file_that_is_neither_photo_nor_survey_is_refused(started, tmp_path):
    file = tmp_path / "wall.jpg"
    file.write_bytes(b"no photo")
    with pytest.raises(PhotoError):
        serve(file, browser=False, home=tmp_path, state_folder=tmp_path / "state", say=len)
    assert started[0] == []
