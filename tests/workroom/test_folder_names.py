"""Names of folders: readable in every script, safe on every disk, different where they can be."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workroom.folder.folder import write_folder
from workroom.folder.names import folded, folder_name

#: What no disk takes, or takes for something else.
FORBIDDEN = set('<>:"/\\|?* .')


@given(st.lists(st.text(max_size=90), max_size=3))
def test_a_name_is_safe_whatever_was_written(parts: list[str]) -> None:
    name = folder_name(*parts)

    assert name
    assert not FORBIDDEN & set(name)
    assert all(unicodedata.category(sign)[0] in "LNM" or sign == "-" for sign in name)
    assert name == unicodedata.normalize("NFC", name)
    assert len(name.encode("utf-8")) < 200
    assert name[0] != "-" != name[-1]


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("Анна Каренина", "Анна-Каренина"),
        ("李小龙", "李小龙"),
        ("Zoe\u0308 D'Arcy & Co.", "Zoë-D-Arcy-Co"),
        ("مریم می\u200cخواهد", "مریم-میخواهد"),
        ("../../etc/passwd", "etc-passwd"),
        ("...", "order"),
        ("con", "order-con"),
        ("Lpt1", "order-Lpt1"),
        ("COM²", "order-COM²"),
        ("console", "console"),
    ],
)
def test_names_stay_readable(written: str, wanted: str) -> None:
    assert folder_name(written) == wanted


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Анна", "Вера"),
        ("李小龙", "李大龙"),
        ("Maria Theresia " * 3 + "A", "Maria Theresia " * 3 + "B"),
        ("א" * 50 + "ב", "א" * 50 + "ג"),
    ],
)
def test_other_names_have_other_folders(one: str, other: str) -> None:
    day, order = "2026-03-14", "Blouse"
    assert folder_name(one, day, order) != folder_name(other, day, order)


@given(st.text(alphabet="ẹ́́ạ̈が한ก้", min_size=30, max_size=90))
def test_a_cut_takes_whole_letters(text: str) -> None:
    """What stands before the dash is the beginning of the whole, and no accent follows it there."""
    whole, name = unicodedata.normalize("NFC", text), folder_name(text)
    if name != whole.lstrip("".join(chr(k) for k in range(0x300, 0x370))):
        head = name.rpartition("-")[0]
        start = whole.find(head)
        assert start >= 0
        after = whole[start + len(head) : start + len(head) + 1]
        assert not after or unicodedata.category(after)[0] != "M"


def test_names_that_a_disk_takes_for_one_get_a_number(tmp_path: Path) -> None:
    """Copied to a disk that does not tell capitals from small letters, they would be one folder."""
    first = write_folder(tmp_path, "ÄNNE-Straße", {"a.txt": b"1"}).place
    second = write_folder(tmp_path, "änne-strasse", {"a.txt": b"2"}).place

    assert second.name == "änne-strasse-2"
    assert folded(first.name) != folded(second.name)
    assert (first / "a.txt").read_bytes() == b"1"
