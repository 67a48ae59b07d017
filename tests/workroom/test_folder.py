"""Folders and files appear whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting.errors import SheetError
from workroom import folder
from workroom.folder import folder_name, write_file, write_folder


@given(st.lists(st.text(max_size=60), max_size=4))
def test_a_folder_name_is_plain_whatever_was_written(parts: list[str]) -> None:
    name = folder_name(*parts)

    assert name
    assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-")
    assert len(name) < 200


def test_a_taken_name_gets_a_number_and_nothing_is_touched(tmp_path: Path) -> None:
    places = [write_folder(tmp_path, "anna", {"a.txt": bytes([k])}) for k in range(3)]

    assert [place.name for place in places] == ["anna", "anna-2", "anna-3"]
    assert [(place / "a.txt").read_bytes() for place in places] == [b"\0", b"\1", b"\2"]


def test_a_write_that_breaks_off_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = folder._write

    def full_disk(path: Path, content: bytes) -> None:
        if path.name == "b.txt":
            raise OSError(28, "No space left on device")
        real(path, content)

    monkeypatch.setattr(folder, "_write", full_disk)

    with pytest.raises(SheetError, match="No space left"):
        write_folder(tmp_path, "anna", {"a.txt": b"1", "b.txt": b"2"})
    assert list(tmp_path.iterdir()) == []


def test_an_existing_file_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    write_file(path, b"mine")

    with pytest.raises(SheetError, match="already"):
        write_file(path, b"other")
    assert path.read_bytes() == b"mine"
    assert [p.name for p in tmp_path.iterdir()] == ["card.toml"]
