"""A running workbench for tests: the real program on the loopback address, in a thread."""

from __future__ import annotations

import json
import shutil
import sys
import threading
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from measure.demo_building import find_demo_folder
from measure.workbench.app import make_app
from measure.workbench.guard import Keys
from measure.workbench.serve import listen
from measure.workbench.shelf import Shelf


@dataclass
class RunningWorkbench:
    """The program, started; `stop` and `start` again to lose and regain it on the same port."""

    home: Path
    state: Path
    port: int = 0
    shelf: Shelf | None = None
    keys: Keys | None = None
    _server: uvicorn.Server | None = None
    _thread: threading.Thread | None = field(default=None, repr=False)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def first_address(self) -> str:
        assert self.keys is not None
        return f"{self.address}/?key={self.keys.token}"

    @property
    def cookies(self) -> dict[str, str]:
        assert self.keys is not None
        return {f"storeyrod-{self.port}": self.keys.cookie_value}

    def start(self) -> RunningWorkbench:
        self.shelf = Shelf(self.home, self.state)
        self.keys = Keys(self.state)
        app = make_app(
            self.home,
            self.state,
            keys=self.keys,
            demo_folder=find_demo_folder(),
            shelf=self.shelf,
        )
        listening = listen(self.port)
        self.port = listening.getsockname()[1]
        config = uvicorn.Config(app, log_level="critical", lifespan="off")
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": [listening]}, daemon=True
        )
        self._thread.start()
        deadline = time.monotonic() + 20
        while not self._server.started:
            if time.monotonic() > deadline:
                raise TimeoutError("the workbench did not start within 20 s")
            time.sleep(0.02)
        return self

    def stop(self) -> None:
        if self._server is not None:
            self._server.should_exit = True
            self._server.force_exit = True
        if self._thread is not None:
            self._thread.join(timeout=10)
        self._server = self._thread = None

    def put_on_shelf(self, name: str, document: dict[str, Any], photos: Iterable[Path]) -> str:
        """Put a survey and its photos into a folder; gives the page's address of it."""
        folder = self.home / name
        folder.mkdir(parents=True)
        for photo in photos:
            shutil.copy(photo, folder)
        path = folder / f"{name}.survey.json"
        path.write_text(json.dumps(document), encoding="utf-8")
        assert self.shelf is not None
        return f"{self.first_address}#s/{self.shelf.open(path).key}"

    def survey_path(self) -> Path:
        """The survey that the page works on: the only one there is."""
        return next(self.home.rglob("*.survey.json"))

    def saved(self) -> dict[str, Any]:
        """That survey as it is saved."""
        document: dict[str, Any] = json.loads(self.survey_path().read_text(encoding="utf-8"))
        return document

    def client(self) -> httpx.Client:
        """A client that is let in."""
        return httpx.Client(base_url=self.address, cookies=self.cookies, timeout=60)


def main() -> None:
    """Serve a folder until the line on standard input ends: for timing from another process."""
    home, state, survey = (Path(argument) for argument in sys.argv[1:4])
    running = RunningWorkbench(home, state).start()
    assert running.shelf is not None
    told = {"port": running.port, "cookies": running.cookies, "key": running.shelf.open(survey).key}
    print(json.dumps(told), flush=True)
    sys.stdin.read()
    running.stop()


if __name__ == "__main__":
    main()
