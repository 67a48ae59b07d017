"""A batch as a maker meets it: every row answered, what is finished kept, nothing lost."""

from __future__ import annotations

import csv
import errno
import io
import json
import os
import re
import shutil
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from drafting.errors import SheetError
from drafting.library import data_folder
from garment.garment import make_garment
from tests.workroom.batch.tables import GOOD, HEAD, UNFIT, WRONG, left, many, table
from workroom.batch import rows as row_module
from workroom.batch.run import run_batch
from workroom.batch.table import open_table
from workroom.card.card import read_card_text
from workroom.commands import neckarc
from workroom.folder import folder
from workroom.folder.record import FILE
from workroom.papers.papers import papers

FIT_HEAD = f"{HEAD};neckline.fit"


def run(orders: Path, into: Path, *words: str) -> Result:
    told = ("batch", str(orders), "--into", str(into), "--cores", "1", "--papers", "checks", *words)
    return CliRunner().invoke(neckarc, list(told))


def rows(into: Path) -> list[dict[str, str]]:
    text = (into / "summary.csv").read_text(encoding="utf-8-sig")
    return list(csv.DictReader(io.StringIO(text), delimiter=";"))


def folders(into: Path) -> list[str]:
    return sorted(path.name for path in into.iterdir() if path.is_dir())


def test_every_row_is_answered_and_refused_ones_stop_no_other(tmp_path: Path) -> None:
    orders = table(
        tmp_path / "orders.csv", f"{GOOD};", f"{WRONG};", f"{UNFIT};none", f"{GOOD};", head=FIT_HEAD
    )
    result = run(orders, tmp_path / "out")
    found = rows(tmp_path / "out")

    assert result.exit_code == 2, result.output
    assert [row["verdict"] for row in found] == [
        "fit for cutting",
        "refused",
        "NOT FOR CUTTING",
        "fit for cutting",
    ]
    assert [row["line"] for row in found] == ["2", "3", "4", "5"]
    for place in ("orders.csv:3:D: measurements.bust_girth", "orders.csv:3:I: collar.kind"):
        assert place in found[1]["why"]
        assert place in result.output
    assert "neckline against neck base girth" in found[2]["why"]
    assert [row["folder"] for row in found if row["folder"]] == [
        "Anna-Berg-2026-03-14-Blouse-1",
        "Eva-Lind-2026-03-14",
        "Anna-Berg-2026-03-14-Blouse-1.line-5",
    ]
    assert "Traceback" not in result.output


def test_the_status_says_what_is_worst(tmp_path: Path) -> None:
    good = table(tmp_path / "good.csv", GOOD)
    unfit = table(tmp_path / "unfit.csv", f"{UNFIT};none", head=FIT_HEAD)
    nothing = table(tmp_path / "nothing.csv")

    assert run(good, tmp_path / "1").exit_code == 0
    assert run(unfit, tmp_path / "2").exit_code == 3
    assert run(nothing, tmp_path / "3").exit_code == 0
    assert run(tmp_path / "none.csv", tmp_path / "4").exit_code == 2
    assert not (tmp_path / "4").exists()


def test_a_row_gives_the_very_files_that_a_card_gives(tmp_path: Path) -> None:
    run(table(tmp_path / "orders.csv", GOOD), tmp_path / "out")
    card = """
client = "Anna Berg"
date = 2026-03-14
order = "Blouse 1"
[measurements]
bust_girth = 92.5
waist_girth = 74
back_waist_length = 39.5
neck_base_girth = 36
[garment]
method = "direct-measure"
[collar]
kind = "two-piece shirt"
"""
    wanted = papers(make_garment(read_card_text(card, "anna.toml")), kinds=("checks",))
    held = left(tmp_path / "out" / "Anna-Berg-2026-03-14-Blouse-1")

    assert {name: data for name, data in held.items() if name != FILE} == wanted


def test_what_looks_like_a_slip_is_remarked_on_and_not_refused(tmp_path: Path) -> None:
    run(table(tmp_path / "orders.csv", GOOD, GOOD.replace("39,5", "46,8")), tmp_path / "out")
    usual, slip = rows(tmp_path / "out")

    assert (usual["verdict"], usual["remarks"]) == ("fit for cutting", "")
    assert "Back waist length" in slip["remarks"]
    assert slip["folder"]


def test_a_column_of_cards(tmp_path: Path) -> None:
    """Paths start from the table's folder; mistakes of a card are told at its own lines too."""
    (tmp_path / "cards").mkdir()
    shutil.copy(data_folder() / "clients" / "demo.toml", tmp_path / "cards" / "marta.toml")
    (tmp_path / "cards" / "bad.toml").write_text('client = "Bad"\ndate = 2026-03-14\nwaist = 3\n')
    lines = ["cards/marta.toml,", "cards/bad.toml,", "cards/none.toml,", "cards/marta.toml,70"]
    orders = table(tmp_path / "orders.csv", *lines, head="card,waist_girth")
    result = run(orders, tmp_path / "out")
    text = (tmp_path / "out" / "summary.csv").read_text(encoding="utf-8-sig")
    found = list(csv.DictReader(io.StringIO(text)))

    assert result.exit_code == 2
    assert [row["verdict"] for row in found] == ["fit for cutting", *3 * ["refused"]]
    assert (found[0]["client"], found[0]["folder"]) == ("Marta Ilves", "marta")
    assert "orders.csv:3:A: bad.toml:3: waist" in found[1]["why"]
    assert "no such card" in found[2]["why"]
    assert "orders.csv:5:B" in found[3]["why"]


def test_what_is_finished_is_not_done_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    orders = table(tmp_path / "orders.csv", GOOD, WRONG, f"{UNFIT}")
    run(orders, tmp_path / "out")
    before = left(tmp_path / "out")
    drafted = []
    monkeypatch.setattr(row_module, "make_garment", lambda card: drafted.append(card))
    result = run(orders, tmp_path / "out")

    assert drafted == []
    assert left(tmp_path / "out") == before
    assert "2 were there already" in result.output


@pytest.mark.parametrize("harm", ["missing", "empty", "no mark", "mark spoilt"])
def test_what_is_half_there_is_done_again(tmp_path: Path, harm: str) -> None:
    """An order that lost a file is made anew in its place; one that lost its mark is no longer
    known and may be the maker's own, so it is kept and the order gets a number."""
    orders = table(tmp_path / "orders.csv", GOOD)
    run(orders, tmp_path / "out")
    name = folders(tmp_path / "out")[0]
    place, before = tmp_path / "out" / name, left(tmp_path / "out" / folders(tmp_path / "out")[0])
    if harm == "missing":
        (place / "checks.txt").unlink()
    elif harm == "empty":
        (place / "report.json").write_bytes(b"")
    elif harm == "no mark":
        (place / FILE).unlink()
    else:
        (place / FILE).write_bytes(b'{"form": 1, "files": [[[')
    result = run(orders, tmp_path / "out")
    again = place if harm in ("missing", "empty") else place.with_name(f"{name}.2")

    assert result.exit_code == 0, result.output
    assert left(again) == before
    assert folders(tmp_path / "out") == sorted({name, again.name})


def test_a_changed_row_gets_a_number_or_replaces_the_old_one(tmp_path: Path) -> None:
    orders = table(tmp_path / "orders.csv", GOOD)
    run(orders, tmp_path / "out")
    (name,) = folders(tmp_path / "out")
    old = left(tmp_path / "out" / name)
    table(orders, GOOD.replace("92,5", "93,5"))

    assert run(orders, tmp_path / "out").exit_code == 0
    assert folders(tmp_path / "out") == [name, f"{name}.2"]
    assert left(tmp_path / "out" / name) == old
    new = left(tmp_path / "out" / f"{name}.2")
    run(orders, tmp_path / "out")
    assert folders(tmp_path / "out") == [name, f"{name}.2"]
    shutil.rmtree(tmp_path / "out" / f"{name}.2")
    run(orders, tmp_path / "out", "--replace")
    assert folders(tmp_path / "out") == [name]
    assert left(tmp_path / "out" / name) == new


def test_a_makers_own_files_are_never_touched(tmp_path: Path) -> None:
    into = tmp_path / "out"
    into.mkdir()
    (into / "summary.csv").write_text("my own")
    orders = table(tmp_path / "orders.csv", GOOD)
    result = run(orders, into)

    assert result.exit_code == 1
    assert left(into) == {"summary.csv": b"my own"}


def test_two_batches_never_write_into_one_folder(tmp_path: Path) -> None:
    orders = open_table(table(tmp_path / "orders.csv", GOOD, GOOD))
    said = []

    def meanwhile(outcome: object) -> None:
        with pytest.raises(SheetError, match="another batch"):
            run_batch(orders, tmp_path / "out", cores=1, kinds=("checks",))
        said.append(outcome)

    run_batch(orders, tmp_path / "out", cores=1, kinds=("checks",), watch=meanwhile)
    assert len(said) == 2


def test_a_full_disk_stops_the_batch_and_what_is_finished_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    orders = many(tmp_path / "orders.csv", 4)
    real = folder._write
    writes = []

    def full(path: Path, content: bytes) -> None:
        writes.append(path)
        if len(writes) > 5:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(path, content)

    with monkeypatch.context() as patched:
        patched.setattr(folder, "_write", full)
        result = run(orders, tmp_path / "out")
    assert result.exit_code == 1
    assert "the disk is full" in result.output
    assert "Run the same command again" in result.output
    assert folders(tmp_path / "out") == ["Client-0-2026-03-14"]
    assert run(orders, tmp_path / "out").exit_code == 0
    run(orders, tmp_path / "undisturbed")
    assert left(tmp_path / "out") == left(tmp_path / "undisturbed")


def test_a_fault_of_ours_is_told_as_ours_and_stops_no_other_row(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = row_module.make_garment

    def faulty(card: object) -> object:
        if getattr(card, "client", "") == "Client 1":
            raise ZeroDivisionError("by nought")
        return real(card)  # type: ignore[arg-type]

    monkeypatch.setattr(row_module, "make_garment", faulty)
    result = run(many(tmp_path / "orders.csv", 3), tmp_path / "out")

    assert result.exit_code == 2
    assert "a fault in Neckarc" in result.output
    assert len(folders(tmp_path / "out")) == 2


def test_memory_is_for_a_few_rows_whatever_their_number(tmp_path: Path) -> None:
    """Rows are read as they are handed out, never all at once."""
    path = many(tmp_path / "orders.csv", 8)
    orders = open_table(path)
    handed: list[int] = []
    real = type(orders).rows

    def counted(self: object) -> Iterator[object]:
        for one in real(orders):
            handed.append(one.line)
            yield one

    done: list[int] = []
    type(orders).rows = counted  # type: ignore[method-assign,assignment]
    try:

        def watch(outcome: object) -> None:
            done.append(1)
            assert len(handed) - len(done) <= 2

        run_batch(orders, tmp_path / "out", cores=1, kinds=("checks",), watch=watch)
    finally:
        type(orders).rows = real  # type: ignore[method-assign]
    assert len(done) == 8


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.words += data


def test_the_page_shows_every_word_as_it_was_written(tmp_path: Path) -> None:
    nasty = '<script>alert("1")</script>'
    orders = table(
        tmp_path / "orders.csv",
        GOOD.replace("Anna Berg", nasty),
        WRONG.replace("ruff", nasty).replace("Ida Falk", "=HYPERLINK(1)"),
    )
    run(orders, tmp_path / "out")
    page = _Page()
    page.feed((tmp_path / "out" / "summary.html").read_text(encoding="utf-8"))

    assert "script" not in page.tags
    assert page.words.count(nasty) >= 2
    assert page.tags.count("tr") == 3
    assert rows(tmp_path / "out")[1]["client"] == "'=HYPERLINK(1)"
    for link in re.findall(r'href="([^"]*)"', (tmp_path / "out" / "summary.html").read_text()):
        assert (tmp_path / "out" / link).is_dir()


def test_several_processes_write_what_one_writes(tmp_path: Path) -> None:
    orders = open_table(many(tmp_path / "orders.csv", 6))
    run_batch(orders, tmp_path / "one", cores=1, kinds=("checks",))
    seen: list[int] = []
    run_batch(
        orders,
        tmp_path / "two",
        cores=2,
        kinds=("checks",),
        watch=lambda outcome: seen.append(outcome.line),
    )

    assert left(tmp_path / "one") == left(tmp_path / "two")
    assert seen == [2, 3, 4, 5, 6, 7]


def test_the_mark_tells_the_papers_apart(tmp_path: Path) -> None:
    orders = table(tmp_path / "orders.csv", f"{UNFIT}")
    run(orders, tmp_path / "out")
    first = json.loads(next((tmp_path / "out").glob(f"*/{FILE}")).read_bytes())
    run(orders, tmp_path / "out", "--papers", "dxf", "--replace")
    second = json.loads(next((tmp_path / "out").glob(f"*/{FILE}")).read_bytes())

    assert first["mark"] != second["mark"]
    assert set(second["files"]) - set(first["files"]) == {"drawing.dxf"}
