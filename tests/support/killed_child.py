"""A child process that writes version after version until it is killed."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from typing import NoReturn

NUMBER_BYTES = 8


def write_for_ever(write: Callable[[int], object], first: int, confirm: int) -> NoReturn:
    """Write version after version, and tell through a pipe of each that is written."""
    number = first
    while True:
        write(number)
        os.write(confirm, number.to_bytes(NUMBER_BYTES, "big"))
        number += 1


def kill_once(write: Callable[[int], object], first: int, wait_s: float) -> int:
    """Start a child that writes, kill it after `wait_s`; the number it confirmed last."""
    reading, confirm = os.pipe()
    child = os.fork()
    if child == 0:
        write_for_ever(write, first, confirm)
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
