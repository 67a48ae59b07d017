"""What is done with one input of ``fuzz.py``, and what must hold: whatever the bytes, an order or
the reasons why there is none, soon, in bounded memory, and no file but in the folder it is for."""

from __future__ import annotations

import io
import json
import math
import os
import shutil
import signal
import sys
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from html.parser import HTMLParser
from pathlib import Path
from types import FrameType
from typing import Any

from blocks.bodice.methods import quantities, read_method
from blocks.body.body import complete
from blocks.body.measures import measurements
from drafting.errors import NeckarcError, Problem
from drafting.library import data_folder, read_toml
from garment.garment import Garment, make_garment
from workroom.batch.rows import Job, Outcome, Setting, draft_row, finished, jobs, row_card, taken_by
from workroom.batch.run import Summary
from workroom.batch.table import Row, open_table
from workroom.card.card import read_card_text
from workroom.card.file import decode
from workroom.folder.record import Owner
from workroom.making import order_of_making
from workroom.papers.papers import papers
from workroom.worksheet.making import make_worksheet, worksheet_lines

#: So many rows of a table are drafted; the others are only read.
_DRAFTED = 2
#: What writes to a disk, and at which place of its arguments the path stands.
_WRITES: Mapping[str, tuple[int, ...]] = {
    **dict.fromkeys(("os.mkdir", "os.rmdir", "os.remove", "os.truncate", "os.chmod"), (0,)),
    **dict.fromkeys(("os.rename", "os.link", "os.symlink"), (0, 1)),
}
_NEVER = ("os.system", "os.exec", "os.posix_spawn", "subprocess.Popen", "socket.connect")
#: What stands in papers though it cannot be printed: ends of lines, and two signs of spelling.
_MAY = "\n\t\u200c\u200d"
_OPENS = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


class Slow(BaseException):
    """The time is up. No ``Exception``: nothing on the way may take it for one of its own."""


class Guard:
    """Sees every file that is written and every process that is started, and the time."""

    def __init__(self, folder: Path) -> None:
        self.strange: list[str] = []
        self._on, self._folder = False, os.path.realpath(folder)
        signal.signal(signal.SIGPROF, self._too_slow)
        sys.addaudithook(self._seen)

    @contextmanager
    def over(self, seconds: float) -> Iterator[None]:
        """So many seconds of the processor, and no file outside the folder."""
        self.strange.clear()
        self._on = True
        signal.setitimer(signal.ITIMER_PROF, seconds)
        try:
            yield
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            self._on = False
        if self.strange:
            raise AssertionError(f"outside its folder: {self.strange[:3]}")

    def _too_slow(self, number: int, frame: FrameType | None) -> None:
        raise Slow("no answer in time")

    def _seen(self, event: str, given: tuple[Any, ...]) -> None:
        if not self._on:
            return
        if event in _NEVER:
            self.strange.append(f"{event} {given[:2]}")
        elif event == "open":
            path, mode, flags = given
            if flags & _OPENS or set(str(mode or "")) & set("wax+"):
                self._must_be_inside(event, path)
        elif event in _WRITES and not _beneath(event, given):
            for place in _WRITES[event]:
                self._must_be_inside(event, given[place])

    def _must_be_inside(self, event: str, path: object) -> None:
        if isinstance(path, int):
            return
        text = os.path.realpath(os.fsdecode(path))  # type: ignore[arg-type]
        if not text.startswith(self._folder + os.sep):
            self.strange.append(f"{event} {text}")


def _beneath(event: str, given: tuple[Any, ...]) -> bool:
    """Whether a path is told from an open folder, which was looked at when it was opened."""
    return event != "os.chmod" and any(isinstance(one, int) and one != -1 for one in given[1:])


class Tries:
    """Tries inputs in a folder of its own. ``every`` asks for every paper of every order, not only
    for some of them now and then."""

    def __init__(self, folder: Path, every: bool = False) -> None:
        self._folder, self._every, self._drafted = folder, every, 0
        self._known: set[int] = set()
        demo = (data_folder() / "clients" / "demo.toml").read_bytes()
        (folder / "good.toml").write_bytes(demo)
        self._kinds: Mapping[str, Callable[[bytes], str]] = {
            **dict.fromkeys(("card", "built", "taped", "extreme"), self._card),
            **{"table": self._table, "method": self._method, "account": self._account},
        }

    def one(self, kind: str, data: bytes) -> str:
        """Try one input; how it ended, in a word. Raises whatever is a fault."""
        try:
            return self._kinds[kind](data)
        except NeckarcError as error:
            _in_words(error.problems)
            return "refused"

    def tidy(self) -> None:
        """Remove what a fault left behind."""
        for name in ("out", "order"):
            shutil.rmtree(self._folder / name, ignore_errors=True)

    def _card(self, data: bytes) -> str:
        card = read_card_text(decode(data, "anna.toml"), "anna.toml")
        asked = hash(repr(card))
        if asked in self._known:  # spoilt where it does not matter
            return "known"
        self._known.add(asked)
        try:
            order = make_garment(card)
        except NeckarcError as error:
            _in_words(error.problems)
            return "not drafted"
        self._look_at(order)
        return "drafted, failed" if order.failed else "drafted"

    def _look_at(self, order: Garment) -> None:
        """Papers of an order: the text always, the others in turn."""
        self._drafted += 1
        kinds = {"checks"}
        if self._every:
            kinds = {"all"}
        elif self._drafted % 40 == 0:
            kinds |= {("pictures", "dxf", "booklets", "print")[self._drafted // 40 % 4]}
        files = papers(order, "all", tuple(kinds))
        json.loads(files["report.json"], parse_constant=_no_number)
        sheet = worksheet_lines(make_worksheet(order)) if order.bodice else []
        said = [files["checks.txt"].decode(), *sheet, *order_of_making(order).lines()]
        assert not [sign for sign in "".join(said) if not (sign.isprintable() or sign in _MAY)]
        for check in order.checks:
            assert math.isfinite(check.measured), check
            assert math.isfinite(check.target), check
        for name, content in files.items():
            assert content, name
            if name.endswith(".svg"):
                _is_svg(content)

    def _table(self, data: bytes) -> str:
        path, into = self._folder / "orders.csv", self._folder / "out"
        path.write_bytes(data)
        table = open_table(path)
        setting = Setting(into, table.path, ("checks",))
        text, page = io.StringIO(), io.StringIO()
        summary, drafted = Summary(text, page, table.name, table.delimiter), 0
        for item in jobs(table, "2026-03-14"):
            if isinstance(item, Row):
                assert item.problem is not None
                _in_words([item.problem])
                summary.add(Outcome(item.line, reasons=(str(item.problem),)))
            elif drafted < _DRAFTED:
                outcome = draft_row(item, setting)
                assert not outcome.fault, outcome.reasons
                assert all(reason.isprintable() for reason in outcome.reasons), outcome.reasons
                assert (outcome.account is None) == bool(outcome.reasons)
                drafted += outcome.account is not None
                summary.add(outcome)
            else:
                _only_read(item)
        summary.end()
        _is_page(page.getvalue(), summary.totals.rows)
        if drafted:
            shutil.rmtree(into)
        assert {p.name for p in self._folder.iterdir()} == {"orders.csv", "good.toml"}
        return "drafted" if drafted else "all rows refused"

    def _method(self, data: bytes) -> str:
        read = read_method(read_toml(decode(data, "mine.toml"), "mine.toml"), "mine")
        found = quantities(read, complete(dict.fromkeys(measurements(), 92.0)), neck_ease=0.5)
        assert all(math.isfinite(value) for value in found.values()), dict(found)
        return "read"

    def _account(self, data: bytes) -> str:
        place = self._folder / "order"
        place.mkdir()
        try:
            (place / "order.json").write_bytes(data)
            (place / "a.txt").write_bytes(b"x")
            taken_by("m", Owner("order", "", "", "", "", ""), replace=True)(place)
            return "finished" if finished(place, "m") else "not finished"
        finally:
            shutil.rmtree(place)


def _only_read(job: Job) -> None:
    with suppress(NeckarcError):
        row_card(job)


def _in_words(problems: tuple[Problem, ...] | list[Problem]) -> None:
    assert problems, "refused without a reason"
    for problem in problems:
        assert problem.said
        assert str(problem).isprintable(), str(problem)
        assert len(str(problem)) < 20_000, str(problem)[:200]


def _no_number(word: str) -> None:
    raise AssertionError(f"{word} in the report")


def _is_svg(content: bytes) -> None:
    names = {element.tag for element in ElementTree.fromstring(content).iter()}
    foreign = {name for name in names if name.rpartition("}")[2] in ("script", "b", "font", "a")}
    assert not foreign, foreign


class _Count(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.rows, self.foreign = 0, 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.rows += tag == "tr"
        self.foreign += tag in ("script", "svg", "b", "font")


def _is_page(text: str, rows: int) -> None:
    """The page has its rows and no markup out of a name."""
    count = _Count()
    count.feed(text)
    assert count.rows == rows + 1, (count.rows, rows)
    assert not count.foreign
