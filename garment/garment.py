"""An order, strung together once: card, body, bodice, neckline, collar, pieces, checks.

The command line, and every other way in, calls :func:`make_garment` and nothing below it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from blocks.bodice.bodice import BodiceDraft
from blocks.bodice.checks import check_taped
from blocks.bodice.making_up import with_allowances
from blocks.body.body import Body, complete
from blocks.body.plausibility import Unusual, find_unusual
from blocks.component import closing_check
from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.registry import COLLARS
from drafting.errors import DraftError, Problem
from drafting.pieces.checks import Check, failed, within
from drafting.pieces.cutting import crossing_loops
from drafting.pieces.piece import EdgeKind, Piece, Seam, seam_mismatch
from drafting.sentences import keep_values
from drafting.tolerances import SEAM
from garment.bodice import Bodice, button_stand, make_bodice
from garment.finishing import finish
from garment.idle import idle_notes
from garment.options import resolve_options
from garment.toile import fitted, fitted_collar
from garment.wishes import Commission


@dataclass(frozen=True, slots=True)
class Garment:
    """A finished draft of one card. ``body`` and ``bodice`` are ``None`` when the neckline was
    taped on a maker's own block, ``collar`` when none was asked for. Pieces carry allowances."""

    commission: Commission
    body: Body | None
    bodice: BodiceDraft | None
    neckline: Neckline
    collar: CollarDraft | None
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    checks: tuple[Check, ...]
    unusual: tuple[Unusual, ...]
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        keep_values(self, "notes")

    @property
    def failed(self) -> tuple[Check, ...]:
        """The checks that stop cutting."""
        return failed(self.checks)

    @property
    def stamp(self) -> str | None:
        """What is written across every piece, when it must not be cut."""
        if not self.failed:
            return None
        return "NOT FOR CUTTING: " + ", ".join(check.name for check in self.failed[:2])


def make_garment(card: Commission, body: Body | None = None) -> Garment:
    """Draft what a card asks for, to ``body`` when one is given in place of what the card's
    measurements come to.

    Raises :class:`DraftError` when it cannot be drafted at all; a draft that merely fails a check
    comes back with that check.
    """
    bodice: Bodice | None = None
    pieces: tuple[Piece, ...] = ()
    seam_list: tuple[Seam, ...] = ()
    checks: tuple[Check, ...] = ()
    notes: tuple[str, ...] = ()
    seen = fitted(card)
    her = body or complete(card.measurements)
    if card.neckline.from_tape:
        neckline = _taped(card)
        checks = check_taped(neckline, her, card.neckline.ease, styled=bool(card.neckline.style))
    else:
        kind = COLLARS.get(card.collar.kind)
        bodice = make_bodice(card, kind.neckline if kind else {}, her)
        pieces, seam_list = (bodice.back, bodice.front), bodice.seams
        checks, notes = bodice.checks, bodice.notes
        neckline = bodice.draft.neckline
    collar = draft_collar(card, CollarBase(neckline, *pieces))
    if collar is not None:
        pieces = tuple(collar.bodice.get(piece.code, piece) for piece in pieces) + collar.pieces
        seam_list += collar.seams
        checks += (*collar.checks, *_closed(card, collar, her))
        notes += collar.notes
    if bodice is not None:
        back, front, *others = pieces
        finished = finish(card, back, front, collar)
        pieces = (back, finished.front, *others, *finished.pieces)
        seam_list += finished.seams
        checks += (*finished.checks, _walked(pieces, seam_list))
        notes += finished.notes
    if not pieces:
        raise DraftError(
            Problem(
                "there is nothing to draft: the neckline was taped and no collar is asked for",
                key="collar.kind",
                accepted=", ".join(COLLARS),
            )
        )
    return Garment(
        commission=card,
        body=bodice.body if bodice else None,
        bodice=bodice.draft if bodice else None,
        neckline=neckline,
        collar=collar,
        pieces=tuple(_with_allowances(piece, card) for piece in pieces),
        seams=seam_list,
        checks=tuple(_titled(check, pieces) for check in (*checks, *_crossing(pieces))),
        unusual=find_unusual(card.measurements, card.unit),
        notes=seen.notes + notes + idle_notes(card, pieces, collar),
    )


def _closed(card: Commission, collar: CollarDraft, her: Body) -> Iterator[Check]:
    """What the collar closes at held against her, where its kind has no check of its own."""
    check = closing_check(COLLARS[card.collar.kind], collar, her.values)
    if check is not None:
        yield check


def _titled(check: Check, pieces: tuple[Piece, ...]) -> Check:
    """The check with the pieces it speaks of called by their titles, as on the pieces."""
    titles = {piece.code: piece.title for piece in pieces}
    words = re.split(r"(\W+)", str(check.where))
    return replace(check, where="".join(titles.get(word, word) for word in words))


def _walked(pieces: tuple[Piece, ...], seam_list: tuple[Seam, ...]) -> Check:
    """Every seam walked once more, on the pieces as they are to be cut."""
    worst = max(seam_list, key=lambda seam: abs(seam_mismatch(pieces, seam)))
    return within(
        "all seams walked on the pieces to be cut: largest difference",
        abs(seam_mismatch(pieces, worst)),
        0.0,
        SEAM,
        where=worst.name,
        advice="Do not cut: this seam does not walk.",
        source="common practice",
    )


def _crossing(pieces: tuple[Piece, ...]) -> Iterator[Check]:
    """A failed check for every piece that no cut line can be laid round, so that no paper is the
    first to say so."""
    for piece in pieces:
        loops = crossing_loops(piece)
        if loops > 0.0:
            yield within(
                "sew line that crosses itself",
                loops,
                0.0,
                0.0,
                where=piece.title,
                advice="Do not cut: look at the drawing of this piece and mend the measurements or "
                "the choices it rests on.",
                source="common practice",
            )


def _taped(card: Commission) -> Neckline:
    arcs = card.neckline
    assert arcs.back_arc is not None
    assert arcs.front_arc is not None
    return Neckline(
        back_arc=arcs.back_arc,
        front_arc=arcs.front_arc,
        neck_girth=card.measurements.get("neck_girth"),
    )


def draft_collar(card: Commission, ground: CollarBase) -> CollarDraft | None:
    """The collar of a card on a ground; ``None`` when none is asked for. Raises
    :class:`DraftError`."""
    if card.collar.kind == "none":
        return None
    collar = COLLARS[card.collar.kind]
    if collar.needs_block and ground.front is None:
        raise DraftError(
            Problem(
                f"a {collar.title.lower()} needs the block: tape measurements are not enough",
                key="collar.kind",
                advice="Give the client's measurements, or choose a collar with a stand.",
            )
        )
    wishes = collar_wishes(card, ground.neckline)
    if card.toile:
        wishes = fitted_collar(collar.kind, wishes, fitted(card).collar, ground.neckline)
    return collar.draft(ground, wishes)


def collar_wishes(card: Commission, neckline: Neckline | None = None) -> dict[str, float | str]:
    """What the card asks of its collar; where it leaves the button stand open, the front's, along
    the ``neckline`` where one is drafted."""
    wishes = dict(card.collar.values)
    if "button_stand" in COLLARS[card.collar.kind].parameters:
        beyond = None if neckline is None else neckline.beyond
        wishes.setdefault("button_stand", button_stand(card.garment) if beyond is None else beyond)
    return wishes


def _with_allowances(piece: Piece, card: Commission) -> Piece:
    widths: dict[EdgeKind, float] = {
        edge: card.garment.allowance(edge.allowance) for edge in EdgeName if edge.allowance
    }
    widths[EdgeName.HEM] = resolve_options("finish", card.garment.asked.get("finish", {}))["hem"]
    return with_allowances(piece, widths, card.garment.seam_allowance)
