"""The reader of TOML: values, and the line on which every key stands."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting import library
from drafting.errors import DataError
from drafting.library import data_folder, data_names, read_data, read_toml

TEXT = '''\
# a comment with = and [brackets] and """ quotes
title = "x" # another = "y"

[plain]
one = 1
two.three = 2
"quoted key" = 3
'single' . part = 4
"with \\"escape\\"" = 5

[ spaced . "out" ]  # heading
key = 1

[inline]
point = { x = 1, y = { z = 2 } }
text = "[not.a.heading] # no comment"
after = 1

[strings]
long = """
fake = 1
[fake]
""""
literal = \'\'\'
other = """
\'\'\'
one_line = """ab"""
escaped = "\\"\\\\"
next = 1

[arrays]
flat = [1, 2, 3]
nested = [
  [1, 2],
  [3, 4]
]
tables = [
  { name = "a" },
  # between
  { name = "b", more = [
    1 ] },
]
words = [ "a = 1", """
b = 2
""", ]
date = 2026-03-14 10:00:00
last = true

[[order]]
name = "first"
[order.part]
size = 1
[[order.row]]
a = 1
[[order.row]]
a = 2

[[order]]
name = "second"
[[order.row]]
a = 3
'''


def line_of(sign: str, nth: int = 1) -> int:
    """The number of the ``nth`` line that begins with ``sign``."""
    found = [n for n, line in enumerate(TEXT.split("\n"), 1) if line.strip().startswith(sign)]
    return found[nth - 1]


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        ("title", 2),
        ("plain", 4),
        ("plain.one", 5),
        ("plain.two.three", 6),
        ("plain.quoted key", 7),
        ("plain.single.part", 8),
        ('plain.with "escape"', 9),
        ("spaced.out", 11),
        ("spaced.out.key", 12),
        ("inline.point", line_of("point")),
        ("inline.point.x", line_of("point")),
        ("inline.point.y.z", line_of("point")),
        ("inline.after", line_of("after")),
        ("strings.long", line_of("long")),
        ("strings.literal", line_of("literal")),
        ("strings.one_line", line_of("one_line")),
        ("strings.escaped", line_of("escaped")),
        ("strings.next", line_of("next")),
        ("arrays.flat", line_of("flat")),
        ("arrays.nested.0", line_of("[1, 2]")),
        ("arrays.nested.1", line_of("[3, 4]")),
        ("arrays.tables.0", line_of('{ name = "a"')),
        ("arrays.tables.0.name", line_of('{ name = "a"')),
        ("arrays.tables.1.name", line_of('{ name = "b"')),
        ("arrays.tables.1.more", line_of('{ name = "b"')),
        ("arrays.tables.1.more.0", line_of("1 ] }")),
        ("arrays.words", line_of("words")),
        ("arrays.date", line_of("date")),
        ("arrays.last", line_of("last")),
        ("order", line_of("[[order]]")),
        ("order.0", line_of("[[order]]")),
        ("order.0.name", line_of('name = "first"')),
        ("order.0.part", line_of("[order.part]")),
        ("order.0.part.size", line_of("size")),
        ("order.0.row.0", line_of("[[order.row]]", 1)),
        ("order.0.row.1.a", line_of("a = 2")),
        ("order.1", line_of("[[order]]", 2)),
        ("order.1.name", line_of('name = "second"')),
        ("order.1.row.0", line_of("[[order.row]]", 3)),
        ("order.1.row.0.a", line_of("a = 3")),
    ],
)
def test_the_line_of_a_key(keys: str, line: int) -> None:
    assert read_toml(TEXT, "x.toml").lines[keys] == line


def test_no_line_is_invented() -> None:
    found = read_toml(TEXT, "x.toml").lines

    assert not [key for key in found if "fake" in key or "not" in key or "other" in key]
    assert "arrays.words.0" not in found  # it stands on the line of its array
    assert "inline.text.not" not in found


def test_values_are_those_of_toml() -> None:
    assert read_toml(TEXT, "x.toml").values == tomllib.loads(TEXT)


def test_place_is_the_deepest_that_stands_in_the_text() -> None:
    toml = read_toml(TEXT, "x.toml")

    assert toml.place("plain", "one") == "x.toml:5"
    assert toml.place("plain", "missing") == "x.toml:4"
    assert toml.place("order", "1", "row", "0", "b") == f"x.toml:{line_of('[[order.row]]', 3)}"
    assert toml.place("arrays", "flat", "2") == f"x.toml:{line_of('flat')}"
    assert toml.place("nowhere", "at", "all") == "x.toml"
    assert toml.place() == "x.toml"


def test_lines_end_as_toml_says() -> None:
    """Carriage returns belong to the line end; other signs some call line ends do not count."""
    assert read_toml("a = 1\r\n\r\nb = 2\r\n", "x").lines == {"a": 1, "b": 3}
    assert read_toml("a = 'x\u2028\x85y' # \u2029\nb = 2", "x").lines == {"a": 1, "b": 2}


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("a = 1\nb = ", "x.toml"),
        ("a = 1\nb = ?\nc = 3", "x.toml:2"),
        ("a = 1\na = 2\n\n", "x.toml:2"),
        ("'line 7' = \n", "x.toml:1"),
    ],
)
def test_bad_toml_is_told_with_its_line(text: str, place: str) -> None:
    with pytest.raises(DataError, match="not TOML") as caught:
        read_toml(text, "x.toml")

    assert caught.value.problems[0].place == place


def test_too_deep_and_too_long_are_told() -> None:
    with pytest.raises(DataError, match="nested too deep"):
        read_toml(f"x = {'[' * 5000}{']' * 5000}", "x.toml")
    with pytest.raises(DataError, match="far too long"):
        read_toml(f"x = {'9' * 5000}", "x.toml")


@pytest.mark.parametrize("depth", [1, 20, 100])
def test_nested_as_deep_as_toml_reads(depth: int) -> None:
    text = f"x = {'[' * depth}\n1{']' * depth}\ny = 2"

    assert read_toml(text, "x").lines["y"] == 3


#: Values on one line or more, in all the ways TOML writes them.
scalars = st.sampled_from(
    ["1", "-2.5e3", "true", "2026-03-14", "07:32:00", "1979-05-27 07:32:00Z", '"a # b"', "'c = d'",
     '"\\"]"', '"""x\n[y]\nz = 1\n"""', "'''\n\"\"\"\n'''", '"""a"""""', "''''b'''''", "inf"]
)  # fmt: skip
gaps = st.sampled_from(["", " ", "\n", "\n  # note = [1]\n", "# x\n\n\t"])


@st.composite
def arrays(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    items = draw(st.lists(st.tuples(gaps, inner, gaps), max_size=3))
    body = ",".join(f"{before}{item}{after}" for before, item, after in items)
    return f"[{body}{draw(gaps)}]"


@st.composite
def tables(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    items = draw(st.lists(inner, max_size=3))
    return "{ " + ", ".join(f"k{n}.'in' = {item}" for n, item in enumerate(items)) + " }"


values = st.recursive(scalars, lambda inner: arrays(inner) | tables(inner), max_leaves=6)


@given(st.lists(st.tuples(st.sampled_from(["", "# [no]\n", "\n"]), values), max_size=5))
def test_keys_after_any_values_are_found(written: list[tuple[str, str]]) -> None:
    text, lines = "", {}
    for n, (before, value) in enumerate(written):
        text += f"{before}[t{n}] # heading\n key = {value} # note\n"
        lines[f"t{n}.key"] = text.count("\n") - value.count("\n")
    found = read_toml(text, "x").lines

    assert {key: found[key] for key in lines} == lines
    assert {key.split(".")[0] for key in found} == {f"t{n}" for n in range(len(written))}


def leaves(value: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for n, inner in enumerate(value):
            yield from leaves(inner, (*path, str(n)))
    else:
        yield path


ALL = sorted(
    str(path.relative_to(data_folder()).with_suffix("")) for path in data_folder().rglob("*.toml")
)


@pytest.mark.parametrize("name", ALL)
def test_every_key_of_our_own_data_is_on_its_line(name: str) -> None:
    toml = read_data(name)
    text = (data_folder() / f"{name}.toml").read_text("utf-8").split("\n")
    seen = 0
    for path in leaves(toml.values):
        key = next(part for part in reversed(path) if not part.isdigit())
        line = toml.lines[".".join(path[: len(path) - path[::-1].index(key)])]
        assert key in text[line - 1], path
        seen += 1

    assert seen > 0


def test_names_in_a_folder_are_sorted() -> None:
    names = data_names("methods")

    assert names == tuple(sorted(names))
    assert "direct-measure" in names
    assert data_names("no such folder") == ()


def test_a_missing_or_unreadable_data_file_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(library, "data_folder", lambda: tmp_path)
    (tmp_path / "bytes.toml").write_bytes(b"a = '\xff'")
    for name in ("nothing", "bytes"):
        with pytest.raises(DataError, match="cannot be read") as caught:
            read_data(name)
        assert caught.value.problems[0].place == f"{name}.toml"


@pytest.mark.parametrize(
    "text",
    [
        "a." * 300_000 + "a = 1",
        "\n[" + '"a b" . ' * 100_000 + "a]",
        "x = [{ b = 1, " + "'a'." * 200_000 + "a = 1 }]",
    ],
)
def test_a_key_of_very_many_steps_is_refused_before_it_fills_the_memory(text: str) -> None:
    """A card of 40 kB once took 2 GB and ten seconds, one of 1 MB more than most machines have."""
    with pytest.raises(DataError, match="a key of more than 50 steps") as caught:
        read_toml(text, "anna.toml")

    assert caught.value.problems[0].place == f"anna.toml:{1 + text.count(chr(10))}"


def test_many_dots_are_no_key_where_they_are_text() -> None:
    dots = "a." * 300

    found = read_toml(f'# {dots}\nnotes = "{dots}"\n{"a." * 48}a = 1\n', "anna.toml")
    assert found.values["notes"] == dots
