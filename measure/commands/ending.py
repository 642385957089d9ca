"""How a command ends: its exit status, and one sentence where it did not go well."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import NoReturn

import typer

from shared.errors import StoreyrodError

#: Exit status of a command stopped with Ctrl-C, as shells have it (common practice, no source).
STOPPED = 130


def end_in_words(run: Callable[[], object], *, debug: bool) -> NoReturn:
    """Run a command and end the process; with `debug`, refusals and mistakes show their place."""
    try:
        status = run()
        if status == STOPPED:  # newer typer ends so where others let the interruption through
            raise KeyboardInterrupt
        sys.exit(status if isinstance(status, int) else 0)
    except (typer.Abort, KeyboardInterrupt):
        _say("Stopped.")
        sys.exit(STOPPED)
    except BrokenPipeError:
        sys.exit(0)
    except Exception as error:
        # a wrong use of the command line; its class moved between versions of typer
        if hasattr(error, "format_message"):
            _say(error.format_message())
            sys.exit(2)
        if debug:
            raise
        _say(_sentence(error))
        sys.exit(error.exit_status if isinstance(error, StoreyrodError) else 1)


def _sentence(error: Exception) -> str:
    if isinstance(error, StoreyrodError):
        return str(error)
    if isinstance(error, ImportError) and "cannot open shared object" in str(error):
        return (
            f"This system lacks a library that OpenCV needs ({str(error).split(':')[0]}): install "
            "it, on Debian or Ubuntu by sudo apt install libgl1 libglib2.0-0, and run this again."
        )
    return (
        f"storeyrod made a mistake ({type(error).__name__}); run it again with --debug before the "
        "command to see where."
    )


def _say(text: str) -> None:
    """Print one line on standard error."""
    print("storeyrod: " + " ".join(text.split()), file=sys.stderr)
