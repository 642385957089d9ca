"""Save a survey over and over in a child process and kill it in the middle, many times.

Run as ``python -m tests.support.save_and_kill FOLDER KILLS SEED``; prints what it
found as JSON. The child tells through a pipe which save has been confirmed.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from shared.survey_file import read_survey, write_survey
from shared.survey_versions import read_versions
from tests.support.surveys import make_survey

NUMBER_BYTES = 8


def save_for_ever(path: Path, first: int, confirm: int) -> None:
    number = first
    while True:
        # long notes, so that writing takes a good part of the time
        write_survey(path, make_survey(title=str(number), notes=f"{number} " * 12_000))
        os.write(confirm, number.to_bytes(NUMBER_BYTES, "big"))
        number += 1


def kill_once(path: Path, first: int, wait_s: float) -> int:
    """Start a child, kill it after `wait_s`, and give the number of its last confirmed save."""
    reading, confirm = os.pipe()
    child = os.fork()
    if child == 0:
        save_for_ever(path, first, confirm)
    os.close(confirm)
    os.read(reading, NUMBER_BYTES)  # it is under way
    time.sleep(wait_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    confirmed = first
    while piece := os.read(reading, NUMBER_BYTES):
        confirmed = int.from_bytes(piece, "big")
    os.close(reading)
    return confirmed


def main(folder: Path, kills: int, seed: int) -> None:
    path = folder / "malthouse.survey.json"
    chance = random.Random(seed)
    number, faults, cut_short = 0, [], 0
    for _ in range(kills):
        confirmed = kill_once(path, number, chance.uniform(0.0, 0.03))
        found = int(read_survey(path).title)
        if found not in (confirmed, confirmed + 1):
            faults.append(f"confirmed {confirmed}, found {found}")
        for version in read_versions(path):
            if int(read_survey(version.path).title) > found:
                faults.append(f"version {version.name} is newer than the file")
        cut_short += len(list(folder.glob(".*.part")))
        for left in folder.glob(".*.part"):
            left.unlink()
        number = found + 1
    print(json.dumps({"saves": number, "faults": faults, "cut_short": cut_short}))


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
