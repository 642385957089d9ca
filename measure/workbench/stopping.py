"""Long work that ends when the page no longer waits for it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import partial
from typing import TypeVar

import anyio
from fastapi import Request
from starlette.concurrency import run_in_threadpool

from shared.errors import StoreyrodError

T = TypeVar("T")

#: How often it is looked whether the page is still there, in seconds.
LOOK_S = 0.1


class LeftError(StoreyrodError):
    """The page stopped the work or was closed; nothing of it is kept."""

    code = "stopped"


class Waiting:
    """Whether the page still waits. Work asks it between its steps; safe between threads."""

    def __init__(self) -> None:
        self._left = threading.Event()

    def leave(self) -> None:
        """The page has gone."""
        self._left.set()

    def check(self) -> None:
        """Raise `LeftError` once the page has gone."""
        if self._left.is_set():
            raise LeftError("Stopped: nothing was written.")

    def report(self, _what: str, _share: float) -> bool:
        """Answer a report of progress: False once the page has gone."""
        return not self._left.is_set()


async def run_while_awaited(request: Request, work: Callable[[Waiting], T]) -> T:
    """Run work in a thread, and tell it when the page stops waiting.

    Parameters
    ----------
    request : Request
        Its body must have been read.
    work : callable
        Given a `Waiting` that it asks between its steps.

    Raises
    ------
    LeftError
        If the page left; whatever else the work raises.
    """
    waiting = Waiting()

    async def watch() -> None:
        while not await request.is_disconnected():
            await anyio.sleep(LOOK_S)
        waiting.leave()

    made: list[T] = []
    problems: list[Exception] = []
    async with anyio.create_task_group() as group:
        group.start_soon(watch)
        try:
            made.append(await run_in_threadpool(partial(work, waiting)))
        except Exception as problem:  # carried out of the group as it is
            problems.append(problem)
        group.cancel_scope.cancel()
    if problems:
        raise problems[0]
    return made[0]
