"""How long the outer edge of a fall must be to lie over its stand and on the shoulders.

The shoulders are laid together flat, as they will be sewn, and the line is drawn on them where the
outer edge is to come to lie: as far outside the neckline as the fall is deeper than its stand,
level over the shoulder, and running out to the points. An edge shorter than that line cannot reach
round: first its points stay back and the front edges open, and once they have opened as far as is
wished, it rides up and shows the neck seam. What the bend of the fall's own seam gives, its rise,
is reckoned from there. Computed; to be seen on the toile. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import sin, sqrt

import numpy as np

from blocks.neckline.neckline import Neckline
from collars.falls.fall import STRAIGHT, FallShape, hill, outer_of, tip_of
from collars.laid_shoulders import lay_front_on_back
from collars.parameters import Values, collar_sheet
from collars.stands.bends import most_rise
from collars.stands.stand import StandShape
from drafting.errors import Problem
from drafting.geometry.points import FloatArray
from drafting.geometry.roots import root_between
from drafting.memo import memo_by_value
from drafting.pieces.checks import Check, Verdict
from drafting.sentences import DOWN, UP, length
from drafting.tolerances import TOP_EDGE

#: The fall's seam rises more than the stand's by this at least, or it lies tight on the stand
#: (150 Cutting Questions Answered, ishare.iask.sina.com.cn/f/22328100: by just so much that the
#: wrinkles vanish; the amount is common practice).
OVER_STAND = 0.1
#: What the check of the outer edge is called.
OUTER = "outer edge on the shoulders"
_STEPS = 400
_SOURCE = (
    "computed: the line on the laid shoulders; front edges opening by 75 to 90 degrees as a rule: "
    "yxlady.com, kinds of shirt collar"
)
NEEDS_BLOCK = (
    "Whether the outer edge is long enough to lie on the shoulders is not known: that needs the "
    "block, and this neckline was taken with a tape."
)


@dataclass(frozen=True, slots=True)
class OnShoulders:
    """The outer edge of a fall (half lengths, cm): ``line`` where it is to lie on the garment,
    ``opened`` what is left off it when the front edges open as wide as is wished, ``has`` its own
    length over a seam of some rise."""

    line: float
    opened: float
    has: float

    @property
    def tight(self) -> float:
        """How much it is too short (cm); less than nothing where it is long enough."""
        return self.line - self.opened - self.has


@dataclass(frozen=True, slots=True)
class LineOnShoulders:
    """The line on the shoulders where the outer edge of a cut fall is to lie, on other shoulders:
    ``wanted`` long (half, cm) on those that slope by ``slope``, ``behind`` and ``before`` how
    far outside the back and the front neckline where it turns (cm, the mean over its turning).
    Shoulders that fall more steeply turn both by as much less."""

    wanted: float
    behind: float
    before: float
    slope: float

    @property
    def reads(self) -> frozenset[str]:
        """The shoulder slope; the neckline is as it was cut."""
        return frozenset({"shoulder_slope"})

    @property
    def ease(self) -> float:
        """None is asked for."""
        return 0.0

    @property
    def astray(self) -> float:
        """None: the line is drawn on the pieces."""
        return 0.0

    def target(self, body: Mapping[str, float]) -> float:
        """Half the line (cm) on a body's shoulders (J. Steiner: its turning times its distance)."""
        less = body["shoulder_slope"] - self.slope
        return self.wanted - (self.behind + self.before) * less


def fall_on_body(
    neckline: Neckline, stand: StandShape, shape: FallShape, values: Values
) -> dict[str, LineOnShoulders]:
    """What the check of the outer edge is compared with on another body; empty without a block."""
    found = on_shoulders(neckline, stand, neckline.half, shape, values.number("spread"))
    if found is None or neckline.neck is None:
        return {}
    square = sqrt(shape.point**2 - shape.lean**2)
    behind, before = shape.back - stand.back, max(square - stand.front, 0.0)
    assert neckline.front is not None
    t = np.linspace(*neckline.front.span, _STEPS + 1)
    turned = np.diff(np.unwrap(np.arctan2(*np.diff(neckline.front.xy(t), axis=0).T[::-1])))
    middle = float(turned @ _outwards(behind, before)[1:-1] / turned.sum())
    wanted = found.line - found.opened
    return {OUTER: LineOnShoulders(wanted, behind, middle, neckline.neck.shoulder_slope)}


def on_shoulders(
    neckline: Neckline, stand: StandShape, seam: float, shape: FallShape, spread: float
) -> OnShoulders | None:
    """The outer edge of a fall over a seam (half, cm) against the shoulders; ``spread`` is how far
    the front edges may open (radians, both together). ``None`` without a block to lay."""
    if not _can_be_laid(neckline):
        return None
    square = sqrt(shape.point**2 - shape.lean**2)
    line = line_on_shoulders(neckline, shape.back - stand.back, max(square - stand.front, 0.0))
    return OnShoulders(line, square * sin(spread / 2.0), outer_length(seam, shape))


def line_on_shoulders(neckline: Neckline, behind: float, before: float) -> float:
    """Half length of a line on the garment, shoulders laid together: ``behind`` outside the
    neckline as far as the shoulder, and from there out to ``before`` at centre front (cm).

    Raises :class:`DraftError` when the neckline was only taped.
    """
    # only the curves play a part: collars drafted to arcs a little off share the line
    curves = replace(neckline, back_arc=0.0, front_arc=0.0, shoulders_slope=None, neck_girth=None)
    return _line_on(curves, behind, before)


@memo_by_value(8)
def _line_on(curves: Neckline, behind: float, before: float) -> float:
    laid = lay_front_on_back(curves, 0.0)
    rows = []
    for curve, first in ((laid.back, True), (laid.front, False)):
        t = np.linspace(*curve.span, _STEPS + 1)
        far = np.full_like(t, behind) if first else _outwards(behind, before)
        rows.append(_beside(curve.xy(t), far))
    return float(sum(np.hypot(*np.diff(row, axis=0).T).sum() for row in rows))


def _outwards(behind: float, before: float) -> FloatArray:
    """How far outside the front neckline the line lies (cm), from the shoulder to centre front."""
    return behind + (before - behind) * np.linspace(0.0, 1.0, _STEPS + 1) ** 3


@memo_by_value(8)
def outer_length(seam: float, shape: FallShape) -> float:
    """The outer edge (half, cm) of a fall over a seam of a length, its point not rounded."""
    curve = hill(seam, shape.rise)[1]
    return sum(one.length for one in outer_of(curve, tip_of(curve, shape), shape))


def fall_rise_for(
    neckline: Neckline,
    stand: StandShape,
    seam: float,
    shape: FallShape,
    spread: float,
    most: float,
) -> float | Problem:
    """The rise of the fall's seam with which its outer edge just lies on the shoulders, more than
    the stand's; or why there is none."""
    found = on_shoulders(neckline, stand, seam, shape, spread)
    if found is None:
        return _refused(
            "how the fall lies on the shoulders needs the block, and this neckline was taken with "
            "a tape",
            "Give the client's measurements, or write the fall's rise.",
        )

    wanted = found.line - found.opened  # where it is to lie does not hang on its rise

    def tight(rise: float) -> float:
        return wanted - outer_length(seam, replace(shape, rise=rise))

    reached = min(most, most_rise((1.0 - STRAIGHT) * seam))
    least = min(stand.rise + OVER_STAND, reached)
    if tight(least) <= 0.0:
        return least
    if (left := tight(reached)) > 0.0:
        return _refused(
            f"no rise up to {length(reached, rounding=DOWN)} makes the outer edge long enough: "
            f"it stays {length(left)} too short",
            "Let the front edges open wider (spread), take a shallower fall, or write the rise.",
        )
    return root_between(tight, least, reached, xtol=1e-9)


def fall_rise_by(neckline: Neckline, values: Values) -> str:
    """Where the rise of the fall's seam comes from: ``number``, ``rule`` or ``shoulders``."""
    if "fall_rise_by" in values.wished:
        return values.word("fall_rise_by")
    if "fall_rise" in values.wished:
        return "number"
    return "shoulders" if _can_be_laid(neckline) else "rule"


def chosen_fall(
    neckline: Neckline, stand: StandShape, seam: float, shape: FallShape, values: Values
) -> tuple[FallShape, list[Problem], tuple[str, ...]]:
    """The fall with its rise by the parameter ``fall_rise_by``, why it cannot be, and what the
    maker should know. Left out it is the number where one is written, else the shoulders where
    there is a block and a fall that can lie on them, else the rule."""
    by = fall_rise_by(neckline, values)
    notes: tuple[str, ...] = ()
    if by == "number":
        return shape, [], notes
    if "fall_rise" in values.wished:
        notes = (f"The rise of the fall on the card is not used: the rise is taken by {by}.",)
    parameter = collar_sheet("two-piece shirt").parameters["fall_rise"]
    if by == "rule":
        return replace(shape, rise=float(parameter.default(values.given))), [], notes
    rise = fall_rise_for(neckline, stand, seam, shape, values.number("spread"), parameter.rule.high)
    if isinstance(rise, Problem):
        if "fall_rise_by" in values.wished:
            return shape, [rise], notes
        return shape, [], (f"The fall has its usual rise, for {rise.said}.",)
    said = (
        f"The fall's seam rises by {length(rise, places=2)}, so that its outer edge lies on the "
        "shoulders."
    )
    return replace(shape, rise=rise), [], (*notes, said)


def shoulder_checks(
    neckline: Neckline,
    stand: StandShape,
    seam: float,
    shape: FallShape,
    values: Values,
    where: str,
) -> tuple[Check, ...]:
    """The outer edge against the line on the shoulders where it is to lie: a note when it is too
    short, with the rise that would do. None without a block."""
    spread = values.number("spread")
    found = on_shoulders(neckline, stand, seam, shape, spread)
    if found is None:
        return ()
    wanted = found.line - found.opened
    verdict, advice = Verdict.PASS, ""
    if found.tight > TOP_EDGE / 2.0:
        verdict = Verdict.NOTE
        most = collar_sheet("two-piece shirt").rules["fall_rise"].high
        rise = fall_rise_for(neckline, stand, seam, shape, spread, most)
        cure = "Let the front edges open wider (spread), or take a shallower fall."
        if not isinstance(rise, Problem):
            cure = (
                f"A fall rise of {length(rise, places=2, rounding=UP)} instead of "
                f"{length(shape.rise, places=2)} is long enough."
            )
        advice = (
            f"Outer edge tight by {length(found.tight)} on the half: it will ride up and show the "
            f"neck seam, or open the front edges wider than wished. {cure}"
        )
    return (
        Check(
            OUTER,
            found.has,
            wanted,
            TOP_EDGE / 2.0,
            verdict,
            advice,
            where,
            source=_SOURCE,
            least=True,
        ),
    )


def _beside(points: FloatArray, distances: FloatArray) -> FloatArray:
    """Points to the left of a line that is densely given, at distances."""
    along = np.gradient(points, axis=0, edge_order=2)
    along /= np.hypot(*along.T)[:, None]
    left = np.column_stack((-along[:, 1], along[:, 0]))
    return np.asarray(points + left * distances[:, None])


def _can_be_laid(neckline: Neckline) -> bool:
    return None not in (neckline.back, neckline.front, neckline.back_tip, neckline.front_tip)


def _refused(said: str, advice: str) -> Problem:
    return Problem(
        said,
        key="collar.fall_rise_by",
        got="shoulders",
        accepted="rule, number",
        advice=advice,
    )
