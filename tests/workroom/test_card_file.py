"""Cards on disk: every editor's text is read, and what is no card is told in plain words."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from drafting.errors import CardError, Problem
from drafting.library import data_folder
from drafting.parameters import ParameterRule
from garment.wishes import Commission
from workroom.card.card import parse_card, read_card
from workroom.card.file import MAX_BYTES

COLLARS: dict[str, dict[str, ParameterRule]] = {"two-piece shirt": {}}
METHODS = {"direct-measure": frozenset({"bust_girth"})}
GOOD = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")


def read(path: Path) -> Commission:
    return read_card(path, collars=COLLARS, methods=METHODS)


@pytest.mark.parametrize(
    "encode",
    [
        lambda text: text.encode(),
        lambda text: text.encode("utf-8-sig"),
        lambda text: text.encode("utf-16"),
        lambda text: b"\xfe\xff" + text.encode("utf-16-be"),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: text.replace("\n", "\r").encode(),
    ],
    ids=["utf-8", "with mark", "utf-16", "utf-16 big end first", "crlf", "cr"],
)
def test_cards_of_every_editor_are_read(tmp_path: Path, encode: Callable[[str], bytes]) -> None:
    path = tmp_path / "marta.toml"
    path.write_bytes(encode(GOOD))
    assert read(path) == parse_card(GOOD, path.name, collars=COLLARS, methods=METHODS)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (GOOD.encode("utf-16-le"), "UTF-16 without its mark"),
        (GOOD.encode("utf-16-be"), "UTF-16 without its mark"),
        (GOOD.encode("utf-32"), "UTF-16 without its mark"),
        (GOOD.encode() + b"# caf\xe9\n", "this is not text"),
        (b"\xff\xfea", "this is not text"),
        (b"a" * (MAX_BYTES + 1), "too large"),
        (b"\x89PNG\r\n\x1a\n\x00", "this is not text"),
    ],
)
def test_bytes_that_are_no_card_are_told(tmp_path: Path, data: bytes, said: str) -> None:
    path = tmp_path / "marta.toml"
    path.write_bytes(data)
    with pytest.raises(CardError, match=said) as caught:
        read(path)
    assert len(caught.value.problems) == 1
    assert "marta.toml" in caught.value.problems[0].place


def test_places_that_are_no_card_are_told(tmp_path: Path) -> None:
    (tmp_path / "marta.toml").write_text(GOOD)
    os.mkfifo(tmp_path / "pipe.toml")
    for path, said in (
        (tmp_path, "this is a folder"),
        (tmp_path / "pipe.toml", "not a plain file"),
        (tmp_path / "martha.toml", r"no such card.*Did you mean marta.toml\?"),
        (tmp_path / "marta.toml" / "x.toml", "cannot be opened"),
        (tmp_path / ("a" * 300), "cannot be opened"),
        (Path("a\0b"), "cannot be opened"),
    ):
        with pytest.raises(CardError, match=said):
            read(path)


def test_a_locked_card_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "marta.toml"
    path.write_text(GOOD)

    def locked(self: Path, *args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "open", locked)
    with pytest.raises(CardError, match="permissions of this card forbid"):
        read(path)


def test_strange_file_names_cannot_paint_the_screen(tmp_path: Path) -> None:
    path = tmp_path / "a\x1b[31m.toml"
    path.write_text("client = ")
    with pytest.raises(CardError) as caught:
        read(path)
    assert "\x1b" not in str(caught.value)


def only(text: str) -> Problem:
    with pytest.raises(CardError) as caught:
        parse_card(text, "marta.toml", collars=COLLARS, methods=METHODS)
    [problem] = caught.value.problems
    return problem


@pytest.mark.parametrize(
    ("line", "said", "advice"),
    [
        ("bust_girth = 92,5", "this line cannot be read", "92,5"),
        ("bust_girth = 14 3/8", "this line cannot be read", "14 3/8"),
        ("bust_girth = 92 cm", "this line cannot be read", "its unit in quotation marks"),
        ("bust_girth =", "this line cannot be read", "Write the value after the ="),
        ("client = Marta", "this line cannot be read", "Put text in quotation marks"),
        ('client = "Marta', "this line cannot be read", "Close the quotation marks"),
        ("client = “Marta”", "this line cannot be read", "straight quotation marks"),
        ("just words", "this line cannot be read", "A line is key = value"),
        ("date = 2026-02-30", "this line cannot be read", ""),
        ("a = 1\na = 2", "this key or heading is here twice", "Keep one of them."),
        ("[a]\n[a]", "this key or heading is here twice", "Keep one of them."),
    ],
)
def test_bad_toml_is_told_in_plain_words(line: str, said: str, advice: str) -> None:
    problem = only(f"# a remark\n\n{line}\n")
    assert problem.place == f"marta.toml:{3 + line.count(chr(10))}"
    assert problem.said.startswith(said)
    assert advice in problem.advice
    assert problem.got == line.splitlines()[-1]


def test_toml_too_deep_or_too_long_is_told() -> None:
    assert "nested too deep" in only(f"x = {'[' * 5000}").said
    assert "far too long" in only(f"x = {'9' * 5000}").said
    assert "too large" in only(f"notes = '{'a' * MAX_BYTES}'").said
