"""List every sentence a maker can read, each once, with where it comes from: to be read through.

Usage: python scripts/sentences.py [--from WORD] [--count]

From the data (titles, meanings, steps, cautions), from the texts in the code (refusals and advice
that no shipped card calls forth), from the desk's page, from the help of the commands, and from
runs of every shipped card in centimetres and in inches: screen, explanation, report, worksheet,
order of making, cutting list, the desk's answer. Numbers are shown as #, so that the same sentence
with another number counts once; `--from` keeps what comes from a place with WORD in its name.
"""

from __future__ import annotations

import argparse
import ast
import datetime
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import click

from collars.registry import COLLARS
from drafting.library import data_folder, read_data
from drafting.sentences import Sentence, written
from drafting.units import LengthUnit
from garment.garment import Garment, make_garment
from garment.on_neck import legend, neck_lines, on_neck
from tests.units_said import inch_twin
from workroom.card.blank import blank_card
from workroom.card.card import known_collars, known_methods, read_card_text
from workroom.commands import neckarc
from workroom.console.explaining import explain
from workroom.desk.forms import form
from workroom.desk.preview import look_at
from workroom.making import order_of_making
from workroom.papers.booklets.console_text import plain_lines
from workroom.papers.booklets.report import report
from workroom.papers.papers import lay_papers
from workroom.worksheet.making import make_worksheet, worksheet_lines

PACKAGES = ("drafting", "blocks", "collars", "garment", "workroom")
UNITS = (LengthUnit.CM, LengthUnit.INCH)
#: Data a program reads: formulas, shapes, colours, names of keys.
_NO_WORDS = frozenset({"formula", "unit", "key", "file", "color", "pattern", "lines", "path"})
_NUMBER = re.compile(r"-?\d+(?: \d+/\d+|/\d+|[.,]\d+)*")
_WORDS = re.compile(r"[A-Za-z]{2,}[ ,;:]+\S*[a-z]")
_SCRIPT_TEXT = re.compile(r'"((?:[^"\\\n]|\\.)*)"|`((?:[^`\\]|\\.)*)`', re.DOTALL)
_SPOKEN_ATTRIBUTE = re.compile(r'(?:title|placeholder|aria-label|alt)="([^"]*)"')

Told = Iterator[tuple[str, str]]


def sentences(text: str) -> Iterator[str]:
    """The sentences of a text, numbers taken out."""
    for line in str(text).splitlines():
        plain = _NUMBER.sub("#", " ".join(line.split()))
        yield from (part.strip() for part in re.split(r"(?<=[.;!?]) (?=[A-Z])", plain) if part)


def texts(told: Any, at: str = "") -> Told:
    """Every text in plain data, with the key it stands under."""
    if isinstance(told, dict):
        for key, one in told.items():
            if key not in _NO_WORDS:
                yield from texts(one, f"{at}.{key}" if at else str(key))
    elif isinstance(told, list | tuple):
        for one in told:
            yield from texts(one, at)
    elif isinstance(told, str):
        yield at, told


def from_data() -> Told:
    """What the data files say."""
    for path in sorted(data_folder().rglob("*.toml")):
        name = path.relative_to(data_folder()).with_suffix("").as_posix()
        if not name.startswith(("clients/", "sizes/", "survey/women")):
            for key, text in texts(read_data(name).values):
                yield f"data/{name}: {key}", str(text)


def from_code() -> Told:
    """The texts in the packages: what is between quotes and reads as words."""
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            tree = ast.parse(path.read_text("utf-8"))
            for line, text in _spoken(tree):
                yield f"{path.relative_to(ROOT)}:{line}", text


def _spoken(tree: ast.AST) -> Iterator[tuple[int, str]]:
    silent = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    silent |= {
        id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)
        for part in ast.walk(node) if part is not node
    }  # fmt: skip
    for node in ast.walk(tree):
        if id(node) in silent:
            continue
        if isinstance(node, ast.JoinedStr):
            yield node.lineno, _joined(node)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


def _joined(node: ast.JoinedStr) -> str:
    return "".join(
        f"{{{ast.unparse(part.value)}}}"
        if isinstance(part, ast.FormattedValue)
        else str(getattr(part, "value", ""))
        for part in node.values
    )


def from_page() -> Told:
    """The words of the desk's page: templates and scripts."""
    desk = ROOT / "workroom" / "desk"
    for path in sorted(desk.glob("pages/*.html")):
        html = re.sub(r"{[%#].*?[%#]}", " ", path.read_text("utf-8"), flags=re.DOTALL)
        for text in (*_SPOKEN_ATTRIBUTE.findall(html), *re.sub(r"<[^>]*>", "\n", html).split("\n")):
            yield f"desk/{path.name}", text
    for path in sorted(desk.glob("static/**/*.js")):
        for one, other in _SCRIPT_TEXT.findall(path.read_text("utf-8")):
            yield f"desk/{path.name}", one or other


def from_commands(command: click.Command = neckarc, name: str = "neckarc") -> Told:
    """The help of the commands."""
    with click.Context(command, info_name=name) as context:
        for text in command.get_help(context).split("\n\n"):
            yield f"help of {name}", " ".join(text.split())
    if isinstance(command, click.Group):
        for key, under in command.commands.items():
            yield from from_commands(under, f"{name} {key}")


def from_runs() -> Told:
    """What every shipped card, and a blank one, says in each unit."""
    for unit in UNITS:
        yield from ((f"form ({unit})", text) for _, text in texts(form(unit.value)))
        for kind in COLLARS:
            card = blank_card(
                collars=known_collars(), methods=known_methods(), unit=unit, collar=kind
            )
            for remark in re.findall(r"(?m)(?:^# (?!\w+ = |\[).*\n)+", card):
                yield f"blank card ({unit})", " ".join(re.sub(r"(?m)^# ", "", remark).split())
    for path in sorted((data_folder() / "clients").glob("*.toml")):
        text = path.read_text("utf-8")
        for unit, content in zip(UNITS, (text, inch_twin(text)), strict=True):
            order = make_garment(read_card_text(content, path.name))
            looked = look_at(_dates_as_text(tomllib.loads(content))).told
            answer = (("the desk's answer", said) for _, said in texts(looked))
            for place, said in (*_run(order), *answer):
                yield f"{place} ({path.stem}, {unit})", said


def _dates_as_text(told: Any) -> Any:
    """A card's values as the page sends them."""
    if isinstance(told, dict):
        return {key: _dates_as_text(one) for key, one in told.items()}
    if isinstance(told, list):
        return [_dates_as_text(one) for one in told]
    return told.isoformat() if isinstance(told, datetime.date) else told


def _run(order: Garment) -> Told:
    unit = order.commission.unit
    yield from (("screen", line) for line in plain_lines(order))
    yield from (("explain", line) for line in explain(order))
    if order.bodice is not None:
        yield from (("explain a number", line) for line in explain(order, "half neckline"))
    made = order_of_making(order)
    for part, steps in made.parts():
        yield from (("order of making", step) for step in (part, *steps))
    yield from (("order of making", caution) for caution in made.cautions)
    yield from (("worksheet", line) for line in worksheet_lines(make_worksheet(order)))
    yield from (("report", written(text, unit)) for _, text in texts(report(order)))
    yield from (
        ("cutting list", line)
        for line in lay_papers(order)["cutting-list.txt"].decode().splitlines()
    )
    space = on_neck(order)
    if not isinstance(space, str):
        yield from (("on the neck", line) for line in (*neck_lines(order, space), legend()))


def listed(found: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Sentence by sentence where it was met first; a single word, or none, is left out."""
    first: dict[str, str] = {}
    for place, text in found:
        said = Sentence(text).written(LengthUnit.CM)
        for one in sentences(said):
            if _WORDS.search(one):
                first.setdefault(one, place)
    return first


def main() -> int:
    """Print the list."""
    reading = argparse.ArgumentParser(description="Every sentence a maker can read.")
    reading.add_argument("--from", dest="place", default="", help="only from places so named")
    reading.add_argument("--count", action="store_true", help="only how many")
    asked = reading.parse_args()
    sources = (from_data, from_page, from_commands, from_runs, from_code)
    first = listed(pair for source in sources for pair in source())
    chosen = {one: place for one, place in first.items() if asked.place in place}
    if not asked.count:
        for one, place in sorted(chosen.items(), key=lambda pair: (pair[0].lower(), pair[1])):
            print(f"{one}\t[{place}]")
    print(f"{len(chosen)} sentences")
    return 0


if __name__ == "__main__":
    sys.exit(main())
