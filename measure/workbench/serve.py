"""Listen on the loopback address and open the page in the browser."""

from __future__ import annotations

import os
import socket
import sys
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from measure.demo_building import find_demo_folder
from measure.workbench.app import make_app
from measure.workbench.guard import Keys
from measure.workbench.routes_start import check_is_photo_or_survey, survey_beside_photo
from measure.workbench.shelf import Shelf
from shared.errors import InputError

LOOPBACK = "127.0.0.1"


def state_folder_of_user() -> Path:
    """Folder for the list of recent surveys and the page's key, by the system's custom."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return (Path(base) if base else Path.home() / "AppData" / "Local") / "storeyrod"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "storeyrod"
    base = os.environ.get("XDG_STATE_HOME")
    return (Path(base) if base else Path.home() / ".local" / "state") / "storeyrod"


def home_of_user() -> Path:
    """Folder where surveys started from a dropped photo are put."""
    return Path.home() / "storeyrod"


def listen(port: int) -> socket.socket:
    """Open a socket on the loopback address; port 0 takes a free one.

    Raises
    ------
    InputError
        If the port is taken.
    """
    # asyncio sends small answers at once (TCP_NODELAY) only where the protocol is named
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((LOOPBACK, port))
    except OSError as cause:
        listening.close()
        raise InputError(
            f"Port {port} is taken or not allowed.", hint="Leave --port out to take a free one."
        ) from cause
    return listening


def serve(
    file: Path | None = None,
    *,
    port: int = 0,
    browser: bool = True,
    home: Path | None = None,
    state_folder: Path | None = None,
    say: Callable[[str], object] = print,
) -> None:
    """Serve the workbench until it is stopped.

    Parameters
    ----------
    file : Path, optional
        A photo or a survey to open.
    port : int
        0 takes a free one.
    browser : bool
        Whether to open the page.
    home, state_folder : Path, optional
        Where new surveys and the list of recent ones are kept.
    say : callable
        Told the address.

    Raises
    ------
    InputError, FileError
        If the file cannot be opened or the port is taken.
    """
    home, state = home or home_of_user(), state_folder or state_folder_of_user()
    shelf = Shelf(home, state)
    opened = None
    if file is not None:
        kind = check_is_photo_or_survey(file)
        survey = shelf.open(file) if kind == "survey" else survey_beside_photo(shelf, file)
        opened = survey.key
    keys = Keys(state)
    app = make_app(
        home, state, keys=keys, opened=opened, demo_folder=find_demo_folder(), shelf=shelf
    )
    listening = listen(port)
    address = f"http://{LOOPBACK}:{listening.getsockname()[1]}/?key={keys.token}"
    say(f"storeyrod is open at {address}")
    say("It listens to this computer only. Everything is saved as you go; stop it with Ctrl-C.")
    if browser:
        webbrowser.open(address)
    config = uvicorn.Config(app, log_level="warning", server_header=False, date_header=False)
    uvicorn.Server(config).run(sockets=[listening])
