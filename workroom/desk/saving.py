"""An order between the book and the page: opened as a card's content, saved from one."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

import tomli_w

from drafting.errors import Problem
from drafting.units import LengthUnit
from workroom.book.book import ASKED, Book
from workroom.book.cards import export_card
from workroom.book.errors import BookConflictError
from workroom.book.records import BookOrder, Taken
from workroom.card.file import read_card_toml
from workroom.desk.content import (
    FITTINGS,
    LONGEST_NAME,
    LONGEST_NOTE,
    DeskError,
    read_content,
    text_line,
    text_lines,
)
from workroom.desk.fittings import change_of, rows_of


def opened(book: Book, order: BookOrder) -> dict[str, Any]:
    """An order as the page edits it: the content of its card."""
    values = read_card_toml(export_card(book, order), "card").values
    content: dict[str, Any] = {key: values.get(key, {}) for key in (*ASKED, "measurements")}
    date = values.get("date") or datetime.date.today()
    content |= {"unit": values["unit"], "date": str(date), "order": order.name}
    content[FITTINGS] = rows_of(book.corrections_of(order.client))
    return content | {"client": values["client"], "notes": values.get("notes", "")}


def saved(book: Book, was: BookOrder, sent: object, version: int) -> BookOrder:
    """Save an order from the page's content; measurements that differ from those it had are a new
    set, and what was seen at a fitting comes to the client's corrections.

    Raises :class:`DeskError` for content no card can have, and :class:`BookConflictError` when
    another window saved meanwhile: nothing is overwritten.
    """
    content = read_content(sent)
    if was.version != version:
        raise BookConflictError(
            Problem(
                "another window saved this order meanwhile; nothing was overwritten",
                advice="Load the page again and make your change once more.",
            )
        )
    had = opened(book, was)
    unit = "in" if content.get("unit") == "in" else "cm"
    values = content.get("measurements", {})
    date = read_date(content.get("date", had["date"]))
    new = (str(date), unit, values) != (had["date"], had["unit"], had["measurements"])
    asked: dict[str, Any] = {table: content[table] for table in ASKED if table in content}
    asked["unit"] = unit
    notes = text_lines(content.get("notes", ""), "notes", LONGEST_NOTE)
    if notes:
        asked["notes"] = notes
    name = text_line(content.get("order", ""), "order", LONGEST_NAME)
    _check_writable({**asked, "measurements": values})
    taken = Taken(date, values, unit) if values and new else None
    measured = was.measured if values or taken else None
    fitting = None
    if FITTINGS in content:
        fitting = change_of(
            content[FITTINGS],
            book.corrections_of(was.client),
            LengthUnit(unit),
            datetime.date.today(),
        )
    return book.change_order(
        was, name=name, asked=asked, measured=measured, taken=taken, fitting=fitting
    )


def read_date(given: object) -> datetime.date:
    """A day. Raises :class:`DeskError`."""
    try:
        return datetime.date.fromisoformat(str(given))
    except ValueError:
        raise DeskError(
            Problem("this is not a date", key="date", accepted="year-month-day, such as 2026-03-14")
        ) from None


def _check_writable(values: Mapping[str, Any]) -> None:
    """What is saved must come out again as a card."""
    try:
        read_card_toml(tomli_w.dumps(values), "card")
    except (TypeError, ValueError) as error:
        raise DeskError(Problem(f"this cannot stand on a card: {error}")) from error
