"""Work that the page no longer waits for ends, and leaves nothing."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import httpx
import pytest

from measure.workbench import routes_drawing
from measure.workbench.stopping import LeftError, Waiting


def test_work_hears_of_it_when_the_page_has_gone():
    waiting = Waiting()
    waiting.check()
    assert waiting.report("drawing", 0.5) is True
    waiting.leave()
    assert waiting.report("drawing", 0.6) is False
    with pytest.raises(LeftError, match="nothing was written"):
        waiting.check()


def test_an_export_that_is_stopped_ends_on_the_server_and_writes_nothing(
    workbench, demo, monkeypatch
):
    began, stopped = threading.Event(), threading.Event()

    def endless(*arguments: object) -> dict[str, bytes]:
        waiting = arguments[-1]
        assert isinstance(waiting, Waiting)
        began.set()
        end = time.monotonic() + 30
        while time.monotonic() < end:
            if waiting.report("drawing", 0.1) is False:
                stopped.set()
            waiting.check()
            time.sleep(0.01)
        return {"late.svg": b"late"}

    monkeypatch.setattr(routes_drawing, "_files", endless)
    body = {"document": demo["document"], "face": "front", "format": "svg"}
    folder = Path(demo["folder"]) / "exports"
    before = sorted(folder.glob("*"))
    leaving = httpx.Client(
        base_url=workbench.address, cookies=workbench.cookies, timeout=httpx.Timeout(60, read=0.3)
    )

    def ask() -> None:
        while not began.is_set():
            with pytest.raises(httpx.ReadTimeout):
                leaving.post(f"/api/surveys/{demo['key']}/exports", json=body)

    with leaving:
        ask()
    assert stopped.wait(10)
    assert sorted(folder.glob("*")) == before


def test_a_refusal_of_an_export_is_still_told(client, demo):
    body = {"document": demo["document"], "face": "nowhere", "format": "svg"}
    told = client.post(f"/api/surveys/{demo['key']}/exports", json=body)
    assert told.status_code == 409
    assert "nowhere" in told.json()["message"]
