"""``neckarc book``: the client book from the command line."""

from __future__ import annotations

from pathlib import Path

import click

from drafting.errors import Problem
from workroom.answers import answer
from workroom.book.errors import BookError


@click.group(name="book", short_help="List, copy and erase what is in the client book.")
def book() -> None:
    """The client book: who is in it, cards in and out, copies, erasing.

    It lies in your own data folder (see neckarc book where) and never leaves this machine.
    """


@book.command(name="where")
def where() -> None:
    """Say where the book lies."""
    from workroom.book.place import book_path

    click.echo(str(book_path()))


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


@book.command(name="erase")
@click.argument("client", type=int)
@click.option("--yes", is_flag=True, help="Do not ask.")
def erase(client: int, yes: bool) -> None:
    """Really delete CLIENT (her number in the list) with all there is of her."""
    answer(lambda: _erase(client, yes))


def _list() -> int:
    from workroom.book.book import Book
    from workroom.book.place import book_path

    with Book(book_path()) as book_:
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
    from workroom.book.book import Book
    from workroom.book.cards import import_card
    from workroom.book.place import book_path
    from workroom.card_file import read_text

    with Book(book_path()) as book_:
        for card in cards:
            client, order = import_card(book_, read_text(card), card.name)
            click.echo(f"{card.name}: client {client.id}, {client.name}, order {order.id}")
    return 0


def _give(number: int, into: Path | None) -> int:
    from workroom.book.book import Book
    from workroom.book.cards import export_card
    from workroom.book.place import book_path
    from workroom.folder import write_file

    with Book(book_path()) as book_:
        text = export_card(book_, book_.order(number))
    if into is None:
        click.echo(text, nl=False)
    else:
        write_file(into, text.encode("utf-8"))
        click.echo(f"Written to {into}")
    return 0


def _copy(into: Path) -> int:
    from workroom.book.book import Book
    from workroom.book.place import book_path

    with Book(book_path()) as book_:
        book_.back_up(into)
    click.echo(f"Written to {into}")
    return 0


def _restore(source: Path) -> int:
    from workroom.book.book import Book
    from workroom.book.place import book_path

    place = book_path()
    if not source.exists():
        raise BookError(Problem("there is no such copy", place=str(source)))
    with Book(source) as copy_:  # refused here if it is no book
        fresh = place.with_name(f"{place.name}.restored")
        fresh.parent.mkdir(parents=True, exist_ok=True)
        fresh.unlink(missing_ok=True)
        copy_.back_up(fresh)
    kept: Path | None = None
    if place.exists():
        kept = _unused(place)
        with Book(place) as old:
            old.back_up(kept)
        for rest in ("-wal", "-shm"):
            place.with_name(place.name + rest).unlink(missing_ok=True)
    fresh.replace(place)
    click.echo(f"Restored {place}" + (f"; the book before is {kept}" if kept else ""))
    return 0


def _unused(place: Path) -> Path:
    """A name beside the book that no file has."""
    number = 1
    while (found := place.with_name(f"{place.stem}-before-{number}.db")).exists():
        number += 1
    return found


def _erase(number: int, yes: bool) -> int:
    from workroom.book.book import Book
    from workroom.book.place import book_path

    with Book(book_path()) as book_:
        client = book_.client(number)
        if not yes and not click.confirm(
            f"Delete {client.name} with all measurements, orders and notes, for good?"
        ):
            click.echo("Nothing was deleted.")
            return 0
        click.echo(book_.delete_client(number).said())
    click.echo("Copies of the book you made before still have her; erase those too.")
    return 0
