"""Progress of long work: a bar on a terminal, nothing in a file or when told to be quiet."""

import io

import pytest

from measure.commands.progress import shown_progress


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_terminal_shows_what_is_done_and_how_far(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setenv("TERM", "xterm")
    with shown_progress(quiet=False) as report:
        report("straightening front", 0.5)
    assert "straightening front" in terminal.getvalue()


@pytest.mark.parametrize(("stream", "quiet"), [(io.StringIO, False), (Terminal, True)])
def test_nothing_is_shown_in_a_file_or_when_quiet(monkeypatch, stream, quiet):
    written = stream()
    monkeypatch.setattr("sys.stderr", written)
    with shown_progress(quiet=quiet) as report:
        assert report is None
    assert written.getvalue() == ""
