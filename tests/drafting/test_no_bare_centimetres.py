"""No sentence writes a length out by itself: a value stands in it until it is read."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import blocks
import collars
import drafting
import workroom
from drafting.library import data_folder, read_data

PACKAGES = (drafting, blocks, collars, workroom)
SOURCES = sorted(
    path
    for package in PACKAGES
    for path in Path(str(package.__file__)).parent.rglob("*.py")
    if "_data" not in path.parts
)
_UNIT = re.compile(r"^\s?(?:cm|mm|in)\b")
_LENGTH = re.compile(r"(?<![\w{.])\d+(?:\.\d+)? (?:cm|mm)\b")
#: Where a number and its unit are put together by the rule itself, and texts in both units.
_ALLOWED = {
    "drafting/formulas/writing.py": "one centimetre, a word of formulas",
    "drafting/units.py": "writes lengths",
    "drafting/sentences.py": "writes lengths; examples",
    "drafting/geometry/curves.py": "faults of a program, never of a card",
    "drafting/pieces/piece.py": "faults of a program, never of a card",
    "workroom/papers/papers.py": "the printed square, in both units",
    "workroom/card/file.py": "how a number with a unit is typed",
    "workroom/card/blank.py": "how a number with a unit is typed",
    "workroom/papers/pages/overview.py": "the printed square, in both units",
    "workroom/papers/dxf/interchange.py": "the square to measure, in both units",
    "workroom/papers/sheet/content.py": "the printed square, in both units",
    "workroom/papers/pictures/svg_pen.py": "sizes of a file, for programs",
    "workroom/papers/pages/one_sheet.py": "the printed grid, by unit",
    "workroom/grade/nest.py": "the printed bar, in both units",
    "workroom/book/cards.py": "an amount as it is kept, read back by a program",
    "workroom/desk/fittings.py": "an amount as it is kept, read back by a program",
    "workroom/survey/command.py": "what may be typed after an option",
}


def _docstrings(tree: ast.AST) -> set[int]:
    """The ids of all constants that are docstrings, or texts on their own."""
    return {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }


def written_out(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Lines where an f-string puts a unit behind a number, or a text speaks a length."""
    docs = _docstrings(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            for value, after in zip(node.values, node.values[1:], strict=False):
                if (
                    isinstance(value, ast.FormattedValue)
                    and isinstance(after, ast.Constant)
                    and _UNIT.match(str(after.value))
                ):
                    yield node.lineno, str(after.value)
        elif isinstance(node, ast.Constant) and id(node) not in docs:
            yield from ((node.lineno, said) for said in _LENGTH.findall(str(node.value)))


def test_the_net_catches_what_it_is_for() -> None:
    bad = 'a = f"take {x:.1f} cm or more"\nb = "up to 3 cm"\n'
    good = 'a = f"take {length(x)} or more, {n} in {m}"\n"""3 cm"""\n'
    assert [line for line, _ in written_out(ast.parse(bad))] == [1, 2]
    assert [said for _, said in written_out(ast.parse(good))] == [" in "]


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: "/".join(path.parts[-3:]))
def test_no_source_writes_out_a_length(path: Path) -> None:
    root = Path(str(drafting.__file__)).parent.parent
    if path.relative_to(root).as_posix() in _ALLOWED:
        return
    found = [
        (line, said)
        for line, said in written_out(ast.parse(path.read_text("utf-8")))
        if not said.startswith(" in ")  # "{one} in {other}" is the word
    ]
    assert not found


def test_what_is_allowed_is_there() -> None:
    root = Path(str(drafting.__file__)).parent.parent
    assert all((root / name).is_file() for name in _ALLOWED)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for one in value.values():
            yield from _texts(one)
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one)
    elif isinstance(value, str):
        yield value


@pytest.mark.parametrize(
    "name",
    sorted(
        path.relative_to(data_folder()).with_suffix("").as_posix()
        for path in data_folder().rglob("*.toml")
        if not {"sizes", "survey", "clients"} & set(path.parts)
    ),
)
def test_no_data_writes_out_a_length(name: str) -> None:
    """A sentence of data has its lengths in braces; ``2 * cm`` in a formula is none."""
    for text in _texts(read_data(name).values):
        words = getattr(text, "parts", (text,))
        for part in words:
            if isinstance(part, str):
                assert not _LENGTH.search(part), part
