"""``neckarc batch``: a whole table of orders from the command line."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from workroom.console.cli import DXF, PAPERS, answer

if TYPE_CHECKING:
    from workroom.batch.rows import Outcome
    from workroom.batch.run import Totals

#: So many refused rows are told on the screen; all of them stand in the summary.
_TOLD = 20
STOPPED = 130
_AGAIN = "Run the same command again to go on."


@click.command(name="batch", short_help="Draft a table of orders, a folder each.")
@click.argument("orders", type=click.Path(path_type=Path))
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="The folder in which every order's own folder is made, and the summary.",
)
@click.option(
    "--cores",
    type=click.IntRange(1, 512),
    default=None,
    help="How many cores to use; all, if left out.",
)
@PAPERS
@DXF
@click.option("--date", default="", help="The day (2026-03-14) of rows that have none.")
@click.option("--replace", is_flag=True, help="Replace the folders of orders that changed.")
@click.option("--scheduler", default="", help="A Dask scheduler (tcp://10.0.0.5:8786) to work for.")
def batch(
    orders: Path,
    into: Path,
    cores: int | None,
    kinds: tuple[str, ...],
    profiles: str,
    date: str,
    replace: bool,
    scheduler: str,
) -> None:
    """Draft every row of ORDERS, a CSV table, into a folder of its own.

    Columns are called as the keys of a client card: client, date, bust_girth, method, collar,
    collar.stand_back, ...; or one column, card, holds the paths of cards. Run again after any
    interruption: what is finished is not done twice.

    Exit status: 0 all is well; 1 something could not be written; 2 rows were refused (the others
    are done); 3 none was refused, but a check failed; 130 stopped by Ctrl-C.
    """

    def work() -> int:
        from drafting.errors import SheetError
        from workroom.batch.run import run_batch
        from workroom.batch.table import open_table

        table = open_table(orders)
        try:
            with _watched(table.count) as watch:
                totals = run_batch(
                    table,
                    into,
                    cores=cores or 0,
                    scheduler=scheduler,
                    kinds=kinds,
                    profiles=profiles,
                    replace=replace,
                    date=date,
                    watch=watch.told,
                )
        except SheetError:
            click.echo(f"Stopped: the orders finished so far stay. {_AGAIN}", err=True)
            raise
        return _said(totals, into, watch)

    try:
        answer(work)
    except KeyboardInterrupt:
        click.echo(f"Stopped: the orders finished so far stay. {_AGAIN}", err=True)
        sys.exit(STOPPED)


class _Watch:
    """Tells of refused rows, and counts."""

    def __init__(self, step: Callable[[], None], say: Callable[[str], None]) -> None:
        self._step, self._say = step, say
        self._refused = 0
        self._begun = time.monotonic()

    def told(self, outcome: Outcome) -> None:
        """One row is done."""
        self._step()
        for line in outcome.said:
            self._say(f"{outcome.folder}: {line}")
        if not outcome.reasons:
            return
        self._refused += 1
        if self._refused <= _TOLD:
            for reason in outcome.reasons:
                self._say(reason)
        elif self._refused == _TOLD + 1:
            self._say("More rows are refused; see the summary.")

    @property
    def seconds(self) -> float:
        """Since the first row."""
        return max(time.monotonic() - self._begun, 1e-3)


@contextmanager
def _watched(count: int) -> Iterator[_Watch]:
    """A bar with rate and time left in a terminal, nothing but refused rows anywhere else."""
    if not sys.stderr.isatty():
        yield _Watch(lambda: None, lambda text: click.echo(text, err=True))
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    console = Console(stderr=True)
    columns: list[Any] = [
        TextColumn("Orders"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}"),
        TimeRemainingColumn(),
        TextColumn("left"),
    ]
    with Progress(*columns, console=console) as progress:
        task = progress.add_task("", total=count, rate="")
        done, begun = 0, time.monotonic()

        def step() -> None:
            nonlocal done
            done += 1
            rate = done / max(time.monotonic() - begun, 1e-3)
            progress.update(task, completed=done, rate=f"{rate:.1f} a second")

        yield _Watch(step, lambda text: console.print(text, markup=False, highlight=False))


def _said(totals: Totals, into: Path, watch: _Watch) -> int:
    rate = totals.rows / watch.seconds
    click.echo(
        f"{totals.words()}; {totals.rows - totals.fresh - totals.refused} were there already"
    )
    click.echo(f"{rate:.1f} orders a second. Summary: {into / 'summary.html'}")
    if totals.refused:
        return 2
    return 3 if totals.unfit else 0
