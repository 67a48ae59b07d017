"""Many machines: the rows of a batch on a Dask distributed scheduler (https://distributed.dask.org).

Every worker must see the same folders under the same names, and have the same Neckarc installed. A
worker that is lost gives its rows to the others.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager
from typing import Any

from drafting.errors import DraftError, Problem, SheetError
from workroom.batch.engines import LostError, Waiting
from workroom.batch.rows import Job, Outcome, Setting, draft_row

#: Seconds to wait for a scheduler, and between two looks whether there still are workers.
_PATIENCE = 20.0
#: Rows handed out ahead for every thread of every worker.
_AHEAD = 4


@contextmanager
def cluster(setting: Setting, address: str) -> Iterator[Far]:
    """The scheduler at an address (``tcp://10.0.0.5:8786``).

    Raises :class:`DraftError` when the library is not installed or nobody answers.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise DraftError(
            Problem(
                "a scheduler needs the library distributed",
                key="--scheduler",
                advice='Install it: pip install "neckarc[cluster]"',
            )
        ) from error
    try:
        client = Client(address, timeout=_PATIENCE)
    except (OSError, ValueError, TypeError) as error:
        raise DraftError(
            Problem(
                "no scheduler answers at this address",
                key="--scheduler",
                got=address,
                accepted="such as tcp://10.0.0.5:8786",
                advice="Is it running, and does the network let you through?",
            )
        ) from error
    try:
        yield Far(client, setting)
    finally:
        client.close()


class Far:
    """The workers of a cluster."""

    def __init__(self, client: Any, setting: Setting) -> None:
        self._client, self._setting = client, setting
        self.ahead = _AHEAD * max(2, sum(client.nthreads().values()))

    def start(self, job: Job) -> Waiting:
        """See :class:`workroom.batch.engines.Engine`."""
        return _Away(self._client, self._client.submit(draft_row, job, self._setting, pure=False))

    def renew(self) -> None:
        """The scheduler sees to it."""


class _Away:
    def __init__(self, client: Any, future: Any) -> None:
        self._client, self._future = client, future

    def outcome(self) -> Outcome:
        """See :class:`workroom.batch.engines.Waiting`."""
        from distributed import KilledWorker

        idle = 0
        while True:
            try:
                found: Outcome = self._future.result(timeout=_PATIENCE)
                return found
            except KilledWorker as error:
                raise LostError from error
            except CancelledError as error:
                raise _left("the scheduler is gone") from error
            except TimeoutError:
                idle = 0 if self._client.nthreads() else idle + 1
                if idle > 2:
                    raise _left("the scheduler has no workers any more") from None


def _left(said: str) -> SheetError:
    return SheetError(
        Problem(
            said,
            key="--scheduler",
            advice="What was finished stays. Run the same command again to go on.",
        )
    )
