"""How a command ends: its exit status, and what stands on the console then."""

from __future__ import annotations

from importlib.metadata import version

import pytest
import typer

from measure import cli
from shared.errors import GeometryError
from tests.support.command import run_command


@pytest.fixture
def ending(monkeypatch):
    """Let ``storeyrod scales`` end by an exception."""

    def set_up(error: BaseException) -> None:
        def run():
            raise error

        monkeypatch.setattr("measure.commands.tables.run_scales", run)

    return set_up


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), typer.Abort()])
def test_a_command_that_is_stopped_says_so_and_ends_as_the_shell_expects(ending, stop):
    ending(stop)
    assert run_command("scales") == (130, "", "storeyrod: Stopped.\n")


def test_a_reader_that_has_seen_enough_is_no_mistake(ending):
    ending(BrokenPipeError())
    assert run_command("scales") == (0, "", "")


def test_a_mistake_of_the_program_says_how_to_see_where(ending):
    ending(ZeroDivisionError("x"))
    status, _, err = run_command("scales")
    assert status == 1
    assert "storeyrod made a mistake (ZeroDivisionError)" in err
    assert "--debug" in err
    assert err.count("\n") == 1


def test_a_library_that_the_system_lacks_is_named_with_how_to_install_it(ending):
    # as the loader of Linux words it on a machine without a desktop
    ending(ImportError("libGL.so.1: cannot open shared object file: No such file or directory"))
    status, _, err = run_command("scales")
    assert status == 1
    assert "(libGL.so.1)" in err
    assert "sudo apt install libgl1 libglib2.0-0" in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("error", [ZeroDivisionError("x"), GeometryError("No.")])
def test_with_debug_every_refusal_and_mistake_comes_with_its_place(ending, error):
    ending(error)
    with pytest.raises(type(error)):
        run_command("--debug", "scales")


def test_the_version_is_the_installed_one():
    assert run_command("--version") == (0, f"storeyrod {version('storeyrod')}\n", "")


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        ((), (None, 0, True)),
        (("open",), (None, 0, True)),
        (("open", "wall.jpg", "--port", "8123", "--no-browser"), ("wall.jpg", 8123, False)),
    ],
)
def test_the_workbench_is_opened_as_asked_and_without_a_command(monkeypatch, words, asked):
    opened = []
    monkeypatch.setattr(
        "measure.commands.opening.open_workbench",
        lambda file, port, browser: opened.append((file and str(file), port, browser)),
    )
    assert run_command(*words)[0] == 0
    assert opened == [asked]


def test_a_console_without_the_letters_is_told_to_replace_them(monkeypatch):
    class Console:
        def reconfigure(self, errors):
            told.append(errors)

        def write(self, text):
            return len(text)

        def flush(self):
            pass

    told = []
    monkeypatch.setattr("sys.argv", ["storeyrod", "--version"])
    monkeypatch.setattr("sys.stdout", Console())
    monkeypatch.setattr("sys.stderr", Console())
    with pytest.raises(SystemExit):
        cli.main()
    assert told == ["replace", "replace"]
