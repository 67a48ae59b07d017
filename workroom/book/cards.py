"""Cards in and out of the book: the same TOML the command line reads, so nothing is locked in."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

import tomli_w

from blocks.measures import measurements
from drafting.errors import Problem
from workroom.book.book import ASKED, Book
from workroom.book.errors import BookError
from workroom.book.records import BookOrder, Client
from workroom.card_file import read_card_toml
from workroom.order import read_card_text


def import_card(book: Book, text: str, name: str) -> tuple[Client, BookOrder]:
    """Take a card into the book: to the client of that name when there is just one, else a new one;
    its measurements as a new set (unless that very set is there already), its order as a new order.

    Raises :class:`CardError` for a card with mistakes, and :class:`BookError` when two clients
    have that name.
    """
    card = read_card_text(text, name)
    values = read_card_toml(text, name).values
    same = [client for client in book.clients() if client.name == card.client]
    if len(same) > 1:
        raise BookError(
            Problem(
                f"there are {len(same)} clients of this name in the book",
                key=card.client,
                advice="Give one of them another name first.",
            )
        )
    client = same[0] if same else book.add_client(card.client)
    measured = _measured(book, client, card.date, values)
    asked = {table: values[table] for table in ASKED if table in values}
    asked["unit"] = str(values.get("unit", "cm"))
    if values.get("notes"):
        asked["notes"] = values["notes"]
    order = book.add_order(client.id, card.order, asked, measured)
    return client, order


def _measured(
    book: Book, client: Client, date: datetime.date, values: Mapping[str, Any]
) -> int | None:
    taken, unit = values.get("measurements", {}), str(values.get("unit", "cm"))
    for old in book.sets_of(client.id):
        if (old.date, old.unit, dict(old.taken)) == (date, unit, dict(taken)):
            return old.id
    return book.add_measurements(client.id, date, taken, unit).id


def export_card(book: Book, order: BookOrder) -> str:
    """An order as the text of a card. Raises :class:`NotInBookError`."""
    client = book.client(order.client)
    asked = dict(order.asked)
    unit = str(asked.pop("unit", "cm"))
    head: dict[str, Any] = {"client": client.name, "unit": unit}
    tables: dict[str, Any] = {}
    if order.measured is not None:
        measured = book.measurements(order.measured)
        head["date"] = measured.date
        tables["measurements"] = (
            dict(measured.taken)
            if measured.unit == unit
            else {key: _with_unit(key, v, measured.unit) for key, v in measured.taken.items()}
        )
    head |= {"order": order.name, "notes": str(asked.pop("notes", ""))}
    return tomli_w.dumps({**head, **tables, **asked})


def _with_unit(key: str, value: float | str, unit: str) -> float | str:
    """A length with its own unit, so that it means the same on a card in another."""
    if measurements()[key].unit != "cm":
        return value
    text = str(value).strip()
    return text if text[-1:] in 'mn"″h' or text.endswith("inches") else f"{text} {unit}"
