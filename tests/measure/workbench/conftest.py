from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.support.workbench import RunningWorkbench


@pytest.fixture(scope="module")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningWorkbench]:
    folder: Path = tmp_path_factory.mktemp("workbench")
    running = RunningWorkbench(folder / "home", folder / "state").start()
    yield running
    running.stop()


@pytest.fixture
def client(workbench: RunningWorkbench) -> Iterator[httpx.Client]:
    with workbench.client() as client:
        yield client


@pytest.fixture
def demo(client: httpx.Client) -> dict:
    answer = client.post("/api/demo", json={})
    assert answer.status_code == 200
    return answer.json()
