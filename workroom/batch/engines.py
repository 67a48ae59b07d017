"""Who does the rows of a batch: this process, a process a core, or the workers of a cluster.

Rows are handed out a few ahead of the one that is waited for, and their outcomes come back in the
order of the table: memory is the same for ten rows and for ten thousand.
"""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from multiprocessing import connection, get_all_start_methods, get_context, parent_process
from typing import Any, Protocol

from drafting.errors import Problem
from workroom.batch.rows import Job, Outcome, Setting, draft_row, refused

#: So many rows a worker are handed out ahead.
_AHEAD = 4
_MODULES = ["workroom.batch.rows"]


class LostError(Exception):
    """Whoever did a row is gone, and the row's outcome with it."""


class Waiting(Protocol):
    """A row that is being done."""

    def outcome(self) -> Outcome:
        """Wait for it. Raises :class:`LostError`, and what the work raised."""


class Engine(Protocol):
    """What does rows. ``ahead`` is how many to hand out before the first is waited for."""

    ahead: int

    def start(self, job: Job) -> Waiting:
        """Hand out a row."""

    def renew(self) -> None:
        """Be ready again after a loss."""


def in_order(engine: Engine, jobs: Iterator[Job | Outcome]) -> Iterator[Outcome]:
    """The outcome of every job, in order; an outcome among them comes through.

    When workers are lost, the rows that were out are done again one at a time, and a row that is
    lost once more is refused: the others need not suffer for it.
    """
    out: deque[tuple[Job | None, Waiting]] = deque()
    more = True
    while more or out:
        while more and len(out) < engine.ahead:
            job = next(jobs, None)
            if job is None:
                more = False
            elif isinstance(job, Outcome):
                out.append((None, Ready(job)))
            else:
                out.append((job, engine.start(job)))
        if not out:
            return
        job, waiting = out.popleft()
        try:
            yield waiting.outcome()
        except LostError:
            engine.renew()
            rest = [(job, waiting), *out]
            out.clear()
            yield from _one_by_one(engine, rest)


def _one_by_one(engine: Engine, rest: list[tuple[Job | None, Waiting]]) -> Iterator[Outcome]:
    for job, waiting in rest:
        try:
            yield waiting.outcome() if job is None else engine.start(job).outcome()
        except LostError:
            assert job is not None
            engine.renew()
            yield refused(
                job,
                [
                    Problem(
                        "the process that drafted this was ended from outside",
                        job.place(()),
                        advice="Is there enough memory? Run the batch again.",
                    )
                ],
            )


class Ready:
    """An outcome that need not be waited for."""

    def __init__(self, outcome: Outcome) -> None:
        self._outcome = outcome

    def outcome(self) -> Outcome:
        """See :class:`Waiting`."""
        return self._outcome


class Here:
    """This very process: one row at a time, nothing to start."""

    ahead = 1

    def __init__(self, setting: Setting) -> None:
        self._setting = setting

    def start(self, job: Job) -> Waiting:
        """See :class:`Engine`."""
        return Ready(draft_row(job, self._setting))

    def renew(self) -> None:
        """Nothing is ever lost here."""


class Cores:
    """Processes on this machine. They end with the one that started them, however it ends."""

    def __init__(self, setting: Setting, cores: int) -> None:
        self._setting, self._cores = setting, cores
        self.ahead = cores * _AHEAD
        self._pool = self._new()

    def start(self, job: Job) -> Waiting:
        """See :class:`Engine`."""
        try:
            return _Later(self._pool.submit(draft_row, job, self._setting), BrokenProcessPool)
        except BrokenProcessPool:
            return _Gone()

    def renew(self) -> None:
        """See :class:`Engine`."""
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool = self._new()

    def close(self) -> None:
        """Let the rows that are being done end, and start no more."""
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _new(self) -> ProcessPoolExecutor:
        way = "forkserver" if "forkserver" in get_all_start_methods() else "spawn"
        context = get_context(way)
        if way == "forkserver":
            context.set_forkserver_preload(_MODULES)
        return ProcessPoolExecutor(self._cores, mp_context=context, initializer=_ready)


class _Later:
    """A row in another process. ``lost`` is what its future raises when that is gone."""

    def __init__(self, future: Future[Outcome], lost: type[Exception]) -> None:
        self._future, self._lost = future, lost

    def outcome(self) -> Outcome:
        """See :class:`Waiting`."""
        try:
            return self._future.result()
        except self._lost as error:
            raise LostError from error


class _Gone:
    def outcome(self) -> Outcome:
        """See :class:`Waiting`."""
        raise LostError


@contextmanager
def engine_for(setting: Setting, cores: int, scheduler: str) -> Iterator[Engine]:
    """The engine for a batch, ready to work; ended at the end."""
    if scheduler:
        from workroom.batch.cluster import cluster

        with cluster(setting, scheduler) as far:
            yield far
    elif cores == 1:
        yield Here(setting)
    else:
        near = Cores(setting, cores)
        try:
            yield near
        finally:
            near.close()


def _ready() -> None:
    """What a process does before its first row: leave Ctrl-C to the one that started it, and end
    when that is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=partial(_end_after, parent.sentinel), daemon=True).start()


def _end_after(sentinel: Any) -> None:
    connection.wait([sentinel])
    os._exit(1)
