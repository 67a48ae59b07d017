"""A batch, strung together once: the table, the rows done one after the other, the summary."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from drafting.errors import SheetError
from workroom.batch.engines import engine_for, in_order
from workroom.batch.jobs import Job, jobs
from workroom.batch.row import Outcome, Setting
from workroom.batch.summary import Summary, Totals, summary_in
from workroom.batch.table import Row, Table
from workroom.folder import cannot, remove_if_empty, tidy
from workroom.locks import BATCH, alone_in
from workroom.report import version

Watch = Callable[[Outcome], None]
_OTHER = "another batch is writing into this folder"


def run_batch(
    table: Table,
    into: Path,
    *,
    cores: int = 0,
    scheduler: str = "",
    kinds: tuple[str, ...] = ("all",),
    profiles: str = "drawing",
    replace: bool = False,
    date: str = "",
    watch: Watch | None = None,
) -> Totals:
    """Draft every order of a table into a folder of its own in ``into``, and sum up.

    ``cores`` processes, all there are when nought; or the workers of a ``scheduler``. ``watch`` is
    told every outcome, in the order of the table. What was finished before is kept. Raises
    :class:`SheetError` when something cannot be written: what was finished stays finished.
    """
    setting = Setting(
        into=into.absolute(),
        table=table.path.absolute(),
        kinds=kinds,
        profiles=profiles,
        replace=replace,
        program=version(),
    )
    with _alone(into), summary_in(into, table.name, table.delimiter) as summary:
        with engine_for(setting, cores or usable_cores(), scheduler) as engine:
            for outcome in in_order(engine, _work(table, date)):
                _tell(outcome, summary, watch)
        return summary.totals


def usable_cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _work(table: Table, date: str) -> Iterator[Job | Outcome]:
    for item in jobs(table, date):
        if isinstance(item, Row):
            assert item.problem is not None
            yield Outcome(item.line, reasons=(str(item.problem),))
        else:
            yield item


def _tell(outcome: Outcome, summary: Summary, watch: Watch | None) -> None:
    summary.add(outcome)
    if watch is not None:
        watch(outcome)


@contextmanager
def _alone(into: Path) -> Iterator[None]:
    """The folder made, ours alone among batches, and cleared of what a batch that was stopped, or a
    worker that was lost, left half done."""
    new = not into.exists()
    try:
        with ExitStack() as stack:
            try:
                into.mkdir(parents=True, exist_ok=True)
                stack.enter_context(alone_in(into, BATCH, patience=0.0, other=_OTHER))
            except SheetError:
                raise
            except OSError as error:
                raise cannot(into, error, "Choose another folder with --into.") from error
            tidy(into)
            yield
            tidy(into)  # a worker that was lost may have left something half written
    except BaseException:
        if new:
            remove_if_empty(into)
        raise
