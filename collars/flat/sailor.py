"""The sailor collar: on a V neckline, square and deep over the back, running out to the V in front.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import pi

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.flat.draft import LaidKind, draft_laid
from collars.flat.neck_edge import NeckEdge
from collars.flat.pieces import SHARPEST, FreeEdges
from collars.laid_shoulders import Laid
from collars.parameters import Values, collar_sheet
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import angle_between, joined, line
from drafting.geometry.curves import corner as rounded
from drafting.geometry.points import Point
from drafting.sentences import DOWN, SHORT, length

KIND = "sailor"
#: The side edge bends outwards on its way to the V by this share of what it has to turn.
_BULGE = 0.45
#: How far its handles reach towards where its end directions cross.
_FULLNESS = 0.6
#: Nearer to the neck edge than this the collar is its front end.
_LEAST = 4.0


def draft(ground: CollarBase, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft upper and under collar on a block with a V neckline.

    ``wishes`` are parameters of ``data/collars/sailor.toml`` in centimetres, radians and words;
    what is left out stands at its default. Raises :class:`DraftError` listing everything that
    cannot be drafted, each with what can; among it any neckline that is no V.
    """
    return draft_laid(_SAILOR, ground, wishes)


def _free_edges(laid: Laid, neck: NeckEdge, values: Values) -> FreeEdges:
    """From the V over the shoulder to the back corner, and level to centre back."""
    inside = values.number("shoulder_inside")
    shoulder = laid.back_shoulder
    if inside > 0.5 * shoulder.length:
        raise DraftError(
            Problem(
                f"a shoulder of {length(shoulder.length)} leaves no room for the collar's side",
                key="collar.shoulder_inside",
                got=length(inside),
                accepted=f"up to {length(0.5 * shoulder.length, rounding=DOWN)}",
                advice="Let the side lie nearer to the shoulder point, or widen the neckline less.",
            )
        )
    over = shoulder.at_length(shoulder.length - inside)
    back = neck.back.start + Point(0.0, values.number("depth"))
    corner = Point(over.x, back.y)
    tip = neck.front.end
    chord = over - tip
    turn = angle_between(chord, Point(0.0, 1.0))
    leaving = chord.turned(-_BULGE * turn)
    angle = angle_between(leaving, -neck.front.end_heading)
    if turn <= 0.0 or corner.y - over.y < 1.0 or not SHARPEST / 2.0 < angle < pi / 2.0:
        raise DraftError(
            Problem(
                "the side of the collar cannot be drawn from the shoulder to the V",
                key="collar.depth",
                got=length(values.number("depth")),
                advice="Take a deeper V or a side farther out on the shoulder.",
            )
        )
    side = rounded(tip, leaving, over, Point(0.0, 1.0), _FULLNESS)
    return FreeEdges(
        (joined([side, line(over, corner)]), line(corner, back)),
        (EdgeName.OUTER_EDGE, EdgeName.OUTER_EDGE),
        halves=False,
        angle=pi / 2.0,  # the back corner; the front end is no corner to turn
        least=_LEAST,
    )


def _refuse(neckline: Neckline) -> list[Problem]:
    if neckline.shape == "v":
        return []
    lower = length(float(collar_sheet(KIND).neckline["front_lower"]), places=SHORT)
    return [
        Problem(
            "a sailor collar needs a V neckline",
            key="neckline.style.shape",
            got=neckline.shape,
            accepted="v",
            advice=f"Lower the front by about {lower} in the shape of a V.",
        )
    ]


_SAILOR = LaidKind(
    KIND,
    _free_edges,
    width="depth",
    most_stand=1.0,
    stand_source=f"viene.ru, chapter on collars: flat is under {length(1.0, places=0)}",
    refuse=_refuse,
    facing="separate",  # shaped to the V, which a fold along the front edge does not follow
    notes=(
        "A tie or ribbon at the neck has no place on children's wear: EN 14682 allows none with "
        "free ends there; sew a bow flat instead.",
    ),
)
