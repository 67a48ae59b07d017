"""Damaged, foreign, newer and write-protected books, in real files: what is wrong is named, nothing
is trusted unseen, and nothing is thrown away. Nor may anyone else read any of them."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import subprocess
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from workroom.book import copies, place
from workroom.book.book import Book, sound_book
from workroom.book.copies import copy_book, mend_book, restore_book
from workroom.book.errors import BookDamagedError, BookError, StrangeBookError
from workroom.book.place import VARIABLE
from workroom.book.schema import MIGRATIONS
from workroom.commands import neckarc
from workroom.desk.server import desk_app

DAY = date(2026, 3, 14)
CLIENTS = 40
#: What only a traceback, or a fault told of as ours, would have.
OURS = ("Traceback", "mistake of its own")


def filled(path: Path, clients: int = CLIENTS) -> Path:
    """A book of several pages a table, in one plain file."""
    with Book(path) as book:
        for k in range(clients):
            client = book.add_client(f"Client {k:03}", notes=f"notes {k} " * 40)
            for year in range(3):
                taken = {"bust_girth": 80.0 + k, "waist_girth": 70.0 + year}
                book.add_measurements(client.id, DAY.replace(year=2020 + year), taken)
            book.add_order(client.id, f"Blouse {k}", {"unit": "cm"}, book.sets_of(client.id)[0].id)
            book.add_correction(client.id, DAY, "collar rides up", 0.5)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


def flip(path: Path, *places: int) -> None:
    data = bytearray(path.read_bytes())
    for at in places:
        data[at] ^= 0xFF
    path.write_bytes(data)


def zero_page(path: Path, number: int) -> None:
    data = bytearray(path.read_bytes())
    data[4096 * number : 4096 * (number + 1)] = bytes(4096)
    path.write_bytes(data)


def spoil(path: Path, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute(statement, values)
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def truncated(path: Path) -> None:
    os.truncate(path, path.stat().st_size * 2 // 3 + 100)


def leaf_of(path: Path, table: str) -> int:
    """The number from nought of a page of a table that holds rows."""
    with closing(sqlite3.connect(path)) as connection:
        (root,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,))
    data = path.read_bytes()
    page = data[4096 * (root[0] - 1) : 4096 * root[0]]
    assert page[0] == 5, "an inner page"
    cell = int.from_bytes(page[12:14], "big")
    return int.from_bytes(page[cell : cell + 4], "big") - 1


#: How a book is damaged, and a word of what is said of it.
HARMS = {
    "truncated": (truncated, "the file itself"),
    "empty": (lambda path: path.write_bytes(b""), "the file is empty"),
    "first page": (lambda path: flip(path, *range(100, 140)), "the file itself"),
    "schema": (lambda path: flip(path, *range(2000, 2100, 3)), "damaged"),
    "page of clients": (lambda path: zero_page(path, leaf_of(path, "client")), "not every client"),
    "page of sets": (
        lambda path: zero_page(path, leaf_of(path, "measurement_set")),
        "not every measurement set",
    ),
    "page in the middle": (
        lambda path: flip(path, *range(4096 * 5, 4096 * 5 + 12)),
        "the file itself",
    ),
    "bad text": (
        lambda path: spoil(path, "UPDATE client SET name = CAST(x'4abf' AS TEXT) WHERE id = 7"),
        "client 7 cannot be read",
    ),
    "bad measures": (
        lambda path: spoil(path, "UPDATE measurement_set SET taken = '{\"bust' WHERE id = 5"),
        "measurement set 5 cannot be read",
    ),
    "bad day": (
        lambda path: spoil(path, "UPDATE correction SET date = '2026-13-14' WHERE id = 3"),
        "correction 3 cannot be read",
    ),
    "bad order": (
        lambda path: spoil(path, "UPDATE client_order SET asked = x'00ff' WHERE id = 3"),
        "order 3 cannot be read",
    ),
    "wrong kind": (
        lambda path: spoil(path, "UPDATE client_order SET version = 'x' WHERE id = 3"),
        "order 3 cannot be read",
    ),
    "lost owner": (
        lambda path: spoil(path, "DELETE FROM client WHERE id = 9"),
        "belongs to nothing in the book",
    ),
    "lost table": (lambda path: spoil(path, "DROP TABLE correction"), "not every correction"),
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return filled(tmp_path_factory.mktemp("sound") / "sound.db")


@pytest.fixture(params=HARMS)
def harmed(request: pytest.FixtureRequest, sound: Path, tmp_path: Path) -> tuple[Path, str]:
    home = tmp_path / "home"
    home.mkdir(mode=0o700)
    path = home / "clients.db"
    shutil.copyfile(sound, path)
    work, said = HARMS[request.param]
    work(path)  # type: ignore[no-untyped-call]
    return path, said


def run(book: Path, *words: str) -> tuple[int, str]:
    result = CliRunner().invoke(neckarc, ["book", *words], env={VARIABLE: str(book)})
    assert not any(ours in result.output for ours in OURS), result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def held(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix == ".db"}


def visible(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir() if not path.name.startswith(".")}


def names_in(path: Path) -> set[str]:
    with sound_book(path) as book:
        return {client.name for client in book.clients()}


def sets_in(book: Book) -> set[tuple[str, date, float | str]]:
    return {
        (client.name, one.date, one.taken["bust_girth"])
        for client in book.clients()
        for one in book.sets_of(client.id)
    }


def test_damage_is_named_wherever_the_book_is_used(
    harmed: tuple[Path, str], tmp_path: Path
) -> None:
    path, word = harmed
    before = path.read_bytes()
    for words in (("list",), ("copy", str(tmp_path / "copy.db")), ("give", "1"), ("erase", "1")):
        code, said = run(path, *words)
        assert code == 2
        assert word in said
        assert "neckarc book restore COPY" in said
        assert "disk full" not in said
    assert not (tmp_path / "copy.db").exists()
    assert path.read_bytes() == before


def test_a_damaged_copy_is_not_put_in_the_books_place(
    harmed: tuple[Path, str], tmp_path: Path
) -> None:
    copy, word = harmed
    before = copy.read_bytes()
    book = tmp_path / "mine" / "clients.db"
    with Book(book) as mine:
        mine.add_client("Ann")
    code, said = run(book, "restore", str(copy))
    assert code == 2
    assert word in said
    assert str(copy) in said
    assert names_in(book) == {"Ann"}
    assert visible(book.parent) == {"clients.db"}
    assert copy.read_bytes() == before


def test_a_copy_is_restored_over_a_damaged_book_which_is_put_aside(
    harmed: tuple[Path, str], sound: Path
) -> None:
    path, _ = harmed
    before = path.read_bytes()
    code, said = run(path, "restore", str(sound))
    assert code == 0, said
    aside = path.with_name("clients-damaged-1.db")
    assert str(aside) in said
    assert aside.read_bytes() == before
    assert visible(path.parent) - {"clients.db-wal", "clients.db-shm"} == {path.name, aside.name}
    assert len(names_in(path)) == CLIENTS
    code, said = run(path, "erase", "1", "--yes")
    assert code == 0
    assert str(aside) in said
    assert "Client 000" not in names_in(path)


@pytest.mark.parametrize(
    ("harm", "lost", "least"),
    [
        ("truncated", None, 1),
        ("page of clients", "name and notes were lost", CLIENTS),
        ("page of sets", "measurements were lost", CLIENTS),
        ("bad text", "client 7: signs in its name were lost", CLIENTS),
        ("bad measures", "measurement set 5 was lost", CLIENTS),
        ("bad day", "correction 3 was lost", CLIENTS),
        ("bad order", "order 3 was lost", CLIENTS),
        ("lost owner", "client 9: name and notes were lost", CLIENTS),
        ("lost table", "not every correction could be read", CLIENTS),
    ],
)
def test_what_can_be_read_of_a_damaged_book_is_saved(
    sound: Path, tmp_path: Path, harm: str, lost: str | None, least: int
) -> None:
    path = tmp_path / "clients.db"
    shutil.copyfile(sound, path)
    HARMS[harm][0](path)  # type: ignore[no-untyped-call]
    before = path.read_bytes()
    code, said = run(path, "mend")
    assert code == 0, said
    assert (tmp_path / "clients-damaged-1.db").read_bytes() == before
    if lost is not None:
        assert lost in said
    with sound_book(path) as book:
        assert len(book.clients()) >= least
        whole = {
            (c.name, s.date, s.taken["bust_girth"])
            for c in book.clients()
            for s in book.sets_of(c.id)
        }
    with sound_book(sound) as book:
        first = {
            (c.name, s.date, s.taken["bust_girth"])
            for c in book.clients()
            for s in book.sets_of(c.id)
        }
    if harm in ("bad day", "bad order", "lost table"):
        assert whole == first
    if harm == "bad measures":
        assert len(first - whole) == 1
        assert whole < first
    assert run(path, "mend")[1].startswith("The book is sound")


def test_a_book_whose_beginning_is_gone_is_saved_whole(sound: Path, tmp_path: Path) -> None:
    path = tmp_path / "clients.db"
    shutil.copyfile(sound, path)
    flip(path, *range(10))
    code, said = run(path, "list")
    assert code == 2
    assert "not a client book, or its beginning is damaged" in said
    assert run(path, "mend")[0] == 0
    assert names_in(path) == names_in(sound)


def test_a_book_of_which_nothing_is_left_is_left_as_it_is(tmp_path: Path) -> None:
    path = filled(tmp_path / "clients.db", 2)
    zero_page(path, 0)
    before = path.read_bytes()
    code, said = run(path, "mend")
    assert code == 2
    assert "nothing in this book can be read" in said
    assert path.read_bytes() == before
    assert visible(tmp_path) == {"clients.db"}


@pytest.fixture(params=["text", "other database", "newer", "folder"])
def strange(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Path, str]:
    path = tmp_path / "strange" / "file.db"
    path.parent.mkdir()
    if request.param == "text":
        path.write_text("Dear Anna, " * 200)
        return path, "not a client book"
    if request.param == "folder":
        path.mkdir()
        return path, "irectory"
    if request.param == "newer":
        Book(path).close()
        spoil(path, f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
        return path, "kept by a newer Neckarc"
    spoil(path, "CREATE TABLE letters (text)")
    return path, "some other database"


def test_what_is_no_book_is_told_apart(strange: tuple[Path, str], tmp_path: Path) -> None:
    """It used to be asked whether the disk was full."""
    path, word = strange
    before = path.read_bytes() if path.is_file() else b""
    book = tmp_path / "mine" / "clients.db"
    Book(book).close()
    for code, said in (run(path, "list"), run(book, "restore", str(path))):
        assert code == 2
        assert word in said
        assert "full" not in said
    if path.is_file():
        assert path.read_bytes() == before
        assert visible(path.parent) == {"file.db"}
    assert names_in(book) == set()


def test_a_full_disk_is_called_one(sound: Path, tmp_path: Path) -> None:
    path = tmp_path / "clients.db"
    shutil.copyfile(sound, path)
    with Book(path) as book:
        count = book._connection.execute("PRAGMA page_count").fetchone()[0]
        book._connection.execute(f"PRAGMA max_page_count = {count}")
        with pytest.raises(BookError, match="the disk is full") as caught:
            [book.add_client("Ann", "x" * 9000) for _ in range(50)]
        assert not isinstance(caught.value, BookDamagedError)


def test_a_book_that_another_holds_is_not_called_damaged(
    sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "clients.db"
    shutil.copyfile(sound, path)
    monkeypatch.setattr("workroom.book.schema.PATIENCE", 0.05)
    with Book(path) as book, closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookError, match="another program is writing") as caught:
            book.add_client("Ann")
    assert not isinstance(caught.value, BookDamagedError)


@pytest.fixture
def locked_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk that can be made read-only, where one may be mounted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "none", str(disk)]
    if not shutil.which("mount") or subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("nothing may be mounted here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def read_only(disk: Path) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)


@pytest.mark.parametrize("older", [False, True])
def test_a_copy_on_a_read_only_disk_is_restored(
    sound: Path, tmp_path: Path, locked_disk: Path, older: bool
) -> None:
    """Copies once were write-ahead books themselves, and are so still where files were copied."""
    copy = locked_disk / "copy.db"
    if older:
        shutil.copyfile(sound, copy)
    else:
        with Book(sound) as book:
            copy_book(book, copy)
    copy.chmod(0o444)
    read_only(locked_disk)
    code, said = run(tmp_path / "mine" / "clients.db", "restore", str(copy))
    assert code == 0, said
    assert names_in(tmp_path / "mine" / "clients.db") == names_in(sound)


def test_a_book_on_a_read_only_disk_is_called_write_protected(
    sound: Path, locked_disk: Path
) -> None:
    shutil.copyfile(sound, locked_disk / "clients.db")
    read_only(locked_disk)
    code, said = run(locked_disk / "clients.db", "list")
    assert code == 2
    assert "damaged" not in said
    assert "write-protected" in said or "cannot be opened" in said


def test_a_book_is_restored_while_it_is_open(sound: Path, tmp_path: Path) -> None:
    """Whoever has it open sees the restored one, and saves into it."""
    path = tmp_path / "clients.db"
    with Book(path) as book:
        book.add_client("Ann")
        (said,) = restore_book(sound, path)
        assert len(book.clients()) == CLIENTS
        book.add_client("Eve")
    assert "Eve" in names_in(path)
    assert names_in(tmp_path / "clients-before-1.db") == {"Ann"}
    assert "clients-before-1.db" in said
    with Book(path) as book, pytest.raises(BookError, match="the book itself"):
        restore_book(path, book.path)


def test_a_restore_that_fails_leaves_the_book_and_no_copy(
    sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "clients.db"
    with Book(path) as book:
        book.add_client("Ann")
    calls = iter(range(9))
    real = Book.copy_into

    def failing(self: Book, into: Path) -> None:
        if next(calls) >= 2:
            raise BookError("broken off")
        real(self, into)

    with monkeypatch.context() as patched:
        patched.setattr(Book, "copy_into", failing)
        with pytest.raises(BookError, match="broken off"):
            restore_book(sound, path)
    assert names_in(path) == {"Ann"}
    assert not [name for name in visible(tmp_path) if "restored" in name or "damaged" in name]
    assert not list(tmp_path.glob(".making-*"))


# ---- who may read it --------------------------------------------------------------------------


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps other rights")
def test_nobody_else_may_read_book_copies_or_what_was_put_aside(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        home = tmp_path / "home"
        path, copy = home / "clients.db", tmp_path / "copy.db"
        with Book(path) as book:
            book.add_client("Ann")
            assert {mode(file) for file in home.iterdir() if file.suffix != ".lock"} == {0o600}
            assert len(visible(home)) == 3
            copy_book(book, copy)
        assert mode(home) == 0o700
        assert mode(copy) == 0o600
        restore_book(copy, path)
        assert mode(path) == mode(home / "clients-before-1.db") == 0o600
        path.write_bytes(path.read_bytes()[:5000])
        path.chmod(0o644)
        restore_book(copy, path)
        assert mode(path) == mode(home / "clients-damaged-1.db") == 0o600
        path.write_bytes(b"")
        with pytest.raises(BookError):
            mend_book(path)
        restore_book(copy, path)
        spoil(path, "UPDATE client SET notes = CAST(x'ff' AS TEXT)")
        mend_book(path)
        assert mode(path) == 0o600
        assert {mode(file) for file in home.glob("*.db")} == {0o600}
    finally:
        os.umask(before)


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps other rights")
def test_a_book_from_before_is_closed_to_others_when_it_is_opened(tmp_path: Path) -> None:
    home = tmp_path / "home"
    path = filled(home / "clients.db", 1)
    with Book(path):
        for file in (home, *home.iterdir()):
            file.chmod(0o755 if file.is_dir() else 0o644)
        with Book(path):
            assert mode(home) == 0o700
            assert {mode(file) for file in home.glob("clients.db*")} == {0o600}
    (home / "letters.txt").write_text("mine")
    home.chmod(0o755)
    Book(path).close()
    assert mode(home) == 0o755, "a folder that holds other things is not the book's"


def test_whoever_cannot_close_it_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = filled(tmp_path / "clients.db", 1)
    path.chmod(0o644)
    monkeypatch.setattr(place, "_close", lambda path: None)
    assert "Others on this computer may read it" in run(path, "where")[1]


# ---- at the desk ------------------------------------------------------------------------------


@pytest.mark.parametrize("harm", HARMS)
def test_the_desk_names_what_is_damaged(sound: Path, tmp_path: Path, harm: str) -> None:
    path = tmp_path / "clients.db"
    shutil.copyfile(sound, path)
    HARMS[harm][0](path)  # type: ignore[no-untyped-call]
    with TestClient(
        desk_app(path, "key"), base_url="http://127.0.0.1", raise_server_exceptions=False
    ) as page:
        page.get("/?key=key")
        told = [page.get(way) for way in ("/", "/clients/3", "/clients/7", "/orders/3")]
    assert not any(ours in one.text for one in told for ours in OURS)
    assert {one.status_code for one in told} <= {200, 404, 422}
    if harm not in ("lost owner", "page in the middle"):
        assert any("damaged" in one.text and "restore COPY" in one.text for one in told)


def test_the_desk_does_not_start_on_a_damaged_book(tmp_path: Path, sound: Path) -> None:
    path = tmp_path / "clients.db"
    shutil.copyfile(sound, path)
    HARMS["bad measures"][0](path)  # type: ignore[no-untyped-call]
    result = CliRunner().invoke(neckarc, ["desk", "--no-browser"], env={VARIABLE: str(path)})
    assert result.exit_code == 2
    assert "measurement set 5 cannot be read" in result.output


def test_erasing_at_the_desk_tells_of_books_put_aside(tmp_path: Path) -> None:
    path = filled(tmp_path / "clients.db", 2)
    copy = tmp_path / "out" / "copy.db"
    copy.parent.mkdir()
    with Book(path) as book:
        copy_book(book, copy)
    restore_book(copy, path)
    assert copies.still_named(path, "Client 001")[0].count("still holds her") == 1
    with TestClient(desk_app(path, "key"), base_url="http://127.0.0.1") as page:
        page.get("/?key=key")
        told = page.post(
            "/clients/1/erase", data={"sure": "yes"}, headers={"origin": "http://127.0.0.1"}
        )
    assert told.status_code == 200, told.text
    assert "clients-before-1.db" in told.text
    assert "still holds her" in told.text


def test_strange_books_are_no_damaged_ones(tmp_path: Path) -> None:
    """They are never mended."""
    path = tmp_path / "clients.db"
    spoil(path, "CREATE TABLE letters (text)")
    with pytest.raises(StrangeBookError):
        mend_book(path)
