"""Run the command line inside the test's own process."""

from __future__ import annotations

import contextlib
import io
import sys
from unittest import mock

from measure.cli import main


def run_command(*words: object) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of one command."""
    out, err = io.StringIO(), io.StringIO()
    argv = ["storeyrod", *map(str, words)]
    with (
        mock.patch.object(sys, "argv", argv),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            main()
        except SystemExit as stop:
            status = stop.code if isinstance(stop.code, int) else 1
        else:
            status = 0
    return status, out.getvalue(), err.getvalue()
