"""How a finished order is known: a small file in its folder tells from what it was made.

The mark is a hash of what the row asks for, of the papers wanted and of the program's version. A
folder with the same mark and all its files is finished. One with the mark from which files are
missing, or in which they are empty, was spoilt and is made again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from drafting.checks import Verdict
from workroom.batch.jobs import Job
from workroom.folder import Taken
from workroom.order import Order
from workroom.report import version

FILE = "order.json"
FORM = 1
#: No such file is larger (bytes); anything longer is none of ours.
_MOST_BYTES = 200_000


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
        "form": FORM,
        "version": version(),
        "cells": sorted((".".join(key), text) for key, (text, _) in job.cells.items())
        if not card
        else hashlib.sha256(card).hexdigest(),
        "papers": sorted(papers),
    }
    return hashlib.sha256(json.dumps(told).encode("utf-8")).hexdigest()


def account_of(order: Order) -> Account:
    """The account of an order."""
    card = order.card
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


def finished_bytes(mark: str, files: Mapping[str, bytes], account: Account) -> bytes:
    """The file that marks a folder with these files as finished."""
    told = {
        "form": FORM,
        "written_by": f"Neckarc {version()}",
        "mark": mark,
        "files": sorted(files),
        "account": asdict(account),
    }
    return (json.dumps(told, ensure_ascii=False, indent=2) + "\n").encode("utf-8")


def finished(place: Path, mark: str) -> Account | None:
    """The account in a folder of this mark with all its files; ``None`` for any other."""
    told = _read(place)
    if told is None or told.get("mark") != mark or not _whole(place, told):
        return None
    return _account(told)


def taken_by(mark: str, replace: bool) -> Any:
    """What to do about a folder in the way of an order of this mark: keep one that is the order's
    own, swap one that was spoilt, swap any other only if it is to be replaced."""

    def what(place: Path) -> Taken:
        told = _read(place)
        if told is not None and told.get("mark") == mark:
            if _whole(place, told):
                return Taken.KEEP
            if _all_ours(place, told):
                return Taken.SWAP
        return Taken.SWAP if replace and place.is_dir() else Taken.NEXT

    return what


def _read(place: Path) -> dict[str, Any] | None:
    try:
        with (place / FILE).open("rb") as file:
            told = json.loads(file.read(_MOST_BYTES))
    except (OSError, ValueError, RecursionError):
        return None
    return told if isinstance(told, dict) and _account(told) is not None else None


def _account(told: Mapping[str, Any]) -> Account | None:
    match told:
        case {"files": list(), "account": dict() as found}:
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


def _whole(place: Path, told: Mapping[str, Any]) -> bool:
    try:
        return all((place / str(name)).stat().st_size > 0 for name in told["files"])
    except (OSError, ValueError):
        return False


def _all_ours(place: Path, told: Mapping[str, Any]) -> bool:
    try:
        return {path.name for path in place.iterdir()} <= {FILE, *map(str, told["files"])}
    except OSError:
        return False
