"""Cards in and out of the book: the same TOML the command line reads, so nothing is locked in."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from typing import Any

import tomli_w

from blocks.body.measures import measurements
from drafting.errors import Problem
from drafting.tolerances import SAME_POINT
from garment.toile import fitting_words
from garment.wishes import ToileWish
from workroom.book.book import ASKED, Book
from workroom.book.errors import BookError
from workroom.book.records import BookOrder, Client, Correction
from workroom.card.card import read_card_text
from workroom.card.file import read_card_toml


def import_card(book: Book, text: str, name: str) -> tuple[Client, BookOrder]:
    """Take a card into the book: to the client of that name when there is just one, else a new one;
    its measurements as a new set (unless that very set is there already), its order as a new order,
    what was seen at her fittings as corrections in force (unless they are there already).

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
    _take_fittings(book, client, card.toile)
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


def _take_fittings(book: Book, client: Client, seen: tuple[ToileWish, ...]) -> None:
    """Every fitting that is not in the book yet, as often as it stands on the card; those that are
    hold from now on."""
    known = list(book.corrections_of(client.id))
    for one in seen:
        same = next((old for old in known if _same(old, one)), None)
        if same is None:
            book.add_correction(client.id, one.date, one.seen, one.amount)
            continue
        known.remove(same)
        if not same.in_force:
            book.let_hold(same.id)


def _same(old: Correction, one: ToileWish) -> bool:
    return (old.date, old.seen) == (one.date, one.seen) and abs(
        old.amount - one.amount
    ) < SAME_POINT


def _fittings(book: Book, client: Client, unit: str) -> list[dict[str, Any]]:
    """The corrections in force as ``[[toile]]`` of a card in ``unit``."""
    return [
        {
            "date": one.date,
            "seen": one.seen,
            "amount": one.amount if unit == "cm" else f"{one.amount:.6f} cm",
        }
        for one in book.corrections_of(client.id)
        if one.in_force and one.seen in fitting_words().seen
    ]


def _strange(book: Book, client: Client) -> str:
    """A remark for every correction in force that is in no words a card knows."""
    head = "# Fitting of {}, in words that no card knows: {}\n"
    return "".join(
        head.format(one.date.isoformat(), json.dumps(one.seen))
        for one in book.corrections_of(client.id)
        if one.in_force and one.seen not in fitting_words().seen
    )


def export_card(book: Book, order: BookOrder) -> str:
    """An order as the text of a card, with every correction in force; one in words that no card
    knows stands as a remark. Raises :class:`NotInBookError`."""
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
    seen = _fittings(book, client, unit)
    if seen:
        asked["toile"] = seen
    return _strange(book, client) + tomli_w.dumps({**head, **tables, **asked})


def _with_unit(key: str, value: float | str, unit: str) -> float | str:
    """A length with its own unit, so that it means the same on a card in another."""
    if measurements()[key].unit != "cm":
        return value
    text = str(value).strip()
    return text if text[-1:] in 'mn"″h' or text.endswith("inches") else f"{text} {unit}"
