"""The front edge and the neckline finished: buttonholes and facings, once the collar is drafted.

What the card asks for is done or refused; what it leaves open is done where it can be, and a note
says why it could not. Centimetres.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from blocks.edges import EdgeName
from blocks.finishing.bias_strip import bias_strip
from blocks.finishing.buttonholes import Buttoned, with_buttonholes
from blocks.finishing.facing import FACING, Faced, faced_front
from blocks.finishing.neckline_facing import back_neck_facing, neckline_facings, shoulders_check
from collars.drafts import CollarDraft
from drafting.errors import DraftError
from drafting.geometry.points import Point
from drafting.memo import memo_by_value
from drafting.pieces.assembly import carried_on
from drafting.pieces.checks import Check
from drafting.pieces.piece import Piece, Seam, Stretch, places_named, stretch_length
from drafting.sentences import keep_values, length
from drafting.tolerances import SEAM
from garment.bodice import keyed
from garment.options import resolve_options
from garment.wishes import Commission

_KEYS = {
    "button": "garment.finish.button",
    "buttons": "garment.finish.buttonholes",
    "direction": "garment.finish.direction",
    "first": "collar.break_height",
    "facing": "garment.finish.facing",
    "width_shoulder": "garment.finish.facing_at_shoulder",
    "width_hem": "garment.finish.facing_at_hem",
    "neckline.facing": "garment.finish.neckline_facing",
}
_LAPEL = (EdgeName.LAPEL_EDGE, EdgeName.GORGE)


@dataclass(frozen=True, slots=True)
class Finished:
    """The finished front, and what goes with it."""

    front: Piece
    pieces: tuple[Piece, ...] = ()
    seams: tuple[Seam, ...] = ()
    checks: tuple[Check, ...] = ()
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        keep_values(self, "notes")

    def then(self, other: Finished) -> Finished:
        """Both, the other's front standing."""
        return Finished(
            other.front,
            self.pieces + other.pieces,
            self.seams + other.seams,
            self.checks + other.checks,
            self.notes + other.notes,
        )


def finish(card: Commission, back: Piece, front: Piece, collar: CollarDraft | None) -> Finished:
    """Buttonholes and facings of a bodice whose collar is drafted; ``front`` is the front as the
    collar left it. Raises :class:`DraftError` for what was asked and cannot be done."""
    told = card.garment.asked.get("finish", {})
    asked = resolve_options("finish", told)
    done = Finished(front)
    if front.named(EdgeName.FRONT_EDGE):
        done = done.then(_buttoned(front, asked, told, collar))
    if collar is None:
        return done.then(_neckline_faced(back, done.front, asked, told))
    if collar.bodice or any(done.front.named(name) for name in _LAPEL):
        return done  # a lapel has its own facing
    if front.named(EdgeName.FRONT_EDGE):
        done = done.then(_front_faced(done.front, asked, told, collar.facing))
    done = done.then(_neck_seam_covered(back, done, collar))
    return done.then(_stand_end_sewn(done.front, collar))


def _neck_seam_covered(back: Piece, done: Finished, collar: CollarDraft) -> Finished:
    """What goes over the neck seam of a collar that is laid on: a back neck facing between front
    facings that reach the shoulder, else a bias strip. A stand holds the seam inside."""
    front = done.front
    if not collar.laid_on:
        return Finished(front)
    faced = 0.0
    facing = next((piece for piece in done.pieces if piece.code == FACING), None)
    if facing is not None and facing.named(EdgeName.SHOULDER):
        with suppress(DraftError):  # no room for it: the strip covers the back neck
            behind, sewn = back_neck_facing(back, facing)
            over = Seam(
                "back neck facing to neckline",
                Stretch(behind.code, EdgeName.NECKLINE),
                Stretch(back.code, EdgeName.NECKLINE),
            )
            checks = (shoulders_check((behind, facing)),)
            return Finished(front, (behind,), (*sewn, over), checks)
    if facing is not None:
        faced = facing.length(EdgeName.NECKLINE)
    elif front.named(EdgeName.NECK_SEAM):
        faced = front.named(EdgeName.NECK_SEAM)[0].length
    strip, sewn = bias_strip(back, front, faced)
    return Finished(front, (strip,), sewn)


def _stand_end_sewn(front: Piece, collar: CollarDraft) -> Finished:
    """The front end of a stand, beyond centre front, sewn to the top of the front's button stand;
    where they are not of one width, its layers are sewn to each other."""
    sewn = next((s.first for s in collar.seams if s.second.piece == front.code), None)
    piece = next((p for p in collar.pieces if sewn and p.code == sewn.piece), None)
    if piece is None:
        return Finished(front)
    beyond = piece.place(EdgeName.NECK_SEAM) + 2
    if piece.edges[beyond].name is not EdgeName.NECK_SEAM:
        return Finished(front)
    end = Stretch(piece.code, EdgeName.NECK_SEAM, 2)
    top = [
        Stretch(front.code, EdgeName.BUTTON_STAND_END, number)
        for number, place in enumerate(places_named(front, EdgeName.BUTTON_STAND_END))
        if carried_on(front.edges, place) is EdgeName.NECKLINE
    ]
    width = piece.edges[beyond].length
    if top and abs(stretch_length((front,), top[0]) - width) <= SEAM:
        return Finished(front, seams=(Seam("neck seam, button stand", end, top[0]),))
    wide = stretch_length((front,), top[0]) if top else 0.0
    note = (
        f"The collar's button stand is {length(width)} wide, the front's {length(wide)}: sew the "
        "collar's layers to each other beyond centre front, or make both of one width."
    )
    return Finished(front, seams=(Seam("neck seam, button stand", end, end),), notes=(note,))


def _either(front: Piece, work: Callable[[], Finished], was_asked: bool, said: str) -> Finished:
    """The work done; refused when it was asked for, else left out with the reason."""
    try:
        return work()
    except DraftError as error:
        if was_asked:
            raise keyed(error, _KEYS) from error
        why = "; ".join(problem.said for problem in error.problems)
        return Finished(front, notes=(f"{said}: {why}.",))


def _buttoned(
    front: Piece, asked: Mapping[str, Any], told: Mapping[str, Any], collar: CollarDraft | None
) -> Finished:
    count = asked["buttonholes"]
    if count == 0:
        return Finished(front)

    def work() -> Finished:
        made = _with_buttonholes(
            front,
            asked["button"],
            None if count is None else round(count),
            collar.first_button if collar else None,
            bool(collar and collar.button_in_stand),
            asked["direction"],
        )
        return Finished(made.front, notes=made.notes)

    return _either(
        front, work, {"buttonholes", "button"} & set(told) != set(), "No buttonholes are marked"
    )


def _front_faced(
    front: Piece, asked: Mapping[str, Any], told: Mapping[str, Any], usual: str
) -> Finished:
    """The front edge faced as asked, else as is ``usual``, else cut on."""

    def work(kind: str) -> Finished:
        at_shoulder = told.get("facing_at_shoulder") if kind == "separate" else None
        made = _faced(front, kind, at_shoulder, told.get("facing_at_hem"))
        return Finished(made.front, made.pieces, made.seams, made.checks, made.notes)

    if asked["facing"] is None and usual != "cut on":
        with suppress(DraftError):
            return work(usual)
    kind = asked["facing"] or "cut on"
    said = "No facing is drafted for the front edge"
    return _either(front, lambda: work(kind), "facing" in told, said)


def _neckline_faced(
    back: Piece, front: Piece, asked: Mapping[str, Any], told: Mapping[str, Any]
) -> Finished:
    """Facings of a neckline without collar: with a front edge the front's facing goes round both,
    as wide at the shoulder as the back's."""

    def work() -> Finished:
        pieces, sewn, checks = _with_neckline_facings(back, front, asked["neckline_facing"])
        if not front.named(EdgeName.FRONT_EDGE):
            return Finished(front, pieces, sewn, checks)
        behind = pieces[0]
        at_shoulder = behind.length(EdgeName.SHOULDER)
        made = _faced(front, "separate", at_shoulder, asked["facing_at_hem"])
        dropped = pieces[1].code  # the front's own facing takes its place
        of_back = [s for s in sewn if behind.code in (s.first.piece, s.second.piece)]
        assert dropped in {piece.code for piece in made.pieces}
        kept = tuple(check for check in checks if check.where.startswith(behind.code))
        return Finished(
            made.front,
            (behind, *made.pieces),
            (*made.seams, *of_back),
            kept + made.checks,
            made.notes,
        )

    was_asked = {"neckline_facing", "facing"} & set(told) != set()
    return _either(front, work, was_asked, "No facing is drafted for the neckline")


# ---- kept, for another collar often leaves the front as it was ----------------------------------


@memo_by_value(4)
def _with_buttonholes(
    front: Piece,
    button: float,
    count: int | None,
    first: Point | None,
    in_stand: bool,
    direction: str,
) -> Buttoned:
    return with_buttonholes(
        front,
        button=button,
        count=count,
        first=first,
        button_in_stand=in_stand,
        direction=direction,
    )


@memo_by_value(4)
def _faced(front: Piece, kind: str, shoulder: float | None, hem: float | None) -> Faced:
    return faced_front(front, kind=kind, width_shoulder=shoulder, width_hem=hem)


_with_neckline_facings = memo_by_value(4)(neckline_facings)
