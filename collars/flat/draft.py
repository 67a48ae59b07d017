"""How every collar traced from front and back laid together is drafted, whatever its free edges:
settle, lay, draw the neck edge and the free edges, make up, look at what came of it.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import degrees

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.falls.fall import COVER, COVER_SOURCE
from collars.flat.neck_edge import (
    NeckEdge,
    NeckShape,
    draw_neck_edge,
    lie_of,
    stand_by_angle,
    turned_back,
)
from collars.flat.pieces import (
    UNDER,
    UPPER,
    FreeEdges,
    collar_pieces,
    collar_seams,
    layers_with_interfacing,
)
from collars.laid_shoulders import Laid, lay_front_on_back, most_overlap
from collars.lying import neckline_turning
from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.sewing import as_note, fold_checks, matches_request, sharp_check, smooth_check
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import joined
from drafting.geometry.roots import root_between
from drafting.pieces.checks import Check, Verdict, at_least, within
from drafting.pieces.piece import Piece
from drafting.sentences import DOWN, SHORT, length, span
from drafting.tolerances import SEAM, SMOOTH

# ---- What is looked at in a collar traced from laid shoulders: checks, numbers, notes

#: Half a collar's neck edge may differ from half the neckline by this and be eased; beyond
#: ``EASE_STOP`` it cannot.
EASE_GOOD, EASE_STOP = 0.2, 0.3
#: The neck edge's end is moved by up to this before something else ought to be changed.
MOVED_GOOD = 0.7
#: The collar hides its neck seam by this and by what the cloth takes to turn.
#: A neckline less than this longer than the neck's girth lies at the neck base: the base is 4.1
#: longer on average, and a neckline lowered for a flat collar 6.6 more.
AT_BASE = 7.0
#: A centimetre of drop at centre front makes half the neck edge longer by about this.
PER_DROP = 0.65


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a collar ``width`` wide at centre back will stand there, reckoned from its outer edge
    (``stand``) and from the shoulders' angle and its width over the shoulder (``by_angle``).

    ``edge`` is the length of the outer edge proper, ``edge_flat`` that of the line on which it
    would lie flat, ``edge_needed`` that with ``most`` of stand; ``overlap_that_does`` gives a stand
    within ``most``, ``None`` where none does or none is looked for.
    """

    width: float
    stand: float
    by_angle: float
    edge: float
    edge_flat: float
    edge_needed: float
    most: float
    source: str
    overlap_that_does: float | None = None

    @staticmethod
    def of(
        neckline: Neckline,
        angle: float,
        neck: NeckEdge,
        free: FreeEdges,
        width: float,
        most: float,
        source: str,
    ) -> Standing:
        """Reckon it for a collar ``width`` wide at centre back on shoulders laid at an angle."""
        lie = lie_of(free.from_back, neck, neckline, free.least)
        turning = neckline_turning(neckline)
        assert turning is not None  # it is drafted on a block
        _, at_shoulder = free.from_back.nearest(neck.front.start)
        return Standing(
            width=width,
            stand=lie.stand(width),
            by_angle=stand_by_angle(at_shoulder, angle, turning),
            edge=lie.length,
            edge_flat=lie.line(0.0),
            edge_needed=lie.line(most),
            most=most,
            source=source,
        )

    @property
    def cover(self) -> float:
        """How far the outer edge lies below the neck seam at centre back."""
        return self.width - 2.0 * self.stand


def collar_checks(
    neckline: Neckline,
    neck: NeckEdge,
    free: FreeEdges,
    pieces: tuple[Piece, Piece],
    values: Values,
    standing: Standing,
) -> tuple[Check, ...]:
    """Everything that is looked at before cutting."""
    upper, under = pieces
    checks = [
        *_neck_checks(upper, neckline, neck, values),
        smooth_check(upper, "neck edge runs on smoothly at the shoulder", (0, 1)),
        _no_dent(upper),
        *_lie_checks(standing, values.number("turn_of_cloth")),
    ]
    if not free.halves:
        wide = upper.length(EdgeName.CENTRE_BACK)
        checks += [
            matches_request("width at centre back", wide, standing.width, f"{UPPER}, centre back"),
            matches_request(
                "under collar smaller at centre back by",
                wide - under.length(EdgeName.CENTRE_BACK),
                values.number("turn_of_cloth"),
                f"{UNDER}, centre back",
            ),
        ]
    if len(free.curves) > 1:
        checks.append(
            sharp_check(
                "angle of the sharpest corner",
                free.angle,
                f"{UPPER}, collar end",
                "A corner this sharp is hard to turn: trim close, or shape it blunter.",
            )
        )
    checks += [check for piece in pieces for check in fold_checks(piece)]
    return tuple(checks)


def _neck_checks(
    piece: Piece, neckline: Neckline, neck: NeckEdge, values: Values
) -> tuple[Check, ...]:
    """The neck edge and its notch against the neckline, each with what can be eased."""
    back, front = piece.named(EdgeName.NECK_SEAM)
    where, source = f"{piece.code}, neck seam", "common practice: walked from centre back"
    off = back.length + front.length - neckline.half
    advice = _length_advice(off, values)
    found = [
        _eased(within(name, measured, target, EASE_GOOD, advice=advice, where=where, source=source))
        for name, measured, target in (
            ("neck edge to half neckline", back.length + front.length, neckline.half),
            ("neck edge to back neckline", back.length, neckline.back_arc),
            ("neck edge to front neckline", front.length, neckline.front_arc),
        )
    ]
    moved = within(
        "neck edge moved at centre front by",
        neck.moved,
        0.0,
        MOVED_GOOD,
        where=where,
        advice="This much changes the line of the front: draw the neck edge higher at centre "
        "front.",
        source="common practice",
    )
    found.append(moved if moved.verdict is Verdict.PASS else as_note(moved))
    return tuple(found)


def _eased(check: Check) -> Check:
    """A difference a little beyond what is good is to be looked at; more stops cutting."""
    far = abs(check.off) > EASE_STOP
    return check if far or check.verdict is Verdict.PASS else as_note(check)


def _length_advice(off: float, values: Values) -> str:
    if values.word("centre_front") == "adjusted":
        return "Let the neck edge be eased by less."
    drop = values.number("front_drop") - off / PER_DROP
    other = 'Have its front end adjusted (centre_front = "adjusted")'
    if 0.0 <= drop <= 1.0:
        return f"{other}, or draw it about {length(drop)} below the neckline at centre front."
    return f"{other}."


def _no_dent(piece: Piece) -> Check:
    whole = joined([edge.curve for edge in piece.named(EdgeName.NECK_SEAM)])
    found = within(
        "neck edge bends the wrong way by",
        degrees(turned_back(whole)),
        0.0,
        degrees(SMOOTH),
        where=f"{piece.code}, neck seam",
        unit="deg",
        advice="At the shoulder the neck edge bends the other way: take less overlap, or draw "
        "through it by hand.",
        source="common practice",
    )
    return found if found.verdict is Verdict.PASS else as_note(found)


def _lie_checks(standing: Standing, turn: float) -> tuple[Check, ...]:
    if standing.overlap_that_does is not None:
        by = length(standing.overlap_that_does, places=2, rounding=DOWN)
        cure = f"Take an overlap of {by}."
    else:
        cure = "Take a narrower collar, or a neckline with a longer shoulder."
    long = at_least(
        "outer edge long enough to lie where it should",
        standing.edge,
        round(standing.edge_needed, 6),
        where=f"{UPPER}, outer edge",
        advice=f"It will stand {length(standing.stand)} at centre back, higher than this kind does "
        f"({length(standing.most)}). {cure}",
        source=f"computed: the line on the garment; {standing.source}",
    )
    covers = at_least(
        "collar covers its neck seam by",
        standing.cover,
        COVER + turn,
        where=f"{UPPER}, centre back",
        advice="Take a wider collar or less overlap.",
        source=COVER_SOURCE,
    )
    return tuple(one if one.verdict is Verdict.PASS else as_note(one) for one in (long, covers))


def numbers(
    neckline: Neckline,
    laid: Laid,
    neck: NeckEdge,
    free: FreeEdges,
    pieces: tuple[Piece, Piece],
    standing: Standing,
) -> dict[str, float]:
    """Lengths (cm) and angles (radians) worth knowing; edges and seams are half ones."""
    upper, under = pieces
    back, front = upper.named(EdgeName.NECK_SEAM)
    turning = neckline_turning(neckline)
    assert turning is not None
    return {
        "neck_edge": back.length + front.length,
        "neckline": neckline.half,
        "ease_back": back.length - neckline.back_arc,
        "ease_front": front.length - neckline.front_arc,
        "traced_neck_edge": neck.traced,
        "moved_at_front": neck.moved,
        "overlap": laid.overlap,
        "shoulder_angle": laid.angle,
        "neckline_turning_angle": turning,
        "outer_edge": upper.length(EdgeName.OUTER_EDGE),
        "outer_edge_counted": standing.edge,
        "outer_edge_lying_flat": standing.edge_flat,
        "stand_by_outer_edge": standing.stand,
        "stand_by_shoulders": standing.by_angle,
        "covers_neck_seam_by": standing.cover,
        "smaller_outer_edge": upper.length(EdgeName.OUTER_EDGE) - under.length(EdgeName.OUTER_EDGE),
        "corner_angle": free.angle,
    }


def notes(
    neckline: Neckline, neck: NeckEdge, values: Values, standing: Standing
) -> tuple[str, ...]:
    """What the maker should know besides."""
    said = [
        f"It will stand about {length(standing.stand)} at centre back by the length of its outer "
        f"edge, {length(standing.by_angle)} by the overlap of the shoulders: estimates, good to "
        "about a third. See it on the toile.",
        *_ease_notes(neckline, neck),
    ]
    if neck.moved < -0.05:
        said.append(
            f"The traced neck edge was {length(-neck.moved)} longer than the neckline and is "
            "shortened by that at centre front."
        )
    elif neck.moved > 0.05:
        said.append(
            f"The traced neck edge was {length(neck.moved)} shorter than the neckline and is "
            "drawn on by that at centre front."
        )
    if neckline.neck_girth is not None and 2.0 * neckline.half - neckline.neck_girth < AT_BASE:
        said.append(
            "The neckline lies at the base of the neck: a collar like this usually lies better on "
            f"one that is lowered, {length(1.0, places=0)} at centre back and at the side, "
            f"{length(2.0, places=0)} at centre front "
            "(M. Müller & Sohn, Peter Pan collar)."
        )
    if values.number("overlap") == 0.0:
        said.append(
            "Without overlap the collar lies quite flat and its seam may show: "
            f"{span(1.0, 1.5, places=SHORT)} of overlap let it roll over the seam."
        )
    return tuple(said)


def _ease_notes(neckline: Neckline, neck: NeckEdge) -> list[str]:
    said = []
    for word, edge, arc in (
        ("back", neck.back, neckline.back_arc),
        ("front", neck.front, neckline.front_arc),
    ):
        ease = edge.length - arc
        if abs(ease) < 0.01:
            continue
        what = "ease the collar in" if ease > 0.0 else "stretch it on"
        said.append(
            f"The {word} neck edge is {length(abs(ease), places=2)} "
            f"{'longer' if ease > 0 else 'shorter'} than the {word} neckline: {what} over the "
            f"{length(3.0, places=0)} beside the shoulder."
        )
    return said


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


def draft_laid(
    kind: LaidKind, ground: CollarBase, wishes: Mapping[str, float | str]
) -> CollarDraft:
    """Draft a collar of a kind on a ground.

    ``wishes`` are parameters of the kind's file in ``data/collars`` in centimetres, radians and
    words; what is left out stands at its default. Raises :class:`DraftError` listing everything
    that cannot be drafted, each with what can.
    """
    neckline = ground.neckline
    values, problems = resolve_parameters(kind.kind, wishes)
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
    refuse(problems, impossible)
    assert pieces is not None
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
