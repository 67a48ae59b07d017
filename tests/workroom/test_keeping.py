"""Only an order's own folder is written anew, and nothing of the maker's is ever lost in it."""

from __future__ import annotations

import errno
import json
import os
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from drafting.library import data_folder
from workroom.commands import neckarc
from workroom.folder import folder
from workroom.folder import record as keeping
from workroom.folder.folder import PUT_AWAY, swap_own, tidy, write_folder
from workroom.folder.locks import LOCKS
from workroom.folder.record import FILE, Owner, owned_by, record_bytes

TAPE = """
client = "CLIENT"
date = 2026-03-14
[neckline]
back_arc = 10
front_arc = 18
[collar]
kind = "band"
"""
OWNER = Owner("order", "Anna", "2026-03-14", "", "anna.toml", "0")


def draft(card: Path, into: Path, *words: str) -> Result:
    given = ["draft", str(card), "--into", str(into), "--papers", "checks", *words]
    result = CliRunner().invoke(neckarc, given)
    assert result.exit_code == 0, result.output
    return result


def card(path: Path, client: str) -> Path:
    path.write_text(TAPE.replace("CLIENT", client), encoding="utf-8")
    return path


def held(into: Path) -> dict[str, bytes]:
    """Every file of every folder, but locks."""
    return {
        path.relative_to(into).as_posix(): path.read_bytes()
        for path in sorted(into.rglob("*"))
        if path.is_file() and path.name not in LOCKS
    }


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Анна", "Вера"),
        ("李小龙", "李大龙"),
        ("Maria Theresia " * 3 + "A", "Maria Theresia " * 3 + "B"),
        ("Anna & Eve", "Anna - Eve"),
        ("Anna", "ANNA"),
        ("🌸", "🌹"),
    ],
)
def test_another_clients_order_is_never_replaced(tmp_path: Path, one: str, other: str) -> None:
    into = tmp_path / "orders"
    draft(card(tmp_path / "one.toml", one), into, "--replace")
    before = held(into)
    for _ in range(2):
        draft(card(tmp_path / "other.toml", other), into, "--replace")
        after = held(into)
        assert before.items() < after.items()
        assert len([name for name in after if name.endswith("checks.txt")]) == 2


def test_two_cards_that_say_the_same_are_two_orders(tmp_path: Path) -> None:
    into = tmp_path / "orders"
    draft(card(tmp_path / "blouse.toml", "Anna"), into, "--replace")
    before = held(into)
    result = draft(card(tmp_path / "dress.toml", "Anna"), into, "--replace")

    assert before.items() < held(into).items()
    assert "Anna-2026-03-14 is not known to be this order's; it was left as it is." in result.output
    assert (into / "Anna-2026-03-14-2").is_dir()


def test_what_the_maker_put_into_the_folder_stays_in_it(tmp_path: Path) -> None:
    into, order = tmp_path / "orders", card(tmp_path / "anna.toml", "Anna")
    draft(order, into)
    place = into / "Anna-2026-03-14"
    (place / "my-notes.txt").write_text("sleeve: ask again")
    (place / "photos" / "back").mkdir(parents=True)
    (place / "photos" / "back" / "1.jpg").write_bytes(b"picture")
    (place / "link").symlink_to("my-notes.txt")
    (place / "old.svg").write_text("of her own")
    marked = (place / "checks.txt").read_text() + "\nfront: I took 4 mm more\n"
    (place / "checks.txt").write_text(marked)
    result = draft(order, into, "--replace")

    assert sorted(path.name for path in into.iterdir() if path.name not in LOCKS) == [place.name]
    assert (place / "my-notes.txt").read_text() == "sleeve: ask again"
    assert (place / "photos" / "back" / "1.jpg").read_bytes() == b"picture"
    assert (place / "link").readlink() == Path("my-notes.txt")
    assert (place / "checks.kept.txt").read_text() == marked
    assert "4 mm more" not in (place / "checks.txt").read_text()
    for said in ("my-notes.txt", "photos", "checks.txt, as checks.kept.txt"):
        assert said in result.output
    again = held(into)
    draft(order, into, "--replace")
    assert held(into) == again


def test_a_folder_that_was_never_an_order_is_left_alone(tmp_path: Path) -> None:
    into, order = tmp_path / "orders", card(tmp_path / "anna.toml", "Anna")
    (into / "Anna-2026-03-14").mkdir(parents=True)
    (into / "Anna-2026-03-14" / "letters.txt").write_text("mine")
    before = held(into)
    draft(order, into, "--replace")

    assert before.items() < held(into).items()
    assert (into / "Anna-2026-03-14-2" / FILE).is_file()


@pytest.mark.parametrize("record", [None, b"{}", b"[", b"null", "older"])
def test_an_order_without_a_record_of_its_bytes_is_left_alone(
    tmp_path: Path, record: bytes | str | None
) -> None:
    """As they were written before there was one, or spoilt."""
    into, order = tmp_path / "orders", card(tmp_path / "anna.toml", "Anna")
    draft(order, into)
    path = into / "Anna-2026-03-14" / FILE
    if record is None:
        path.unlink()
    elif isinstance(record, bytes):
        path.write_bytes(record)
    else:
        told = json.loads(path.read_bytes())
        path.write_text(json.dumps({"form": 1, "mark": "m", "files": sorted(told["files"])}))
    before = held(into)
    draft(order, into, "--replace")

    assert before.items() < held(into).items()


def test_grade_and_draft_do_not_take_each_others_folders(tmp_path: Path) -> None:
    demo = tmp_path / "demo.toml"
    shutil.copy(data_folder() / "clients" / "demo.toml", demo)
    words = ["grade", str(demo), "--sizes", "astm-d5585-95", "--only", "8 10", "--replace"]
    first = CliRunner().invoke(neckarc, [*words, "--into", str(tmp_path / "out")])
    assert first.exit_code in (0, 3), first.output
    (place,) = (path for path in (tmp_path / "out").iterdir() if path.name not in LOCKS)
    assert b"Marta" not in (place / FILE).read_bytes()
    assert b"demo.toml" not in (place / FILE).read_bytes()
    (place / "my-notes.txt").write_text("mine")
    before = held(tmp_path / "out")
    CliRunner().invoke(neckarc, [*words, "--into", str(tmp_path / "out")])
    assert held(tmp_path / "out") == before
    other = tmp_path / "other.toml"
    demo.rename(other)
    words[1] = str(other)
    CliRunner().invoke(neckarc, [*words, "--into", str(tmp_path / "out")])
    assert before.items() < held(tmp_path / "out").items()


def recorded(**files: bytes) -> dict[str, bytes]:
    named = {f"{name}.txt": data for name, data in files.items()}
    return {**named, FILE: record_bytes(OWNER, named)}


@pytest.mark.parametrize("in_one_step", [True, False])
@pytest.mark.parametrize("linking", [True, False])
def test_a_swap_broken_off_anywhere_loses_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool, linking: bool
) -> None:
    """Stopped dead at every step (no step after it is done, not even putting things right)."""
    old, new = recorded(a=b"old", b=b"older"), recorded(a=b"new", c=b"newer")
    real = Path.rename, folder.exchange, os.link
    taken = swap_own(owned_by(OWNER))

    class StoppedError(BaseException):
        pass

    def unlinked(*given: object, **named: object) -> None:
        raise OSError(errno.EPERM, "no second names here")

    for at in range(12):
        into = tmp_path / f"{at}"
        place = write_folder(into, "anna", old).place
        (place / "mine.txt").write_bytes(b"mine")
        (place / "a.txt").write_bytes(b"old, and a word of mine")
        steps = iter(range(100))

        def step(at: int = at, steps: object = steps) -> None:
            if next(steps) >= at:  # type: ignore[call-overload]
                raise StoppedError

        def rename(self: Path, target: Path) -> Path:
            step()
            done = real[0](self, target)
            step()
            return done

        def exchange(one: Path, other: Path) -> bool:
            step()
            done = in_one_step and real[1](one, other)
            step()
            return done

        with monkeypatch.context() as patched:
            patched.setattr(Path, "rename", rename)
            patched.setattr(folder, "exchange", exchange)
            patched.setattr(folder.shutil, "rmtree", lambda *given, **named: None)
            patched.setattr(os, "link", real[2] if linking else unlinked)
            try:
                write_folder(into, "anna", new, taken=taken)
            except StoppedError:
                pass
            else:
                assert at > 3
        tidy(into)
        found = held(into)
        assert b"mine" in found.values()
        assert b"old, and a word of mine" in found.values()
        whole = {name: found.get(f"anna/{name}") for name in new}
        assert whole == new or found["anna/b.txt"] == b"older"
        assert sorted(path.name for path in into.iterdir() if path.name not in LOCKS) == ["anna"]


def test_what_came_into_the_old_folder_in_the_last_moment_is_kept_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = write_folder(tmp_path, "anna", recorded(a=b"old")).place
    real = keeping.carry

    def late(old: Path, new: Path) -> tuple[str, ...]:
        said = real(old, new)
        (place / "late.txt").write_bytes(b"just saved")
        return said

    monkeypatch.setattr(folder, "carry", late)
    done = write_folder(tmp_path, "anna", recorded(a=b"new"), taken=swap_own(owned_by(OWNER)))

    assert (tmp_path / "anna.kept" / "late.txt").read_bytes() == b"just saved"
    assert done.said == ("Other files from anna are kept in anna.kept.",)
    assert (place / "a.txt").read_bytes() == b"new"
    assert not list(tmp_path.glob(f"{PUT_AWAY}*"))
