"""Exports killed at random moments: every file is whole; the bench does it 200 times."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
KILLS = 12


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork and kill")
def test_killed_export_leaves_every_file_whole(tmp_path):
    command = [sys.executable, "-m", "tests.support.export_and_kill", tmp_path, KILLS, 11]
    done = subprocess.run(
        list(map(str, command)), cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["faults"] == []
    assert found["sets"] >= KILLS
