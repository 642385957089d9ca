"""Write exports over and over in a child process and kill it in the middle, many times.

Run as ``python -m tests.support.export_and_kill FOLDER KILLS SEED``; prints what it found as
JSON. Every file must be whole afterwards: of the last confirmed set or of the one in hand.
"""

from __future__ import annotations

import json
import random
import sys
from functools import partial
from pathlib import Path

from measure.export.files import write_files
from tests.support.killed_child import kill_once

NAMES = ("sheet-01.svg", "sheet-01.dxf", "parts.pdf", "cut-list.csv")


def contents_of(number: int) -> dict[str, bytes]:
    """Contents of one set of files, large enough that writing takes a good part of the time."""
    return {name: f"{name} {number}\n".encode() * 30_000 for name in NAMES}


def export(folder: Path, number: int) -> None:
    write_files(folder, contents_of(number))


def main(folder: Path, kills: int, seed: int) -> None:
    """Kill so many times and print what was found."""
    chance = random.Random(seed)
    number, faults, mixed = 0, [], 0
    for _ in range(kills):
        confirmed = kill_once(partial(export, folder), number, chance.uniform(0.0, 0.03))
        found = set()
        for name in NAMES:
            content = (folder / name).read_bytes()
            said = int(content.split(b"\n", 1)[0].split()[-1])
            found.add(said)
            if content != contents_of(said)[name]:
                faults.append(f"{name} is not whole")
            if said not in (confirmed, confirmed + 1):
                faults.append(f"confirmed {confirmed}, {name} is of {said}")
        mixed += len(found) > 1
        number = confirmed + 2
    print(json.dumps({"sets": number, "faults": faults, "mixed": mixed}))


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
