"""How every collar traced from front and back laid together is drafted, whatever its free edges:
settle, lay, draw the neck edge and the free edges, make up, look at what came of it.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from blocks.neckline import Neckline
from collars.drafts import CollarDraft, Ground
from collars.flat_checks import Standing, collar_checks, notes, numbers
from collars.flat_lie import lie_of
from collars.flat_neck import NeckEdge, NeckShape, draw_neck_edge
from collars.flat_outline import FreeEdges
from collars.flat_pieces import collar_pieces, collar_seams, layers_with_interfacing
from collars.laid_shoulders import Laid, lay_front_on_back, most_overlap
from collars.parameters import Values, collar_sheet, settled
from drafting.errors import DraftError, Problem
from drafting.roots import root_between
from drafting.tolerances import SEAM


@dataclass(frozen=True, slots=True)
class LaidKind:
    """A kind of collar traced from laid shoulders: ``free_edges`` draws its free edges on what is
    laid and its neck edge; ``width`` names the parameter that is its width at centre back;
    ``most_stand`` is how far it may stand at centre back and still be of this kind, with
    ``stand_source``; ``refuse`` lists what of the neckline does not suit it; ``notes`` what the
    maker should know of it besides; ``facing`` is how its front edge is faced when nothing else is
    asked."""

    kind: str
    free_edges: Callable[[Laid, NeckEdge, Values], FreeEdges]
    width: str
    most_stand: float
    stand_source: str
    refuse: Callable[[Neckline], list[Problem]] = lambda neckline: []
    notes: tuple[str, ...] = ()
    facing: str = "cut on"


def draft_laid(kind: LaidKind, ground: Ground, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft a collar of a kind on a ground.

    ``wishes`` are parameters of the kind's file in ``data/collars`` in centimetres, radians and
    words; what is left out stands at its default. Raises :class:`DraftError` listing everything
    that cannot be drafted, each with what can.
    """
    neckline = ground.neckline
    values, problems = settled(kind.kind, wishes)
    refused = {problem.key for problem in problems}
    impossible = kind.refuse(neckline)
    pieces = None
    try:
        if not impossible:
            laid, neck, free = _drawn(kind, neckline, values, values.number("overlap"))
            pieces = collar_pieces(
                neck, free, _seen(values.number("turn_of_cloth")), _interfaced(values)
            )
    except DraftError as error:
        impossible += error.problems
    problems += [problem for problem in impossible if problem.key not in refused]
    if problems or pieces is None:
        raise DraftError(problems)
    standing = _standing(kind, neckline, values, laid, neck, free)
    known = numbers(neckline, laid, neck, free, pieces, standing)
    return CollarDraft(
        kind=kind.kind,
        title=collar_sheet(kind.kind).title,
        pieces=pieces,
        seams=collar_seams(neckline, pieces),
        checks=collar_checks(neckline, neck, free, pieces, values, standing),
        numbers=known,
        notes=(*notes(neckline, neck, values, standing), *kind.notes),
        laid_on=True,
        facing=kind.facing,
    )


def _drawn(
    kind: LaidKind, neckline: Neckline, values: Values, overlap: float
) -> tuple[Laid, NeckEdge, FreeEdges]:
    laid = lay_front_on_back(neckline, overlap)
    shape = NeckShape(
        back_raise=values.number("back_raise"),
        front_drop=values.number("front_drop"),
        adjusted=values.word("centre_front") == "adjusted",
        ease=values.number("neck_ease"),
    )
    neck = draw_neck_edge(laid, shape)
    return laid, neck, kind.free_edges(laid, neck, values)


def _interfaced(values: Values) -> int:
    return layers_with_interfacing(values.word("interfacing"), values.number("cloth_thickness"))


def _seen(length: float) -> float:
    """A length, or 0 for one too short to be seen, so that no edge is a mere hair."""
    return length if length >= SEAM else 0.0


def _standing(
    kind: LaidKind,
    neckline: Neckline,
    values: Values,
    laid: Laid,
    neck: NeckEdge,
    free: FreeEdges,
) -> Standing:
    width = values.number(kind.width)
    found = Standing.of(neckline, laid.angle, neck, free, width, kind.most_stand, kind.stand_source)
    if found.stand <= kind.most_stand:
        return found

    def over(overlap: float) -> float:
        _, edge, edges = _drawn(kind, neckline, values, overlap)
        lie = lie_of(edges.from_back, edge, neckline, free.least)
        return lie.stand(width) - 0.9 * kind.most_stand

    most = min(values.number("overlap"), most_overlap(neckline))
    try:
        cure = root_between(over, 0.0, most, xtol=0.01) if over(0.0) < 0.0 else None
    except DraftError:
        cure = None  # with less overlap these free edges cannot be drawn at all
    return replace(found, overlap_that_does=cure)
