"""Darts where the maker wants them: the bust dart, the back shoulder dart, the waist darts.

Works on made-up pieces without allowances. Nothing is lost: what one seam gives up another takes.
Centimetres.
"""

from __future__ import annotations

from blocks.dart_checks import check_darts
from blocks.dart_moves import back_moved, front_moved
from blocks.dart_wish import Arranged, DartWish, check_wish
from blocks.let_out import waist_left_open
from drafting.errors import DraftError, Problem
from drafting.pieces import Piece
from drafting.sentences import length

__all__ = ["Arranged", "DartWish", "arrange_darts", "check_darts"]


def arrange_darts(back: Piece, front: Piece, wish: DartWish) -> Arranged:
    """Back and front of :func:`blocks.making_up.make_up` with their darts as wished; as they are
    with the default wish.

    Raises :class:`DraftError` with everything that cannot be done, each with its key on the card.
    """
    check_wish(wish)
    if wish == DartWish():
        return Arranged(back, front, 0.0, ())
    notes: list[str] = []
    problems: list[Problem] = []
    shoulder_ease = 0.0
    if wish.waist == "left open":
        plain = (back, front)
        back, at_back = waist_left_open(back)
        front, at_front = waist_left_open(front)
        notes.append(_left_open(2.0 * (at_back + at_front), (back, front) != plain))
    try:
        front, said = front_moved(front, wish)
        notes += said
    except DraftError as error:
        problems += error.problems
    try:
        back, shoulder_ease, said = back_moved(back, wish)
        notes += said
    except DraftError as error:
        problems += error.problems
    if problems:
        raise DraftError(problems)
    return Arranged(back, front, shoulder_ease, tuple(notes), wish)


def _left_open(wider: float, changed: bool) -> str:
    if not changed:
        return "There are no waist darts to leave open."
    if wider <= 0.0:
        return "Waist darts left out."
    return f"Waist darts left open: the whole waist is {length(wider)} wider than with them."
