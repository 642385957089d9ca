"""Save a survey over and over in a child process and kill it in the middle, many times.

Run as ``python -m tests.support.save_and_kill FOLDER KILLS SEED``; prints what it
found as JSON. The child tells through a pipe which save has been confirmed.
"""

from __future__ import annotations

import json
import random
import sys
from functools import partial
from pathlib import Path

from shared.survey_file import read_survey, write_survey
from shared.survey_versions import read_versions
from tests.support.killed_child import kill_once
from tests.support.surveys import make_survey


def save(path: Path, number: int) -> None:
    # long notes, so that writing takes a good part of the time
    write_survey(path, make_survey(title=str(number), notes=f"{number} " * 12_000))


def main(folder: Path, kills: int, seed: int) -> None:
    path = folder / "malthouse.survey.json"
    chance = random.Random(seed)
    number, faults, cut_short = 0, [], 0
    for _ in range(kills):
        confirmed = kill_once(partial(save, path), number, chance.uniform(0.0, 0.03))
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
