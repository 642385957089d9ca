"""No command connects to anything: a photo of somebody's house stays on this computer."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.support.street_survey import write_street

# Stands between Python and the network from the first line on, in this process and any it starts.
WATCH = """
import sys

def watch(event, arguments):
    if event in ("socket.connect", "socket.sendto", "socket.getaddrinfo", "socket.gethostbyname"):
        print("REACHED OUT", event, arguments, file=sys.__stderr__, flush=True)

sys.addaudithook(watch)
"""
COMMAND = "from measure.cli import main; main()"


def _run(folder, *words) -> tuple[bool, str]:
    """Tell whether it worked and had something to say, and what it said of itself."""
    (folder / "watch").mkdir(exist_ok=True)
    (folder / "watch" / "sitecustomize.py").write_text(WATCH)
    paths = os.pathsep.join([str(folder / "watch"), *filter(None, sys.path)])
    done = subprocess.run(
        [sys.executable, *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    return done.returncode == 0 and bool(done.stdout), done.stderr


def test_the_watch_sees_a_connection(tmp_path):
    call = "import socket; socket.socket(type=socket.SOCK_DGRAM).connect(('127.0.0.1', 9))"
    _, said = _run(tmp_path, "-c", call)
    assert "REACHED OUT socket.connect" in said


@pytest.mark.parametrize("command", ["measure", "check", "export", "guides", "openings", "cut"])
def test_commands_connect_to_nothing(tmp_path, command):
    survey = write_street(tmp_path)
    words = ["--face", "front"] if command == "openings" else []
    worked, said = _run(tmp_path, "-c", COMMAND, command, str(survey), *words)
    assert "REACHED OUT" not in said
    assert worked, said


def test_the_demo_connects_to_nothing(tmp_path):
    worked, said = _run(tmp_path, "-c", COMMAND, "demo")
    assert "REACHED OUT" not in said
    assert worked, said
