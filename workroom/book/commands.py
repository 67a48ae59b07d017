"""``neckarc book``: the client book from the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from workroom.console.cli import answer

if TYPE_CHECKING:
    from workroom.book.book import Book


@click.group(name="book", short_help="List, copy and erase what is in the client book.")
def book() -> None:
    """The client book: who is in it, cards in and out, copies, erasing.

    It lies in your own data folder (see neckarc book where) and never leaves this machine.
    """


@book.command(name="where")
def where() -> None:
    """Say where the book lies."""
    answer(_where)


@book.command(name="list")
def list_() -> None:
    """Everyone in the book, with measurement sets and orders."""
    answer(_list)


@book.command(name="take")
@click.argument("cards", nargs=-1, required=True, type=click.Path(path_type=Path))
def take(cards: tuple[Path, ...]) -> None:
    """Take CARDS into the book."""
    answer(lambda: _take(cards))


@book.command(name="give")
@click.argument("order", type=int)
@click.option("--into", type=click.Path(path_type=Path, dir_okay=False), help="The card's file.")
def give(order: int, into: Path | None) -> None:
    """Write ORDER (its number in the list) out as a card."""
    answer(lambda: _give(order, into))


@book.command(name="copy")
@click.argument("into", type=click.Path(path_type=Path, dir_okay=False))
def copy(into: Path) -> None:
    """Copy the whole book into a new file."""
    answer(lambda: _copy(into))


@book.command(name="restore")
@click.argument("source", type=click.Path(path_type=Path, dir_okay=False))
def restore(source: Path) -> None:
    """Put a copy in the book's place; the book that was there is kept beside it."""
    answer(lambda: _restore(source))


@book.command(name="mend")
def mend() -> None:
    """Save what can be read of a damaged book; the damaged file is kept beside it."""
    answer(_mend)


@book.command(name="erase")
@click.argument("client", type=int)
@click.option("--yes", is_flag=True, help="Do not ask.")
def erase(client: int, yes: bool) -> None:
    """Really delete CLIENT (her number in the list) with all there is of her."""
    answer(lambda: _erase(client, yes))


def _list() -> int:
    with _book() as book_:
        for client in book_.clients():
            click.echo(f"{client.id}  {client.name}")
            for measured in book_.sets_of(client.id):
                click.echo(f"     measured {measured.date}: {len(measured.taken)} measurements")
            for order in book_.orders_of(client.id):
                click.echo(f"     order {order.id}: {order.name or 'without a name'}")
        if not book_.clients():
            click.echo("The book is empty.")
    return 0


def _take(cards: tuple[Path, ...]) -> int:
    from workroom.book.cards import import_card
    from workroom.card.file import read_text

    with _book() as book_:
        for card in cards:
            client, order = import_card(book_, read_text(card), card.name)
            click.echo(f"{card.name}: client {client.id}, {client.name}, order {order.id}")
    return 0


def _give(number: int, into: Path | None) -> int:
    from workroom.book.cards import export_card
    from workroom.folder.folder import write_file

    with _book() as book_:
        text = export_card(book_, book_.order(number))
    if into is None:
        click.echo(text, nl=False)
    else:
        write_file(into, text.encode("utf-8"))
        click.echo(f"Written to {into}")
    return 0


def _copy(into: Path) -> int:
    from workroom.book.copies import copy_book

    with _book() as book_:
        copy_book(book_, into)
    click.echo(f"Written to {into}. It holds all your clients: keep it to yourself.")
    return 0


def _restore(source: Path) -> int:
    from workroom.book.copies import restore_book
    from workroom.book.place import book_path

    click.echo("\n".join(restore_book(source, book_path())))
    return 0


def _mend() -> int:
    from workroom.book.copies import mend_book
    from workroom.book.place import book_path

    click.echo("\n".join(mend_book(book_path())))
    return 0


def _where() -> int:
    from workroom.book.place import book_path, keep_private, open_to_others

    place = book_path()
    click.echo(str(place))
    if place.exists():
        keep_private(place)
        if open_to_others(place):
            click.echo(
                "Others on this computer may read it: its disk keeps no rights, or the file is "
                "another user's.",
                err=True,
            )
    return 0


def _erase(number: int, yes: bool) -> int:
    from workroom.book.copies import still_named
    from workroom.book.place import book_path

    with _book() as book_:
        client = book_.client(number)
        if not yes and not click.confirm(
            f"Delete {client.name} with all measurements, orders and notes, for good?"
        ):
            click.echo("Nothing was deleted.")
            return 0
        click.echo(book_.delete_client(number).said())
    for line in still_named(book_path(), client.name):
        click.echo(line)
    click.echo("Copies of the book made before still have her: delete those too.")
    return 0


def _book() -> Book:
    """The book, looked through. Raises :class:`BookError`."""
    from workroom.book.book import sound_book
    from workroom.book.place import book_path

    return sound_book(book_path())
