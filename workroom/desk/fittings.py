"""What was seen at fittings, between the book and the page.

On the page each thing seen is a row: ``date``, ``seen``, ``amount`` (none: the usual). One that
lies in the book has its number there as ``id`` and is never changed; ``withdrawn`` marks it as to
hold no longer. One without a number was just seen.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from drafting.errors import Problem
from drafting.library import TomlText
from drafting.sentences import written
from drafting.tolerances import SAME_POINT
from drafting.units import LengthUnit
from garment.toile import fitting_words, heard, inapplicable_words, together
from garment.wishes import Commission
from workroom.book.records import Correction, FittingChange, NewlySeen
from workroom.card.file import shape_problems
from workroom.card.shape import MOST_SEEN, ToileShape
from workroom.desk.content import FITTINGS, DeskError

_Row = Mapping[str, Any]
_KEYS = ("date", "seen", "amount")


def rows_of(corrections: Sequence[Correction]) -> list[dict[str, Any]]:
    """The corrections that hold, as rows."""
    return [
        {
            "id": one.id,
            "date": one.date.isoformat(),
            "seen": one.seen,
            "amount": f"{one.amount:.6f}".rstrip("0").rstrip(".") + " cm",
        }
        for one in corrections
        if one.in_force
    ]


def as_shown(content: Mapping[str, Any]) -> dict[str, Any]:
    """A content whose fittings are as a card has them: those that are to hold."""
    return _with(content, [_on_card(row) for _, row in _holding(content)])


def as_kept(content: Mapping[str, Any]) -> dict[str, Any] | None:
    """The same with the fittings as the book has them; ``None`` when they are the same."""
    rows = content.get(FITTINGS, [])
    if not any(_new(row) or row.get("withdrawn") for row in rows):
        return None
    return _with(content, [_on_card(row) for row in rows if not _new(row) and _known(row)])


def place_of(content: Mapping[str, Any], key: str) -> str:
    """The key of a problem with a fitting, its row counted as on the page."""
    parts = key.split(".")
    if parts[0] != FITTINGS or len(parts) < 2 or not parts[1].isdecimal():
        return key
    places = [k for k, _ in _holding(content)]
    return ".".join([FITTINGS, str(places[int(parts[1])]), *parts[2:]])


def told_fittings(content: Mapping[str, Any], card: Commission) -> dict[str, Any]:
    """What each row turns in an order, what they come to together, and the words for which the
    order has nothing to turn."""
    unit = card.unit
    all_heard = heard(card)
    rows: list[dict[str, Any] | None] = [None] * len(content.get(FITTINGS, []))
    for (k, _), one in zip(_holding(content), all_heard, strict=True):
        rows[k] = {"said": written(one.said, unit), "idle": not one.turns}
    return {
        "rows": rows,
        "together": [written(said, unit) for said in together(all_heard)],
        "idle": inapplicable_words(card),
    }


def change_of(
    rows: Sequence[_Row], corrections: Sequence[Correction], unit: LengthUnit, day: datetime.date
) -> FittingChange:
    """What the rows of a page change in the book.

    Raises :class:`DeskError` for what no fitting can be, listing every mistake, and for a row of
    the book that is not as the book has it.
    """
    by_number = {one.id: one for one in corrections}
    problems: list[Problem] = []
    new: list[NewlySeen] = []
    kept: list[int] = []
    for row in rows:
        if _new(row):
            if row.get("withdrawn"):  # taken away before it came into the book
                continue
            try:
                new.append(_read(row, unit))
            except DeskError as error:
                problems += error.problems
            continue
        number = row["id"]
        kept.append(number if isinstance(number, int) and not isinstance(number, bool) else -1)
        if kept[-1] in by_number and not _same(row, by_number[kept[-1]]):
            said = "what is in the book cannot be changed: withdraw it and add it again"
            problems.append(Problem(f"{_short(row.get('seen'))}: {said}"))
    withdrawn = {n for n, row in zip(kept, _kept(rows), strict=True) if row.get("withdrawn")}
    if len(kept) - len(withdrawn) + len(new) > MOST_SEEN:
        problems.append(
            Problem(
                "a card cannot hold so many fittings",
                accepted=f"up to {MOST_SEEN}",
                advice="Withdraw what no longer matters.",
            )
        )
    if problems:
        raise DeskError(problems)
    return FittingChange(frozenset(kept), tuple(new), frozenset(withdrawn), day)


def _read(row: _Row, unit: LengthUnit) -> NewlySeen:
    given = {key: row[key] for key in _KEYS if key in row}
    try:
        shape = ToileShape.model_validate(given, context={"unit": unit})
    except ValidationError as error:
        known = {"": tuple(ToileShape.model_fields)}
        found = shape_problems(error, TomlText("desk", given, ""), known)
        raise DeskError(
            [
                Problem(
                    f"{_short(row.get('seen'))}: {one.said}",
                    accepted=one.accepted,
                    advice=one.advice,
                )
                for one in found
            ]
        ) from error
    usual = fitting_words().seen[shape.seen].usual
    return NewlySeen(shape.date, shape.seen, usual if shape.amount is None else shape.amount)


def _short(seen: object) -> str:
    return seen[:60] if isinstance(seen, str) and seen.isprintable() else "what was seen"


def _same(row: _Row, one: Correction) -> bool:
    amount = str(row.get("amount", "")).removesuffix(" cm")
    try:
        off = abs(float(amount) - one.amount)
    except ValueError:
        return False
    return (row.get("date"), row.get("seen")) == (one.date.isoformat(), one.seen) and (
        off < SAME_POINT
    )


def _new(row: _Row) -> bool:
    return "id" not in row


def _kept(rows: Sequence[_Row]) -> list[_Row]:
    return [row for row in rows if not _new(row)]


def _known(row: _Row) -> bool:
    """Whether a card knows the words; those of the book may be of another time."""
    seen = row.get("seen")
    return _new(row) or (isinstance(seen, str) and seen in fitting_words().seen)


def _holding(content: Mapping[str, Any]) -> Iterator[tuple[int, _Row]]:
    """The rows that are to hold, with their places on the page."""
    for k, row in enumerate(content.get(FITTINGS, [])):
        if not row.get("withdrawn") and _known(row):
            yield k, row


def _on_card(row: _Row) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key not in ("id", "withdrawn")}


def _with(content: Mapping[str, Any], rows: list[dict[str, Any]]) -> dict[str, Any]:
    rest = {key: value for key, value in content.items() if key != FITTINGS}
    return rest | ({FITTINGS: rows} if rows else {})
