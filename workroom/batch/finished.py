"""How a finished order is known: a small file in its folder tells from what it was made.

The mark is a hash of what the row asks for, of the papers wanted and of the program's version. A
folder with the same mark and all its files is finished. One with the mark from which files are
missing, or in which they are empty, was spoilt and is made again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from drafting.checks import Verdict
from workroom.batch.jobs import Job
from workroom.folder import Taken
from workroom.folder_record import Owner, Record, owned_by, record_bytes, record_in
from workroom.order import Garment
from workroom.report import version

#: Part of every mark: another one, and no order of before counts as finished.
_FORM = 1


@dataclass(frozen=True, slots=True)
class Account:
    """What the summary tells of a finished order."""

    client: str
    order: str
    date: str
    passed: int
    noted: int
    failed: tuple[str, ...]
    unusual: tuple[str, ...]


def mark_of(job: Job, card: bytes, papers: tuple[str, ...]) -> str:
    """The mark of an order; ``card`` is the card's file where the row names one."""
    told = {
        "form": _FORM,
        "version": version(),
        "cells": sorted((".".join(key), text) for key, (text, _) in job.cells.items())
        if not card
        else hashlib.sha256(card).hexdigest(),
        "papers": sorted(papers),
    }
    return hashlib.sha256(json.dumps(told).encode("utf-8")).hexdigest()


def account_of(order: Garment) -> Account:
    """The account of an order."""
    card = order.commission
    found = [check.verdict for check in order.checks]
    return Account(
        client=card.client,
        order=card.order,
        date=card.date.isoformat(),
        passed=found.count(Verdict.PASS),
        noted=found.count(Verdict.NOTE),
        failed=tuple(f"{c.name} ({c.where})" if c.where else c.name for c in order.failed),
        unusual=tuple(one.sentence(card.unit) for one in order.unusual),
    )


def finished_bytes(mark: str, owner: Owner, files: Mapping[str, bytes], account: Account) -> bytes:
    """The record that marks a folder with these files as finished."""
    return record_bytes(owner, files, {"mark": mark, "account": asdict(account)})


def finished(place: Path, mark: str) -> Account | None:
    """The account in a folder of this mark with all its files; ``None`` for any other."""
    record = record_in(place)
    if record is None or not _marked(record, mark) or not _whole(place, record):
        return None
    return _account(record.told)


def taken_by(mark: str, owner: Owner, replace: bool) -> Callable[[Path], Taken]:
    """What to do about a folder in the way of an order of this mark: keep one that is the order's
    own, swap one that was spoilt, swap what the same order left before it was changed only if it is
    to be replaced."""

    def what(place: Path) -> Taken:
        record = record_in(place)
        if record is not None and _marked(record, mark):
            if _whole(place, record):
                return Taken.KEEP
            if record.files:
                return Taken.SWAP
        if not replace:
            return Taken.NEXT
        return Taken.SWAP if owned_by(owner)(place) else Taken.OTHERS

    return what


def _marked(record: Record, mark: str) -> bool:
    return record.told.get("mark") == mark and _account(record.told) is not None


def _account(told: Mapping[str, Any]) -> Account | None:
    match told:
        case {"account": dict() as found}:
            try:
                account = Account(**found)
                return Account(
                    str(account.client),
                    str(account.order),
                    str(account.date),
                    int(account.passed),
                    int(account.noted),
                    tuple(map(str, account.failed)),
                    tuple(map(str, account.unusual)),
                )
            except (TypeError, ValueError):
                return None
    return None


def _whole(place: Path, record: Record) -> bool:
    try:
        return all((place / str(name)).stat().st_size > 0 for name in record.told["files"])
    except (OSError, ValueError):
        return False
