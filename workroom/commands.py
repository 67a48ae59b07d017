"""The command line: ``neckarc draft``, ``batch``, ``grade``, ``survey``, ``check``, ``explain``,
``card``, ``book`` and ``desk``.

Exit status: 0 all is well; 1 a file could not be written; 2 the card has mistakes or asks for
what cannot be drafted, and nothing was written; 3 a check failed, and the draft is marked.
"""

from __future__ import annotations

import gc
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drafting.errors import DraftError
from drafting.units import LengthUnit
from workroom.batch.command import batch
from workroom.book.commands import book
from workroom.console.cli import DXF, PAPERS, answer
from workroom.grade.command import grade
from workroom.survey.command import survey

if TYPE_CHECKING:
    from garment.garment import Garment

_CARD = click.argument("card", type=click.Path(path_type=Path))


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96})
@click.version_option(package_name="neckarc", prog_name="neckarc")
def neckarc() -> None:
    """Draft bodice blocks, and a collar that sews to their neckline, from a client card.

    Start with `neckarc card --into anna.toml`, fill the card in with any text editor, then
    `neckarc check anna.toml` and, when all is well, `neckarc draft anna.toml`.
    """


@neckarc.command(short_help="Draft the order on a card and write its folder.")
@_CARD
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("orders"),
    show_default=True,
    help="The folder in which the order's own folder is made.",
)
@DXF
@PAPERS
@click.option("--replace", is_flag=True, help="Replace this order's folder.")
def draft(card: Path, into: Path, profiles: str, kinds: tuple[str, ...], replace: bool) -> None:
    """Draft the order on CARD and write its folder: DXF, pictures, checks."""
    answer(lambda: _draft(card, into, profiles, kinds, replace))


@neckarc.command(short_help="Draft the order on a card and show its checks.")
@_CARD
def check(card: Path) -> None:
    """Draft the order on CARD and show how every check came out. Writes no files."""
    answer(lambda: _check(card))


@neckarc.command(short_help="Explain where a number comes from and how sure it is.")
@_CARD
@click.argument("quantity", nargs=-1)
def explain(card: Path, quantity: tuple[str, ...]) -> None:
    """Explain the draft of CARD: how sure neckline, collar and checks are, what to measure again.

    With a QUANTITY (front neck width, half neckline, closed top girth, neck base girth, the name of
    a check ...) where it comes from, what it depends on, how sure it is, and how far a measurement
    may move before a check changes. Writes no files.
    """
    answer(lambda: _explain(card, " ".join(quantity)))


@neckarc.command(name="card", short_help="Write a blank client card.")
@click.option("--unit", type=click.Choice(["cm", "in"]), default="cm", show_default=True)
@click.option("--method", default="", help="The drafting method to write on it.")
@click.option("--collar", default="none", help="The collar to write on it, with its settings.")
@click.option(
    "--into",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to write; without it the card is printed.",
)
def blank(unit: str, method: str, collar: str, into: Path | None) -> None:
    """Write a blank client card, every measurement explained."""
    answer(lambda: _blank(unit, method, collar, into))


@neckarc.command(short_help="Fit a client on a page in your browser.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="0: any free port.")
@click.option("--no-browser", is_flag=True, help="Print the address; open no browser.")
def desk(port: int, no_browser: bool) -> None:
    """Start the desk: a page on this machine only, and open it in the browser."""
    answer(lambda: _desk(port, not no_browser))


neckarc.add_command(batch)
neckarc.add_command(grade)
neckarc.add_command(survey)
neckarc.add_command(book)


def main() -> None:
    """Run the command line."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    if sys.argv[1:2] in (["draft"], ["check"]):
        gc.disable()  # one order is done before there is memory worth sweeping up
    neckarc(prog_name="neckarc")


def _draft(path: Path, into: Path, profiles: str, kinds: tuple[str, ...], replace: bool) -> int:
    from workroom.folder.folder import next_number, swap_own, write_folder
    from workroom.folder.names import folder_name
    from workroom.folder.record import FILE, owned_by, owner_of, record_bytes
    from workroom.papers.booklets.console_text import show_order
    from workroom.papers.papers import papers

    order = _order(path)
    card = order.commission
    show_order(order)
    name = folder_name(card.client, card.date.isoformat(), card.order)
    day = card.date.isoformat()
    owner = owner_of(path, into, client=card.client, date=day, order=card.order)
    files = papers(order, profiles, kinds)
    files[FILE] = record_bytes(owner, files)
    taken = swap_own(owned_by(owner)) if replace else next_number
    written = write_folder(into, name, files, taken=taken)
    click.echo("\n".join((f"Written to {written.place}", *written.said)))
    return _status(order.failed)


def _check(path: Path) -> int:
    from workroom.papers.booklets.console_text import show_order

    order = _order(path)
    show_order(order)
    return _status(order.failed)


def _explain(path: Path, asked: str) -> int:
    from workroom.console.explaining import explain as explained

    order = _order(path)
    click.echo("\n".join(explained(order, asked)))
    return 0


def _desk(port: int, browser: bool) -> int:
    from workroom.book.book import sound_book
    from workroom.book.place import book_path
    from workroom.desk.run import run_desk

    path = book_path()
    sound_book(path).close()  # say at once what is wrong with it
    return run_desk(path, port, browser)


def _order(path: Path) -> Garment:
    """The order on a card; what cannot be drafted is said in the card's own unit."""
    from garment.garment import make_garment
    from workroom.card.card import open_card

    card = open_card(path)
    try:
        return make_garment(card)
    except DraftError as error:
        said = [p.written(card.unit) for p in error.problems]
        raise DraftError(said) from error


def _status(failures: tuple[object, ...]) -> int:
    if failures:
        click.echo("A check failed: NOT FOR CUTTING. See its advice above.", err=True)
        return 3
    return 0


def _blank(unit: str, method: str, collar: str, into: Path | None) -> int:
    from drafting.errors import CardError, Problem
    from workroom.card.blank import blank_card
    from workroom.card.card import known_collars, known_methods
    from workroom.folder.folder import write_file

    problems = []
    if method and method not in known_methods():
        problems.append(
            Problem(
                "there is no such method",
                key="--method",
                got=method,
                accepted=", ".join(known_methods()),
            )
        )
    if collar != "none" and collar not in known_collars():
        problems.append(
            Problem(
                "there is no such collar",
                key="--collar",
                got=collar,
                accepted=", ".join(("none", *known_collars())),
            )
        )
    if problems:
        raise CardError(problems)
    text = blank_card(
        collars=known_collars(),
        methods=known_methods(),
        unit=LengthUnit(unit),
        method=method,
        collar=collar,
    )
    if into is None:
        click.echo(text, nl=False)
    else:
        write_file(into, text.encode("utf-8"))
        click.echo(f"Written to {into}. Fill it in, then: neckarc check {into}")
    return 0
