"""A range: the garment, neckline and collar of one card drafted in every size of a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from blocks.bodice.methods import method
from blocks.body.measures import measurements
from blocks.body.populations import SizeTable, size_table
from drafting.errors import DraftError, Problem
from drafting.pieces.piece import Piece
from drafting.sentences import keep_values
from garment.garment import Garment, make_garment
from garment.wishes import Commission
from workroom.card.card import known_collars, known_methods, read_card


@dataclass(frozen=True, slots=True)
class SizeRange:
    """A range drafted: an order for every size, small to large. ``notes`` say where measurements
    came from other than the table."""

    commission: Commission
    table: SizeTable
    orders: dict[str, Garment]
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        keep_values(self, "notes")

    @property
    def sizes(self) -> tuple[str, ...]:
        """The names of the sizes."""
        return tuple(self.orders)

    @property
    def smallest(self) -> Garment:
        """The order of the smallest size."""
        return self.orders[self.sizes[0]]

    @property
    def codes(self) -> tuple[str, ...]:
        """The pieces of any size, by their codes."""
        return tuple(dict.fromkeys(p.code for o in self.orders.values() for p in o.pieces))

    def graded(self, code: str) -> dict[str, Piece]:
        """A piece in every size that has it."""
        return {
            name: piece
            for name, order in self.orders.items()
            for piece in order.pieces
            if piece.code == code
        }


def open_range_card(path: Path) -> Commission:
    """A card that may lack measurements. Raises :class:`CardError` listing every mistake."""
    return read_card(
        path, collars=known_collars(), methods=dict.fromkeys(known_methods(), frozenset[str]())
    )


def draft_range(card: Commission, table: str, only: Sequence[str] = ()) -> SizeRange:
    """The range of a card in the sizes of a table, or in those named alone.

    What the method needs and the table does not print stands for all sizes as the card has it; all
    else that was measured is left out. Raises :class:`DraftError` that says what is missing, or in
    which sizes what cannot be drafted, and :class:`DataError` for a table there is not.
    """
    chosen = size_table(table)
    names = _chosen(chosen, only)
    if card.neckline.from_tape:
        raise DraftError(
            Problem(
                "a neckline that was taped has one size",
                key="neckline.back_arc",
                advice="Leave back_arc and front_arc out of the card.",
            )
        )
    fixed = _fixed(card, chosen, names)
    orders, problems = {}, []
    for name in names:
        try:
            orders[name] = make_garment(_card(card, name, {**fixed, **chosen.sizes[name]}))
        except DraftError as error:
            problems += [
                replace(p.written(card.unit), place=f"size {name}") for p in error.problems
            ]
    if problems:
        raise DraftError(problems)
    return SizeRange(card, chosen, orders, _notes(card, fixed, chosen, names))


def _chosen(table: SizeTable, only: Sequence[str]) -> tuple[str, ...]:
    strange = [name for name in only if name not in table.sizes]
    if strange:
        raise DraftError(
            Problem(
                "there are no such sizes in this table",
                key="--only",
                got=", ".join(strange),
                accepted=", ".join(table.sizes),
            )
        )
    names = tuple(name for name in table.sizes if name in only or not only)
    if len(names) < 2:
        raise DraftError(
            Problem("a range has two sizes or more", key="--only", accepted=", ".join(table.sizes))
        )
    return names


def _fixed(card: Commission, table: SizeTable, names: Sequence[str]) -> dict[str, float]:
    """What the method needs, every size lacks and the card has (cm, radians)."""
    needs = method(card.garment.method).needs
    lacking = [
        key
        for key in measurements()
        if key in needs and any(key not in table.sizes[name] for name in names)
    ]
    missing = [key for key in lacking if key not in card.measurements]
    if missing:
        raise DraftError(
            [
                Problem(
                    f"the method needs this and {table.title} does not print it",
                    key=f"measurements.{key}",
                    advice="Write it on the card: it then stands for every size.",
                )
                for key in missing
            ]
        )
    return {key: card.measurements[key] for key in lacking}


def _card(card: Commission, name: str, taken: dict[str, float]) -> Commission:
    order = f"{card.order}, size {name}" if card.order else f"size {name}"
    return replace(card, client="", order=order, measurements=taken)


def _notes(
    card: Commission, fixed: dict[str, float], table: SizeTable, names: Sequence[str]
) -> tuple[str, ...]:
    known = measurements()
    printed = {key for name in names for key in table.sizes[name]}
    notes = [
        f"{known[key].name} {known[key].shown(value):.1f} {known[key].unit} is the card's, the "
        "same in every size: the table does not print it."
        for key, value in fixed.items()
    ]
    unused = [known[key].name for key in card.measurements if key not in fixed]
    if unused:
        notes.append(f"Not used, because the sizes come from the table: the card's {_and(unused)}.")
    reads = method(card.garment.method).reads
    guessed = [m.name for key, m in known.items() if key in reads - printed - set(fixed)]
    if guessed:
        notes.append(f"Estimated in every size: {_and(guessed)}.")
    return tuple(notes)


def _and(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
