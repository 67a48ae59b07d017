"""Lines of a card that change nothing in its order, and why: nothing is left out without a word."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from blocks.body.measures import measurements
from blocks.finishing.facing import FACING
from collars.drafts import CollarDraft
from collars.parameters import idle_parameters
from collars.registry import COLLARS
from drafting.pieces.piece import EdgeKind, Piece
from garment.bodice import button_stand
from garment.options import resolve_options
from garment.wishes import Commission

_FACINGS = ("facing", "facing_at_shoulder", "facing_at_hem")
_TAPED = "the neckline was taped, so no bodice is drafted"
_AS_TAPED = "the neckline stands as it was taped; correct the paper block"


def idle_notes(
    card: Commission, pieces: Collection[Piece], collar: CollarDraft | None
) -> tuple[str, ...]:
    """A sentence for every reason why lines of a card changed nothing in its order."""
    by_reason: dict[str, list[str]] = {}
    for key, why in idle_lines(card, pieces, collar):
        by_reason.setdefault(why, []).append(key)
    return tuple(
        f"{', '.join(keys)} {'changes' if len(keys) == 1 else 'change'} nothing here: {why}."
        for why, keys in by_reason.items()
    )


def idle_lines(
    card: Commission, pieces: Collection[Piece], collar: CollarDraft | None
) -> Iterator[tuple[str, str]]:
    """Every key of a card that changed nothing, and why."""
    found = _of_taped(card) if card.neckline.from_tape else _of_block(card, pieces, collar)
    yield from ((key, why) for key, why in found if key in card.written)
    for key in card.garment.allowances:
        if not any(edge.allowance == key for edge in _cut(pieces)):
            yield f"garment.allowances.{key}", "no piece has such an edge to sew"
    if card.collar.kind != "none":
        for key, why in idle_parameters(card.collar.kind, card.collar.values).items():
            yield f"collar.{key}", why


def _cut(pieces: Collection[Piece]) -> set[EdgeKind]:
    """The edges that are cut with an allowance of their own."""
    return {edge.name for piece in pieces for edge in piece.edges if not edge.on_fold}


def _of_taped(card: Commission) -> Iterator[tuple[str, str]]:
    """What only a drafted bodice, or her neck, would need."""
    necks = {"neck_girth", "neck_base_girth"} & set(card.measurements)
    stands = (
        card.collar.kind != "none"
        and "button_stand" in COLLARS[card.collar.kind].parameters
        and "button_stand" not in card.collar.values
    )
    of_stand = (
        "garment.button_stand"
        if "garment.button_stand" in card.written
        else ("garment.finish.button")
    )
    used = {"garment.seam_allowance", *([of_stand] if stands else [])}
    for key in sorted(card.written):
        table = key.split(".")[0]
        if key in used or key.startswith("garment.allowances."):
            continue
        if table == "garment" or (table == "measurements" and not _reads(key, necks)):
            yield key, _TAPED
        elif key == "neckline.fit" or key.startswith("neckline.style."):
            yield key, _AS_TAPED
    if not necks:
        yield "neckline.ease", "no neck girth of hers is known to compare the neckline with"
    if "neck_girth" not in card.measurements:
        yield "collar.finger_ease", "her neck girth is not known"
    yield "collar.spread", _TAPED


def _reads(key: str, necks: Collection[str]) -> bool:
    """Whether a taped neckline is compared with a measurement, or with what is estimated from
    it."""
    name = key.removeprefix("measurements.")
    return name in necks or (name == "stature" and set(necks) == {"neck_girth"})


def _retired(card: Commission) -> Iterator[tuple[str, str]]:
    """Measurements that are not asked for any more."""
    for key in card.measurements:
        if retired := measurements()[key].retired:
            yield f"measurements.{key}", retired


def _of_block(
    card: Commission, pieces: Collection[Piece], collar: CollarDraft | None
) -> Iterator[tuple[str, str]]:
    yield from _retired(card)
    asked = card.garment.asked
    darts = resolve_options("darts", asked.get("darts", {}))
    if resolve_options("length", asked.get("length", {}))["to"] != "hip":
        why = "the block ends at the waist"
        yield "garment.length.below_waist", why
        yield "garment.ease.hip", why
        yield "garment.finish.hem", why
    if not darts["second"]:
        yield "garment.darts.share", "the bust dart is not split"
    yield from ((f"garment.finish.{key}", why) for key, why in _of_finish(card, pieces, collar))


def _of_finish(
    card: Commission, pieces: Collection[Piece], collar: CollarDraft | None
) -> Iterator[tuple[str, str]]:
    finish = resolve_options("finish", card.garment.asked.get("finish", {}))
    if collar is not None:
        yield "neckline_facing", "the collar finishes the neckline"
    if button_stand(card.garment) == 0.0:
        why = "the front is cut on the fold"
        yield from ((key, why) for key in ("buttonholes", "direction", "button", *_FACINGS))
        return
    if finish["buttonholes"] == 0:
        why = "no buttonholes are asked for"
        yield "direction", why
        if "garment.button_stand" in card.written:
            yield "button", why
    if collar is None:
        why = "without a collar one facing goes round neckline and front edge"
        yield "facing", why
        yield "facing_at_shoulder", why
    elif collar.bodice:
        why = "the lapel has a facing of its own"
        yield from ((key, why) for key in _FACINGS)
    elif finish["facing"] == "none":
        why = "no facing is asked for"
        yield from ((key, why) for key in _FACINGS[1:])
    elif not any(piece.code == FACING for piece in pieces):  # a V has one unless asked otherwise
        yield "facing_at_shoulder", "the facing is cut on and does not reach the shoulder"
