"""Real Chromium on the real program. Skipped, with a reason, where no Chromium is installed."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.workbench import RunningWorkbench

SCREENS = Path(__file__).parents[2] / "screens-out"
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def find_chromium() -> str | None:
    named = os.environ.get("STOREYROD_CHROMIUM")
    names = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
    return named or next((found for name in names if (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = find_chromium()
    if program is None:
        pytest.skip("no Chromium is installed; set STOREYROD_CHROMIUM to one")
    with sync_api.sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def workbench(tmp_path: Path) -> Iterator[RunningWorkbench]:
    running = RunningWorkbench(tmp_path / "home", tmp_path / "state").start()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def screens() -> Path:
    SCREENS.mkdir(exist_ok=True)
    return SCREENS
