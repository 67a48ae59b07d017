"""What stands in the book, as plain values."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Client:
    """A client. ``version`` grows with every change of name or notes."""

    id: int
    name: str
    notes: str
    version: int


@dataclass(frozen=True, slots=True)
class MeasurementSet:
    """What was taken on one day, as it was written (numbers, or text such as ``14 3/8``), in
    ``unit``. Sets are never changed: what is taken anew is a new set."""

    id: int
    client: int
    date: datetime.date
    unit: str
    taken: Mapping[str, float | str]
    note: str


@dataclass(frozen=True, slots=True)
class Taken:
    """Measurements just taken, not in the book yet."""

    date: datetime.date
    values: Mapping[str, float | str]
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class BookOrder:
    """An order: its name, the measurement set it is drafted to, and what is asked for: the tables
    ``garment``, ``neckline`` and ``collar`` of a card, as written."""

    id: int
    client: int
    measured: int | None
    name: str
    asked: Mapping[str, Any]
    version: int


@dataclass(frozen=True, slots=True)
class Correction:
    """What was seen at a fitting, by its key, with its amount (cm), whether it still holds, and the
    day on which it was last withdrawn."""

    id: int
    client: int
    date: datetime.date
    seen: str
    amount: float
    in_force: bool
    withdrawn: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class NewlySeen:
    """What was just seen at a fitting, not in the book yet; the amount in cm."""

    date: datetime.date
    seen: str
    amount: float


@dataclass(frozen=True, slots=True)
class FittingChange:
    """What a fitting adds to a client's corrections and what it withdraws, by number, on ``day``.

    ``known`` are the numbers of all that held when the fitting began: where others hold by now,
    another window was there.
    """

    known: frozenset[int]
    new: tuple[NewlySeen, ...]
    withdrawn: frozenset[int]
    day: datetime.date


@dataclass(frozen=True, slots=True)
class Erased:
    """What went when a client was deleted."""

    name: str
    sets: int
    orders: int
    corrections: int

    def said(self) -> str:
        """For the maker."""
        counts = (
            (self.sets, "measurement set"),
            (self.orders, "order"),
            (self.corrections, "correction"),
        )
        told = ", ".join(f"{count} {thing}{'' if count == 1 else 's'}" for count, thing in counts)
        return f"Deleted {self.name}: {told}, and all notes."
