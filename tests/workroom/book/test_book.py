"""The client book: nothing is overwritten, lost, or left of who is erased."""

from __future__ import annotations

import datetime
import os
import random
import re
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting.library import data_folder
from garment.garment import make_garment
from workroom.book.book import Book
from workroom.book.cards import export_card, import_card
from workroom.book.errors import BookConflictError, BookError, NotInBookError
from workroom.book.place import VARIABLE
from workroom.book.records import FittingChange, NewlySeen
from workroom.book.schema import APPLICATION, MIGRATIONS
from workroom.card.card import read_card_text
from workroom.commands import neckarc

DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
DAY = datetime.date(2026, 3, 14)
ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return Book(tmp_path / "clients.db")


def test_a_card_goes_in_and_comes_out_meaning_the_same(book: Book) -> None:
    client, order = import_card(book, DEMO, "demo.toml")
    assert client.name == "Marta Ilves"
    before, after = read_card_text(DEMO, "a"), read_card_text(export_card(book, order), "a")
    assert after == before
    for one, other in zip(make_garment(before).pieces, make_garment(after).pieces, strict=True):
        assert one.title == other.title
        for a, b in zip(one.edges, other.edges, strict=True):
            assert abs(a.curve.controls - b.curve.controls).max() == 0.0


def test_the_same_card_twice_is_one_client_one_set_two_orders(book: Book) -> None:
    import_card(book, DEMO, "demo.toml")
    import_card(book, DEMO, "demo.toml")
    (client,) = book.clients()
    assert len(book.sets_of(client.id)) == 1
    assert len(book.orders_of(client.id)) == 2


def test_measurements_taken_anew_leave_the_old_ones_alone(book: Book) -> None:
    client, order = import_card(book, DEMO, "demo.toml")
    later = book.add_measurements(
        client.id, datetime.date(2026, 9, 1), {"bust_girth": "37 3/8"}, "in", "after the summer"
    )
    newest, oldest = book.sets_of(client.id)
    assert newest == later
    assert oldest.taken["bust_girth"] == 94.0
    assert book.order(order.id).measured == oldest.id


def test_an_order_in_inches_keeps_its_meaning_with_measurements_in_centimetres(book: Book) -> None:
    _, order = import_card(book, DEMO, "demo.toml")
    asked = {**order.asked, "unit": "in", "garment": {"button_stand": "5/8"}}
    changed = book.change_order(order, name="Blouse 13", asked=asked, measured=order.measured)
    card = read_card_text(export_card(book, changed), "a")
    assert card.measurements == pytest.approx(dict(read_card_text(DEMO, "a").measurements))
    assert card.garment.button_stand == pytest.approx(0.625 * 2.54)


def test_two_windows_do_not_overwrite_each_other(book: Book) -> None:
    _, order = import_card(book, DEMO, "demo.toml")
    with Book(book.path) as other:
        same = other.order(order.id)
        other.change_order(same, name="theirs", asked=same.asked, measured=same.measured)
    with pytest.raises(BookConflictError):
        book.change_order(order, name="ours", asked=order.asked, measured=order.measured)
    assert book.order(order.id).name == "theirs"
    client = book.client(order.client)
    book.change_client(client, name="Marta I.", notes="")
    with pytest.raises(BookConflictError):
        book.change_client(client, name="M.", notes="")


def test_who_is_erased_is_not_in_the_file_any_more(book: Book) -> None:
    marked = DEMO.replace("Marta Ilves", "Zerlina Quaxo").replace("Blouse 12", "Wrapdress Yotta")
    client, _ = import_card(book, marked, "a")
    kept, _ = import_card(book, DEMO, "b")
    book.add_correction(client.id, DAY, "front neck too deep", 0.8)
    gone = book.delete_client(client.id)
    assert (gone.sets, gone.orders, gone.corrections) == (1, 1, 1)
    assert "Zerlina Quaxo" in gone.said()
    assert [c.id for c in book.clients()] == [kept.id]
    with pytest.raises(NotInBookError):
        book.client(client.id)
    book.close()
    for file in book.path.parent.iterdir():
        data = file.read_bytes()
        assert b"Zerlina" not in data
        assert b"Yotta" not in data


def test_corrections_stay_in_the_book_when_they_no_longer_hold(book: Book) -> None:
    client = book.add_client("Ann")
    one = book.add_correction(client.id, DAY, "collar rides up", 1.2)
    book.withdraw(one.id, DAY)
    (found,) = book.corrections_of(client.id)
    assert not found.in_force
    assert found.amount == 1.2


def test_a_fitting_is_saved_with_the_order_or_not_at_all(book: Book) -> None:
    client, order = import_card(book, DEMO, "demo.toml")
    old = book.add_correction(client.id, DAY, "collar rides up", 0.7)
    new = NewlySeen(DAY, "front neck too deep", 0.5)

    def fit(known: set[int], withdrawn: set[int]) -> FittingChange:
        return FittingChange(frozenset(known), (new,), frozenset(withdrawn), DAY)

    for wrong in (fit(set(), set()), fit({old.id, 99}, set()), fit({old.id}, {99})):
        with pytest.raises(BookConflictError):
            book.change_order(order, name="other", asked={}, fitting=wrong)
        assert book.corrections_of(client.id) == (old,)
        assert book.order(order.id) == order
    stale = replace(order, version=99)
    with pytest.raises(BookConflictError):
        book.change_order(stale, name="other", asked={}, fitting=fit({old.id}, {old.id}))
    assert book.corrections_of(client.id) == (old,)
    book.change_order(order, name="other", asked={}, fitting=fit({old.id}, {old.id}))
    gone, came = book.corrections_of(client.id)
    assert gone == replace(old, in_force=False, withdrawn=DAY)
    assert (came.seen, came.amount, came.in_force) == (new.seen, new.amount, True)


def test_a_book_from_before_the_day_of_withdrawing_keeps_what_it_had(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    with sqlite3.connect(path) as connection:
        for migration in MIGRATIONS[:2]:
            connection.executescript(migration)
        connection.execute("INSERT INTO client (name) VALUES ('Ann')")
        for holds in (0, 1):
            connection.execute(
                "INSERT INTO correction (client, date, seen, amount, in_force) "
                "VALUES (1, '2026-03-14', 'collar rides up', 0.7, ?)",
                (holds,),
            )
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute("PRAGMA user_version = 2")
    connection.close()
    with Book(path) as book:
        found = book.corrections_of(1)
        assert [(one.in_force, one.withdrawn) for one in found] == [(False, None), (True, None)]
        book.withdraw(found[1].id, DAY)
        assert book.corrections_of(1)[1].withdrawn == DAY


def test_corrections_in_force_stand_on_the_card_and_come_back(book: Book) -> None:
    client, order = import_card(book, DEMO, "a")
    book.add_correction(client.id, DAY, "front neck too deep", 0.8)
    over = book.add_correction(client.id, DAY, "collar rides up", 1.2)
    book.withdraw(over.id, DAY)

    text = export_card(book, order)
    card = read_card_text(text, "a")

    assert [(one.date, one.seen, one.amount) for one in card.toile] == [
        (DAY, "front neck too deep", 0.8)
    ]
    with Book(book.path.with_name("other.db")) as other:
        taken, _ = import_card(other, text, "a")
        import_card(other, text, "a")  # the same fitting is one correction
        (found,) = other.corrections_of(taken.id)
        assert (found.date, found.seen, found.amount) == (DAY, "front neck too deep", 0.8)
        assert found.in_force


@pytest.mark.parametrize("written", ["3/16", "0.4"])
def test_a_fitting_in_inches_comes_out_meaning_the_same(book: Book, written: str) -> None:
    inches = DEMO.replace('unit = "cm"', 'unit = "in"')
    for key, value in read_card_text(DEMO, "a").measurements.items():
        inches = re.sub(rf"(?m)^{key} = .*$", f'{key} = "{value:.4f} cm"', inches)
    inches = inches.replace('"0.3665 cm"', "21").replace('"0.2443 cm"', "14")
    inches += f'[[toile]]\ndate = {DAY}\nseen = "front neck too high"\namount = "{written}"\n'
    _, order = import_card(book, inches, "a")
    before, after = (read_card_text(t, "a").toile for t in (inches, export_card(book, order)))
    assert [(one.date, one.seen) for one in after] == [(one.date, one.seen) for one in before]
    assert after[0].amount == pytest.approx(before[0].amount, abs=1e-6)
    client, _ = import_card(book, export_card(book, order), "a")
    assert len(book.corrections_of(client.id)) == 1


def test_a_fitting_that_no_longer_held_holds_again_when_a_card_says_it(book: Book) -> None:
    client, order = import_card(book, DEMO, "a")
    one = book.add_correction(client.id, DAY, "collar rides up", 0.7)
    text = export_card(book, order)
    book.withdraw(one.id, DAY)
    assert "toile" not in export_card(book, order)
    import_card(book, text, "a")
    (found,) = book.corrections_of(client.id)
    assert found.in_force


def test_words_no_card_knows_stand_on_it_as_a_remark(book: Book) -> None:
    client, order = import_card(book, DEMO, "a")
    book.add_correction(client.id, DAY, 'sits "oddly"\nsomewhere', 0.7)
    text = export_card(book, order)
    assert "sits" in text.splitlines()[0]
    assert read_card_text(text, "a").toile == ()


@settings(max_examples=60, deadline=None)
@given(
    name=st.text(min_size=1, max_size=110).filter(lambda t: t.strip() and "\0" not in t),
    notes=st.text(max_size=200).filter(lambda t: "\0" not in t),
)
def test_any_text_is_kept_as_it_is(name: str, notes: str) -> None:
    with tempfile.TemporaryDirectory() as folder, Book(Path(folder) / "b.db") as book:
        try:
            name.encode("utf-8"), notes.encode("utf-8")
        except UnicodeEncodeError:
            return
        client = book.add_client(name, notes)
        assert (client.name, client.notes) == (name.strip(), notes)


def test_names_are_no_statements(book: Book) -> None:
    book.add_client("Robert'); DROP TABLE client;--")
    assert len(book.clients()) == 1


def test_another_clients_measurements_are_refused(book: Book) -> None:
    ann, eve = book.add_client("Ann"), book.add_client("Eve")
    hers = book.add_measurements(eve.id, DAY, {"bust_girth": 90})
    with pytest.raises(BookError):
        book.add_order(ann.id, "Blouse", {}, hers.id)
    assert book.orders_of(ann.id) == ()


def test_strange_files_and_newer_books_are_left_alone(tmp_path: Path) -> None:
    text = tmp_path / "text.db"
    text.write_text("no database at all, but long enough to be looked at twice " * 20)
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE t (a)")
    connection.close()
    newer = tmp_path / "newer.db"
    Book(newer).close()
    with sqlite3.connect(newer) as connection:
        connection.execute("PRAGMA user_version = 99")
    connection.close()
    for path in (text, other, newer):
        was = path.read_bytes()
        with pytest.raises(BookError):
            Book(path)
        assert path.read_bytes() == was


def test_a_book_is_for_its_owners_eyes_only(book: Book) -> None:
    assert book.path.stat().st_mode & 0o077 == 0


WRITER = """
import sys
from pathlib import Path
from workroom.book.book import Book
import datetime
with Book(Path(sys.argv[1])) as book:
    client = book.clients()[0].id
    number = int(sys.argv[2])
    while True:
        book.add_measurements(client, datetime.date(2026, 1, 1), {"bust_girth": number})
        print(number, flush=True)
        number += 1
"""


def test_every_acknowledged_save_outlives_a_killed_process(tmp_path: Path) -> None:
    """More than 200 saves in processes killed at random moments."""
    path = tmp_path / "clients.db"
    with Book(path) as book:
        client = book.add_client("Ann").id
    acknowledged, tries = 0, 0
    moments = random.Random(7)
    while acknowledged < 200 or tries < 5:
        tries += 1
        process = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(acknowledged + 1000 * tries)],
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        assert process.stdout is not None
        lines = [process.stdout.readline()]
        assert lines[0].strip()
        time.sleep(moments.uniform(0.0, 0.15))
        os.kill(process.pid, signal.SIGKILL)
        lines += process.stdout.readlines()
        process.wait()
        process.stdout.close()
        numbers = {int(line) for line in lines if line.endswith("\n") and line.strip()}
        with Book(path) as book:
            kept = {measured.taken["bust_girth"] for measured in book.sets_of(client)}
        assert numbers <= kept
        acknowledged += len(numbers)


# ---- the command line -------------------------------------------------------------------------


def run(tmp_path: Path, *words: str) -> tuple[int, str]:
    result = CliRunner().invoke(
        neckarc, ["book", *words], env={VARIABLE: str(tmp_path / "home" / "book.db")}
    )
    return result.exit_code, result.output


def test_the_book_from_the_command_line(tmp_path: Path) -> None:
    demo = str(data_folder() / "clients" / "demo.toml")
    assert run(tmp_path, "list") == (0, "The book is empty.\n")
    assert run(tmp_path, "take", demo)[0] == 0
    code, listed = run(tmp_path, "list")
    assert code == 0
    assert "Marta Ilves" in listed
    assert "order 1: Blouse 12" in listed
    copy = tmp_path / "copy.db"
    assert run(tmp_path, "copy", str(copy))[0] == 0
    card = tmp_path / "out.toml"
    assert run(tmp_path, "give", "1", "--into", str(card))[0] == 0
    assert read_card_text(card.read_text(encoding="utf-8"), "a") == read_card_text(DEMO, "a")
    code, said = run(tmp_path, "erase", "1", "--yes")
    assert code == 0
    assert "1 measurement set, 1 order, 0 corrections" in said
    assert "Marta" not in run(tmp_path, "list")[1]
    assert run(tmp_path, "restore", str(copy))[0] == 0
    assert "Marta Ilves" in run(tmp_path, "list")[1]


@pytest.mark.parametrize(
    "words",
    [("erase", "9", "--yes"), ("give", "9"), ("take", "missing.toml"), ("restore", "missing.db")],
)
def test_what_is_not_there_is_said_in_one_message(tmp_path: Path, words: tuple[str, ...]) -> None:
    code, said = run(tmp_path, *words)
    assert code == 2
    assert "there is no such" in said
    assert "Traceback" not in said


def test_erasing_asks_first(tmp_path: Path) -> None:
    run(tmp_path, "take", str(data_folder() / "clients" / "demo.toml"))
    run(tmp_path, "erase", "1")
    assert "Marta Ilves" in run(tmp_path, "list")[1]
