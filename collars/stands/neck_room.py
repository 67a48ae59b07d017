"""Room for the neck in a closed stand: its top edge, button to buttonhole, against the neck.

A collar that closes too tightly presses on the vessels of the neck, so that alone stops cutting;
one that stands away is a matter of taste, and the check says by which rise it would come closer.
Centimetres.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from blocks.component import LEAST_ROOM
from blocks.neckline.neckline import Neckline
from collars.parameters import Values, collar_sheet
from collars.stands.from_neck import NeckRise, neck_at_top, neck_check
from collars.stands.stand import Stand, StandShape, rise_for_top, top_length
from drafting.geometry.points import Many
from drafting.pieces.checks import Check, Verdict
from drafting.sentences import DOWN, SHORT, length
from drafting.tolerances import TOP_EDGE

#: A stand rises 1 to 2; common practice.
MOST_USUAL_RISE = 2.0
#: What the check is called.
ROOM = "closed top edge round the neck"
_SOURCE = (
    "oelkrugmasshemden.de: neck and 1; nakae-textile.com: neck and 2; tightness: "
    "anakanaschofield.com 2011"
)


def neck_room(
    neckline: Neckline,
    shape: StandShape,
    closed: float,
    ease: float,
    most_rise: float,
    where: str,
    gap: float = 0.0,
    at_top: Callable[[], float | None] = lambda: None,
) -> tuple[Check, float | None]:
    """The check of a closed top edge (whole, cm), and the rise that would give exactly the neck
    girth and ``ease``, ``None`` when none up to ``most_rise`` does or the neck is not known.
    ``gap`` is how much of ``closed`` stays open between both ends, ``at_top`` tells the neck's
    girth where the edge lies: a rise that would press there is not advised.

    Without a neck girth nothing is compared: the check is a note that says so, its target is what
    was measured.
    """
    neck = neckline.neck_girth
    if neck is None:
        advice = (
            f"Not checked: no neck girth is known. This collar is right for a neck of "
            f"{length(closed - ease)}; measure before cutting."
        )
        return Check(ROOM, closed, closed, 0.0, Verdict.NOTE, advice, where), None
    target = neck + ease
    rise = rise_for_top(neckline, shape, (target - gap) / 2, most_rise)
    verdict, advice = Verdict.PASS, ""
    pressing, tight, loose = room_faults(closed, neck, ease)
    if not (pressing or tight or loose):
        return Check(ROOM, closed, target, TOP_EDGE, verdict, "", where, source=_SOURCE), rise
    girth = at_top() if rise is not None and rise > shape.rise else None
    if rise is not None and girth is not None and target < girth + LEAST_ROOM:
        cure = (
            f"A rise of {length(rise, places=2)} would close it by her neck girth, but this stand "
            f"reaches where her neck is about {length(girth)} round and would press there. Take "
            "the rise from her neck instead."
        )
    else:
        cure = _cure(neckline, shape, target, rise, most_rise, gap)
    if pressing:
        verdict = Verdict.FAIL
        advice = f"{_pressing(closed - neck)} {cure}"
    elif tight:
        verdict = Verdict.NOTE
        advice = f"{length(target - closed)} tighter than asked. {cure}"
    else:
        verdict = Verdict.NOTE
        advice = f"The closed top edge is {length(closed - target)} longer than asked. {cure}"
    if neckline.neck_girth_estimated:
        advice += " The neck girth is estimated: measure it."
    return Check(ROOM, closed, target, TOP_EDGE, verdict, advice, where, source=_SOURCE), rise


def room_faults(closed: Many, neck: Many, ease: float) -> tuple[Many, Many, Many]:
    """Whether a closed top edge (whole, cm) presses on the neck, is tighter than asked, or stands
    away more than asked; for one body or for many."""
    wanted = neck + ease
    return closed < neck + LEAST_ROOM, closed < wanted - TOP_EDGE, closed > wanted + TOP_EDGE


def stand_room(
    kind: str,
    neckline: Neckline,
    stand: Stand,
    values: Values,
    code: str,
    gap: float = 0.0,
    neck: NeckRise | None = None,
) -> tuple[Check, dict[str, float]]:
    """The check of a drawn stand's closed top edge for a kind of collar, its ends ``gap`` apart on
    either side of centre front; and ``rise_for_neck`` where a rise would do exactly.

    One that was reckoned from the ``neck`` is held against the neck where it lies; the numbers are
    ``neck_at_top``, the neck's girth there, and ``rise``, what it asks."""
    if neck is not None:
        closed, ease = 2 * (stand.top.length + gap), values.number("finger_ease")
        check = neck_check(neck, closed, ease, f"{code}, top edge")
        return check, {"neck_at_top": neck.girth, "rise": neck.rise}
    check, rise = neck_room(
        neckline,
        stand.shape,
        2 * (stand.top.length + gap),
        values.number("finger_ease"),
        collar_sheet(kind).rules["rise"].high,
        f"{code}, top edge",
        2 * gap,
        partial(neck_at_top, neckline, stand.shape, gap),
    )
    return check, {} if rise is None else {"rise_for_neck": rise}


def line_room(
    neckline: Neckline, name: str, closed: float, ease: float, where: str, cure: str
) -> Check:
    """The check of any closed line round the neck (whole, cm), for collars without a rise to cure
    it: too tight stops cutting, less than the ease asked for is a note, more is as good."""
    neck = neckline.neck_girth
    if neck is None:
        advice = (
            f"Not checked: no neck girth is known. This collar closes round a neck of "
            f"{length(closed - ease)}; measure before cutting."
        )
        return Check(name, closed, closed, 0.0, Verdict.NOTE, advice, where, least=True)
    verdict, advice = Verdict.PASS, ""
    if closed < neck + LEAST_ROOM:
        verdict = Verdict.FAIL
        advice = f"{_pressing(closed - neck)} {cure}"
    elif closed < neck + ease - TOP_EDGE:
        verdict, advice = Verdict.NOTE, f"{length(neck + ease - closed)} tighter than asked. {cure}"
    if advice and neckline.neck_girth_estimated:
        advice += " The neck girth is estimated: measure it."
    return Check(
        name, closed, neck + ease, TOP_EDGE, verdict, advice, where, source=_SOURCE, least=True
    )


def _pressing(room: float) -> str:
    """What is said of a closed collar with so little ``room`` (cm) round the neck."""
    much = f"Only {length(room)} more" if room >= 0.0 else f"{length(-room)} less"
    return (
        f"{much} than the neck: a collar this tight presses on the vessels of the neck. Do not "
        "cut it."
    )


def _cure(
    neckline: Neckline,
    shape: StandShape,
    target: float,
    rise: float | None,
    most: float,
    gap: float,
) -> str:
    """What brings the top edge to its target: a rise, or what is left when none does."""
    if rise is not None:
        cure = (
            f"A rise of {length(rise, places=2)} instead of {length(shape.rise, places=2)} "
            f"closes it to {length(target)}."
        )
        if rise > MOST_USUAL_RISE:
            cure += f" More than {length(MOST_USUAL_RISE, places=SHORT)} is unusual."
        return cure
    straight = 2 * top_length(neckline, replace(shape, rise=0.0)) + gap
    if straight < target:
        return f"Even with no rise it closes at {length(straight)}: lay the neckline farther out."
    return (
        f"No rise up to {length(most, rounding=DOWN)} closes it to {length(target)}: fit the "
        "neckline closer first."
    )
