"""A batch, strung together once: the table, the rows done one after the other, the summary."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import TextIO
from urllib.parse import quote

from drafting.errors import Problem, SheetError
from workroom.batch.engines import engine_for, in_order
from workroom.batch.rows import Job, Outcome, Setting, jobs
from workroom.batch.table import Row, Table
from workroom.folder.folder import cannot, remove_if_empty, replaced_file, tidy
from workroom.folder.locks import BATCH, alone_in
from workroom.papers.booklets.report import version

# ---- The summary of a batch: a table for spreadsheets and a page for the browser, a row an
# order

CSV, HTML = "summary.csv", "summary.html"
_HEAD = (
    *("line", "client", "order", "date", "folder", "verdict", "passed", "noted", "failed"),
    *("why", "remarks"),
)
FIT, UNFIT, REFUSED = "fit for cutting", "NOT FOR CUTTING", "refused"
#: Signs at the start of a cell that a spreadsheet takes for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_MARK = b"\xef\xbb\xbf"
_PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="generator" content="Neckarc">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Orders of {table}</title>
<style>
body {{ font: 1rem/1.5 Georgia, serif; color: #1d2a33; background: #fbfaf7; margin: 2rem auto;
  max-width: 96rem; padding: 0 1rem; }}
h1 {{ font-size: 1.5rem; font-weight: normal; border-bottom: 3px solid #1c3f94; }}
table {{ border-collapse: collapse; width: 100%; }}
th, td {{ text-align: left; vertical-align: top; padding: 0.3rem 0.8rem 0.3rem 0;
  border-bottom: 1px solid #d5d2c8; overflow-wrap: break-word; max-width: 30rem; }}
th {{ font-weight: normal; color: #5a6670; }}
th, td.verdict, td.day {{ white-space: nowrap; }}
td.number {{ text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }}
tr.unfit td.verdict {{ color: #b00020; font-weight: bold; }}
tr.refused td.verdict {{ color: #8a4b00; font-weight: bold; }}
ul {{ margin: 0; padding-left: 1.1rem; }}
</style></head><body>
<h1>Orders of {table}</h1>
<table><thead><tr>{head}</tr></thead><tbody>
"""


@dataclass(slots=True)
class Totals:
    """How many orders came out how. ``fresh`` folders were written now, the rest was there."""

    fit: int = 0
    unfit: int = 0
    refused: int = 0
    fresh: int = 0
    faults: int = 0

    @property
    def rows(self) -> int:
        """All rows."""
        return self.fit + self.unfit + self.refused

    def add(self, outcome: Outcome) -> None:
        """Count one in."""
        verdict = verdict_of(outcome)
        self.fit += verdict == FIT
        self.unfit += verdict == UNFIT
        self.refused += verdict == REFUSED
        self.fresh += outcome.fresh
        self.faults += outcome.fault

    def words(self) -> str:
        """For people."""
        return (
            f"{self.rows} orders: {self.fit} {FIT}, {self.unfit} {UNFIT}, {self.refused} {REFUSED}"
        )


def verdict_of(outcome: Outcome) -> str:
    """What a row of the summary says of an order."""
    if outcome.account is None:
        return REFUSED
    return UNFIT if outcome.account.failed else FIT


class Summary:
    """The two files as they are written."""

    def __init__(self, table: TextIO, page: TextIO, name: str, delimiter: str) -> None:
        self.totals = Totals()
        self._page = page
        self._rows = csv.writer(table, delimiter=delimiter)
        self._rows.writerow(_HEAD)
        head = "".join(f"<th>{word}</th>" for word in _HEAD)
        page.write(_PAGE.format(table=escape(name), head=head))

    def add(self, outcome: Outcome) -> None:
        """Write one row."""
        self.totals.add(outcome)
        account = outcome.account
        numbers: tuple[object, ...] = ("", "", "")
        if account is not None:
            numbers = (account.passed, account.noted, len(account.failed))
        why = outcome.reasons if account is None else account.failed
        remarks = () if account is None else account.unusual
        verdict = verdict_of(outcome)
        told = (outcome.client, outcome.order, outcome.date, outcome.folder)
        self._rows.writerow(
            (
                *(outcome.line, *map(_cell, told), verdict, *numbers),
                *(_cell(" | ".join(words)) for words in (why, remarks)),
            )
        )
        self._page.write(_html_row(outcome, verdict, numbers, (why, remarks)))

    def end(self) -> None:
        """Write what comes after the last row."""
        self._page.write(
            f"</tbody></table>\n<p>{escape(self.totals.words())}.</p>\n</body></html>\n"
        )


@contextmanager
def summary_in(into: Path, name: str, delimiter: str) -> Iterator[Summary]:
    """A summary that takes its place in ``into`` at the end. Raises :class:`SheetError`."""
    table, page = into / CSV, into / HTML
    _refuse_strange(table, _MARK + delimiter.join(_HEAD).encode(), _MARK + b"line")
    _refuse_strange(page, b"<!DOCTYPE html>", b"<!DOCTYPE html>")
    with ExitStack() as stack:
        beside = [stack.enter_context(replaced_file(path)) for path in (table, page)]
        with (
            beside[0].open("w", encoding="utf-8-sig", newline="") as rows,
            beside[1].open("w", encoding="utf-8", newline="\n") as text,
        ):
            summary = Summary(rows, text, name, delimiter)
            yield summary
            summary.end()


def _refuse_strange(path: Path, start: bytes, otherwise: bytes) -> None:
    """An older summary may be replaced; a file of the maker's own may not."""
    try:
        with path.open("rb") as file:
            found = file.read(len(start))
    except FileNotFoundError:
        return
    except OSError:
        found = b""
    if found != start and not found.startswith(otherwise):
        raise SheetError(
            Problem(
                "a file of this name is not a batch summary",
                place=str(path),
                advice="Move it, or choose another folder with --into. Nothing was written.",
            )
        )


def _html_row(
    outcome: Outcome,
    verdict: str,
    numbers: tuple[object, ...],
    words: tuple[tuple[str, ...], ...],
) -> str:
    look = {FIT: "fit", UNFIT: "unfit", REFUSED: "refused"}[verdict]
    folder = ""
    if outcome.folder:
        folder = f'<a href="{quote(outcome.folder)}/">{escape(outcome.folder)}</a>'
    told = (escape(outcome.client), escape(outcome.order))
    cells = "".join(f"<td>{word}</td>" for word in told)
    cells += f'<td class="day">{escape(outcome.date)}</td><td>{folder}</td>'
    counts = "".join(f'<td class="number">{number}</td>' for number in numbers)
    listed = "".join(f"<td>{_listed(lines)}</td>" for lines in words)
    return (
        f'<tr class="{look}"><td class="number">{outcome.line}</td>{cells}'
        f'<td class="verdict">{verdict}</td>{counts}{listed}</tr>\n'
    )


def _listed(lines: tuple[str, ...]) -> str:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<ul>{items}</ul>" if items else ""


def _cell(text: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


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
