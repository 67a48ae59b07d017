"""Front and back bodice blocks from a method's quantities: one construction for every method.

x from centre back, y up from the bust line, centimetres; the front lies to the right of the back
as on the table. Outlines run counter-clockwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi

from blocks.bodice.methods import Method, Quantities, method, quantities
from blocks.bodice.sanity_rules import SENSE
from blocks.bodice.scye import SHOULDER_OVER_BACK, BackScye, FrontScye, back_scye, front_scye
from blocks.bodice.waist import Waist, draw_waist
from blocks.body.body import Body
from blocks.body.ease import Ease, EaseWish, settle_ease
from blocks.neck.measures import NeckShape, neck_of
from blocks.neckline.fit import NeckFit, fit_neckline
from blocks.neckline.neckline import Neckline
from blocks.neckline.on_block import NeckChange, NeckFrame
from blocks.neckline.shoulder import BackShoulder
from drafting.errors import DraftError
from drafting.geometry.curves import Curve
from drafting.geometry.points import Point, direction
from drafting.sentences import keep_values, length, span

#: A shoulder point that moves by less (cm) is not spoken of: half a millimetre.
SHOULDER_SEEN = 0.05


@dataclass(frozen=True, slots=True)
class BlockWish:
    """What is asked of a block: ``fit`` one of none, front, side, both; ``neck_ease`` over the
    neck base girth (whole neckline); ``style`` a style neckline; ``button_stand`` beyond centre
    front, 0 for a front on the fold; ``neck_shape`` the style neckline's shape; ``ease`` how
    loose it is to hang, the method's own when nothing is asked; ``toile`` how a fitting moves the
    fitted neckline. Centimetres."""

    method: str
    fit: str = "none"
    neck_ease: float = 0.5
    style: NeckChange | None = None
    button_stand: float = 0.0
    neck_shape: str = "round"
    ease: EaseWish = field(default_factory=EaseWish)
    toile: NeckChange | None = None


@dataclass(frozen=True, slots=True)
class BodiceDraft:
    """A drafted bodice, before it is made up into pieces.

    ``points`` are the construction points by name, as the method publishes them; ``back_neck`` and
    ``front_neck`` the necklines from back neck point to side neck point to front neck point;
    ``ease`` the settled numbers of the wished ease.
    """

    body: Body
    wish: BlockWish
    quantities: Quantities
    ease: Ease
    points: Mapping[str, Point]
    frame: NeckFrame
    shoulder: BackShoulder
    back_neck: Curve
    front_neck: Curve
    back_scye: BackScye
    front_scye: FrontScye
    waist: Waist
    fit: NeckFit
    neckline: Neckline
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        keep_values(self, "notes")


def draft_bodice(body: Body, wish: BlockWish) -> BodiceDraft:
    """Draft the bodice of a body.

    Raises :class:`DraftError` when the measurements cannot be drafted by this method, or when a
    wished correction or style lies outside what the body allows; the message says which and why.
    """
    q, ease = _quantities(method(wish.method), body, wish)
    _check_sense(q)
    start = neck_frame(q)
    frame, fit = fit_neckline(
        start,
        target=body["neck_base_girth"] + wish.neck_ease,
        neck_girth=body["neck_girth"],
        fit=wish.fit,
        style=wish.style,
        shape=wish.neck_shape,
        toile=wish.toile,
    )
    shoulder = frame.back_shoulder()
    waist = draw_waist(q)
    back = back_scye(q, shoulder, waist.side_slant)
    front = front_scye(q, frame.front_tip, frame.front_out, waist.side_slant)
    back_neck, front_neck = frame.back_curve(), frame.front_curve()
    return BodiceDraft(
        body=body,
        wish=wish,
        quantities=q,
        ease=ease,
        points=_points(q, start, back, front),
        frame=frame,
        shoulder=shoulder,
        back_neck=back_neck,
        front_neck=front_neck,
        back_scye=back,
        front_scye=front,
        waist=waist,
        fit=fit,
        neckline=Neckline(
            back_arc=back_neck.length,
            front_arc=front_neck.length,
            back=back_neck,
            front=front_neck,
            shoulders_slope=q["front_shoulder_slope"] + q["back_shoulder_slope"],
            neck_girth=body["neck_girth"],
            neck_girth_estimated=body.is_estimated("neck_girth"),
            back_tip=shoulder.side
            + shoulder.inner_heading * (frame.front_length + frame.back_ease),
            front_tip=frame.front_tip,
            shape=wish.neck_shape,
            beyond=frame.front_neck.to(frame.front_end(wish.button_stand)),
            neck=_neck(body, start, frame, (back_neck.length, front_neck.length), fit),
        ),
        notes=(
            *_fit_notes(body, fit),
            *_notes(q, body, back, front),
            *_shoulder_notes(start, fit),
        ),
    )


def _quantities(chosen: Method, body: Body, wish: BlockWish) -> tuple[Quantities, Ease]:
    """The method's quantities at the wished ease, and that ease."""
    own = quantities(chosen, body, neck_ease=wish.neck_ease)
    ease = settle_ease(wish.ease, bust=own["bust_ease"], waist=own["waist_ease"])
    if not any(ease.inputs.values()):
        return own, ease
    return quantities(chosen, body, neck_ease=wish.neck_ease, ease=ease.inputs), ease


def _neck(
    body: Body, start: NeckFrame, finished: NeckFrame, arcs: tuple[float, float], fit: NeckFit
) -> NeckShape:
    """The neck above the fitted round neckline, whatever style or fitting came after it; ``arcs``
    are those of the finished one."""
    if fit.style is None and fit.toile is None:
        return neck_of(body, *arcs, finished.depth)
    change = fit.applied.change if fit.applied is not None else None
    fitted = start if change is None else start.changed(change)
    return neck_of(body, fitted.back_curve().length, fitted.front_curve().length, fitted.depth)


def neck_frame(q: Mapping[str, float]) -> NeckFrame:
    """The neckline as the method draws it, before any correction; ``q`` are its quantities."""
    width = q["half_width"]
    back_neck = Point(0.0, q["nape_height"])
    back_side = back_neck + Point(q["back_neck_width"], q["back_neck_rise"])
    front_side = Point(width - q["front_neck_width"], q["side_neck_height"])
    back_out = direction(-q["back_shoulder_slope"])
    front_out = direction(pi + q["front_shoulder_slope"])
    tip = Point(q["shoulder_dart_tip_x"], q["shoulder_dart_tip_y"])
    back_tip = back_side + back_out * q["back_shoulder_length"]
    front_tip = front_side + front_out * q["front_shoulder_length"]
    room = (back_tip.x - q["back_width"] - SHOULDER_OVER_BACK) / back_out.x
    if q["front_touch_x"] > 0.0:
        past = q["front_touch_x"] - front_tip.x - SHOULDER_OVER_BACK
        room = min(room, past / -front_out.x)
    return NeckFrame(
        back_neck=back_neck,
        back_side=back_side,
        back_tip=back_tip,
        front_side=front_side,
        front_tip=front_tip,
        front_neck=Point(width, q["side_neck_height"] - q["front_neck_depth"]),
        dart_tip=tip,
        dart_leg=back_side + back_out * q["shoulder_dart_start"],
        back_ease=q["back_shoulder_ease"],
        back_slope=q["back_shoulder_slope"],
        front_slope=q["front_shoulder_slope"],
        guide_share=q["front_neck_guide"],
        front_angle=q["front_neck_angle"],
        fullness=q["back_neck_fullness"],
        shoulder_room=max(room, 0.0),
    )


def _check_sense(q: Quantities) -> None:
    problems = [rule.problem(q) for rule in SENSE if not rule.holds(q)]
    if problems:
        raise DraftError(problems)


def _points(q: Quantities, frame: NeckFrame, back: BackScye, front: FrontScye) -> dict[str, Point]:
    out = direction(-q["back_shoulder_slope"])
    return {
        "back neck point": frame.back_neck,
        "back side neck point": frame.back_side,
        "back shoulder point": frame.back_tip,
        "shoulder dart, first leg": frame.dart_leg,
        "shoulder dart, second leg": frame.dart_leg + out * q["shoulder_dart_width"],
        "shoulder dart, tip": frame.dart_tip,
        "back pitch": back.pitch,
        "back armhole guide": back.guide,
        "underarm point": Point(q["side_x"], q["underarm_y"]),
        "front armhole guide": front.guide,
        "bust dart, lower leg": front.dart_lower,
        "bust dart, upper leg": front.dart_upper,
        "bust point": Point(q["bust_point_x"], q["bust_point_y"]),
        "front shoulder point": frame.front_tip,
        "front side neck point": frame.front_side,
        "front neck guide": Point(frame.front_neck.x, frame.front_side.y).towards(
            Point(frame.front_side.x, frame.front_neck.y), frame.guide_share
        ),
        "front neck point": frame.front_neck,
        "waist at centre back": Point(0.0, -q["waist_depth"]),
        "waist at centre front": Point(q["half_width"], -q["waist_depth"] - q["front_waist_drop"]),
    }


def _fit_notes(body: Body, fit: NeckFit) -> tuple[str, ...]:
    """Whether the neckline was fitted to a neck that nobody measured."""
    if fit.applied is None or not body.is_estimated("neck_base_girth"):
        return ()
    return (
        "The neckline is fitted to an estimated neck base girth of "
        f"{length(body['neck_base_girth'])}: measure hers before you cut.",
    )


def _shoulder_notes(start: NeckFrame, fit: NeckFit) -> tuple[str, ...]:
    """What fitting the neckline at the side did to the shoulder."""
    change = fit.applied.change if fit.applied is not None else None
    if change is None or abs(change.side_shift) < SHOULDER_SEEN:
        return ()
    after = start.changed(change).front_length
    longer, shoulder = after - start.front_length, length(after)
    if change.side_shift > 0.0:
        return (
            "Widening the neckline at the side to fit shortens the shoulder by "
            f"{length(-longer)}, to {shoulder}.",
        )
    if longer < SHOULDER_SEEN:
        return (
            f"Both shoulder points come in by {length(-change.shoulder_shift)} with the side neck, "
            f"so the shoulder keeps its {shoulder}; the armhole starts from there.",
        )
    moved = (
        f"come in by only {length(-change.shoulder_shift)} with the side neck"
        if -change.shoulder_shift >= SHOULDER_SEEN
        else "stay where they are"
    )
    return (
        f"Both shoulder points {moved}; further in, the armhole would come inside the width lines. "
        f"The shoulder is now {shoulder}, {length(longer)} longer: judge it on the toile.",
    )


def _notes(q: Quantities, body: Body, back: BackScye, front: FrontScye) -> tuple[str, ...]:
    notes = []
    low, high = q.method.bust_made_for
    bust = body["bust_girth"]
    if not low <= bust <= high:
        notes.append(
            f"The {q.method.title.lower()} is made for busts of {span(low, high, places=0)}; this "
            f"one is {length(bust)}. Make a toile first."
        )
    if q["front_touch_x"] > 0.0 and not front.touches:
        notes.append(
            "The bust dart is so wide that its upper leg lies inside the front width line; the "
            "armhole touches the dart's leg instead. Move part of the dart to another seam."
        )
    if back.eased > 0.0:
        notes.append(
            "The shoulder is short for this back: the armhole lies "
            f"{length(back.eased)} inside the back width line. Measure shoulder length and across "
            "back again, or lengthen the shoulder."
        )
    return tuple(notes)
