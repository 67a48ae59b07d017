"""The client's neck as a surface, as far up as a collar reaches: a ring over the shoulders, and
from it up the skin.

The ring is the neck base: through the back neck point, over both side neck points and down to the
front neck point, as long as the neck base girth, parted at the shoulder as the block's neckline is.
A neck is hollow above it: the girth falls fast and then hardly (:mod:`blocks.neck.measures`). A
strip of cloth does not follow the hollow but spans it, so that it is told by straight lines: from
every place of the ring one runs up, all lean forward with the neck and in, towards its middle, by
one angle, the taper. It is such that the top edge of an even strip of the ``height`` asked for lies
where the neck is as thick as it is there. An upright round neck is a true cone, or a cylinder.

A strip stands square to its seam, so where the ring slopes down to the front it reaches a little
higher up those lines than it is high: the ways of :meth:`NeckSurface.reached` are reckoned so, as a
tape parallel to the chain would take them.

x to the client's right, y forward, z up, the back neck point at the origin; only the right half is
reckoned, the left mirrors it. Centimetres and radians. Computed; nothing is measured here but both
girths, the height of the upper one and the lean, and those are estimated where the body says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from math import cos, degrees, pi, sin

import numpy as np

from blocks.neck.measures import NeckShape, neck_figures
from drafting.errors import DraftError, Problem
from drafting.geometry.points import FloatArray
from drafting.geometry.roots import root_between
from drafting.memo import memo_by_value
from drafting.sentences import length
from drafting.tolerances import ARC

# ---- The lines of a neck in space: a closed ring, and a straight line up from every place of it

_PANELS, _POINTS = 6, 10
_AT, _WEIGHTS = np.polynomial.legendre.leggauss(_POINTS)


def _upto() -> FloatArray:
    """Weights that integrate over one panel from its start to each of its nodes."""
    legendre = np.polynomial.legendre
    table = np.linalg.inv(legendre.legvander(_AT, _POINTS - 1))
    rows = [legendre.legval(_AT, legendre.legint(column, lbnd=-1.0)) for column in table.T]
    return np.asarray(np.column_stack(rows), dtype=np.float64)


_UPTO = _upto()
_ENDS = np.linspace(0.0, pi, 2 * _PANELS + 1)
_HALF = 0.5 * np.diff(_ENDS)[:, None]
#: Angles round the half ring at which is integrated, and the weight of each.
TURN = ((0.5 * (_ENDS[:-1] + _ENDS[1:]))[:, None] + _HALF * _AT).ravel()
STEP = (_HALF * _WEIGHTS).ravel()


@dataclass(frozen=True)
class Lines:
    """Ring and lines at angles ``turn`` round it: places, unit directions, and by how much both
    change with the angle; ``bend`` is the change of the ring's ``slope``."""

    turn: FloatArray
    ring: FloatArray
    slope: FloatArray
    bend: FloatArray
    line: FloatArray
    line_slope: FloatArray

    @cached_property
    def speed(self) -> FloatArray:
        """Step along the ring."""
        return np.asarray(np.linalg.norm(self.slope, axis=1))

    @cached_property
    def tangent(self) -> FloatArray:
        """Direction along the ring."""
        return np.asarray(self.slope / self.speed[:, None])

    @cached_property
    def shares(self) -> FloatArray:
        """Share of the half ring run; only at the nodes of integration."""
        return np.asarray(_run(self.speed) / (self.speed @ STEP))

    @cached_property
    def square(self) -> FloatArray:
        """Height over the ring, square to it, of one centimetre up the line."""
        return np.asarray(np.sqrt(1.0 - self._along**2))

    @cached_property
    def square_slope(self) -> FloatArray:
        """Change of ``square`` with the angle."""
        turned = (self.bend - (self.bend * self.tangent).sum(axis=1)[:, None] * self.tangent) / (
            self.speed[:, None]
        )
        change = (turned * self.line + self.tangent * self.line_slope).sum(axis=1)
        return np.asarray(-self._along * change / self.square)

    @cached_property
    def _along(self) -> FloatArray:
        return np.asarray((self.tangent * self.line).sum(axis=1))

    def lengths(self, up: FloatArray | float, slope: FloatArray | float = 0.0) -> FloatArray:
        """Step along the curve ``up`` the lines, where that height changes by ``slope``."""
        up = np.broadcast_to(up, self.turn.shape)[:, None]
        rises = np.broadcast_to(slope, self.turn.shape)[:, None]
        return np.asarray(
            np.linalg.norm(self.slope + up * self.line_slope + rises * self.line, axis=1)
        )


def _run(speed: FloatArray) -> FloatArray:
    """Lengths from centre back to every node."""
    panels = speed.reshape(-1, _POINTS)
    whole = (panels @ _WEIGHTS) * _HALF[:, 0]
    before = np.r_[0.0, np.cumsum(whole)[:-1]]
    return np.asarray((before[:, None] + _HALF * (panels @ _UPTO.T)).ravel())


def through(back: float, side: float, front: float) -> FloatArray:
    """The terms c0 + c1 cos t + c2 cos 2t that have these values at t = 0, a quarter and a half
    turn. They are level across the middle, so both halves of the ring run on without a corner."""
    even = (back + front) / 2.0
    return np.array([(even + side) / 2.0, (back - front) / 2.0, (even - side) / 2.0])


def _slopes(terms: FloatArray, turn: FloatArray) -> FloatArray:
    return np.asarray(-terms[1] * np.sin(turn) - 2.0 * terms[2] * np.sin(2.0 * turn))


def ring_slope(
    half_width: float, forward: FloatArray, upward: FloatArray, turn: FloatArray
) -> FloatArray:
    """By how much the ring's place changes with the angle, at angles round it."""
    across = half_width * np.cos(turn)
    return np.column_stack((across, _slopes(forward, turn), _slopes(upward, turn)))


def lines_of(
    half_width: float,
    forward: FloatArray,
    upward: FloatArray,
    lean: float,
    taper: float,
    turn: FloatArray,
) -> Lines:
    """Ring and lines at angles: the ring has a half width and the terms of its y and z, its lines
    lean forward by ``lean`` and in by ``taper``."""
    cosines = np.column_stack((np.ones_like(turn), np.cos(turn), np.cos(2.0 * turn)))
    ring = np.column_stack((half_width * np.sin(turn), cosines @ forward, cosines @ upward))
    slope = ring_slope(half_width, forward, upward, turn)
    bend = np.column_stack(
        (
            -half_width * np.sin(turn),
            *(-cosines[:, 1] * c[1] - 4.0 * cosines[:, 2] * c[2] for c in (forward, upward)),
        )
    )
    axis = np.array([0.0, sin(lean), cos(lean)])
    inward, turned = np.cross(axis, slope), np.cross(axis, bend)
    length = np.linalg.norm(inward, axis=1)[:, None]
    inward = inward / length
    turned = (turned - (turned * inward).sum(axis=1)[:, None] * inward) / length
    line = cos(taper) * axis + sin(taper) * inward
    return Lines(turn, ring, slope, bend, line, sin(taper) * turned)


Heights = Callable[[FloatArray], FloatArray]

_ROUNDS = 40
#: Shares of the half ring over which a strip's mean height is taken.
_MIDDLES: FloatArray = np.linspace(0.0025, 0.9975, 200)
#: A strip that turns less than this (radians, half of it) has no middle of its turning.
LEAST_TURN = 0.01


@dataclass(frozen=True)
class NeckSurface:
    """A neck as a ruled surface; make one with :func:`neck_surface`.

    A place on it is a share of the half ring, by its length from the back neck point (0) to the
    front one (1), and a height up the line there (cm). ``height`` (cm, over the ring) is where its
    girth is the neck's; ``forward`` and ``upward`` are the three terms of the ring's y and z,
    ``taper`` the angle by which its lines lean in (radians).
    """

    shape: NeckShape
    height: float
    forward: FloatArray
    upward: FloatArray
    taper: float
    _lines: Lines = field(repr=False, compare=False)

    @property
    def side_share(self) -> float:
        """The share at which the side neck point lies."""
        return self.shape.back_share

    @property
    def back_slope(self) -> float:
        """How far the nape leans forward of upright (radians)."""
        return self.shape.lean + self.taper

    @property
    def front_slope(self) -> float:
        """How far the throat leans forward of upright (radians; less than nothing: back)."""
        return self.shape.lean - self.taper

    def points(self, shares: FloatArray, heights: FloatArray | float) -> FloatArray:
        """Places in space (n, 3), of the right half."""
        turn = np.interp(
            shares, np.r_[0.0, self._lines.shares, 1.0], np.r_[0.0, self._lines.turn, pi]
        )
        lines = _at(self.shape, self.forward, self.upward, self.taper, turn)
        up = np.broadcast_to(heights, turn.shape)[:, None]
        return np.asarray(lines.ring + up * lines.line)

    def girth(self, height: float) -> float:
        """The whole girth at one height up all lines (cm)."""
        return 2.0 * float(self._lines.lengths(height) @ STEP)

    def reached(self, heights: Heights) -> float:
        """The whole girth (cm) where a strip reaches that stands on the ring, square to it, as
        high as ``heights`` says for shares of the half ring; level at both ends."""
        lines = self._lines
        close = 1e-6
        rises = (heights(lines.shares + close) - heights(lines.shares - close)) / (2.0 * close)
        rises = rises * lines.speed / (self.shape.base_girth / 2.0)
        return _girth_over(lines, heights(lines.shares), rises)

    def turning_middle(self) -> float | None:
        """The share of the half ring on both sides of which a strip that lies on the neck turns
        equally much (the middle of its turning), ``None`` when it hardly turns."""
        lines = self._lines
        square = lines.line - (lines.line * lines.tangent).sum(axis=1)[:, None] * lines.tangent
        turned = (lines.bend * square).sum(axis=1) / lines.square / lines.speed * STEP
        whole = float(turned.sum())
        return float(turned @ lines.shares) / whole if whole > LEAST_TURN else None


def surface_under(shape: NeckShape, heights: Heights) -> NeckSurface:
    """The surface of a neck under a strip as high as ``heights`` says for shares of the half ring:
    that for its mean height. Raises :class:`DraftError` as :func:`neck_surface` does."""
    return neck_surface(shape, float(np.mean(heights(_MIDDLES))))


@memo_by_value(8)
def neck_surface(shape: NeckShape, height: float) -> NeckSurface:
    """The surface of a neck up to a height over its ring (cm): the girths there and at the ring
    exactly as the neck has them.

    Raises :class:`DraftError` when no neck has these measurements, and says which do not go
    together.
    """
    _refuse(shape)
    upward = through(0.0, shape.side_rise, shape.side_rise - shape.front_drop)
    forward = _forward(shape, upward)
    taper = _taper(shape, forward, upward, height)
    lines = _at(shape, forward, upward, taper, TURN)
    up = (height / lines.square)[:, None]
    if ((lines.slope + up * lines.line_slope) * lines.tangent).sum(axis=1).min() <= 0.0:
        raise _no_neck(shape, "it would close up before its girth is reached")
    return NeckSurface(shape, height, forward, upward, taper, lines)


def _girth_over(lines: Lines, heights: FloatArray, rises: FloatArray) -> float:
    """The whole girth (cm) so high over the ring, square to it, where that height changes by
    ``rises`` with the angle."""
    up = heights / lines.square
    slope = (rises - up * lines.square_slope) / lines.square
    return 2.0 * float(lines.lengths(up, slope) @ STEP)


def _forward(shape: NeckShape, upward: FloatArray) -> FloatArray:
    """How far forward side and front neck point lie, so that back and front part of the ring have
    their lengths: by Newton's method in both."""
    half = shape.base_girth / 2.0
    wanted = np.array([shape.back_share, 1.0 - shape.back_share]) * half
    middle = len(TURN) // 2

    def lengths(place: FloatArray) -> FloatArray:
        slope = ring_slope(
            shape.half_width, through(0.0, place[0], place[0] + place[1]), upward, TURN
        )
        steps = np.linalg.norm(slope, axis=1) * STEP
        return np.array([steps[:middle].sum(), steps[middle:].sum()])

    place = np.full(2, 0.3 * half)
    for _ in range(_ROUNDS):
        off = lengths(place) - wanted
        if np.abs(off).max() < ARC:
            break
        close = 1e-6
        change = np.column_stack(
            [(lengths(place + close * unit) - wanted - off) / close for unit in np.eye(2)]
        )
        step = np.linalg.solve(change, off)
        place = np.maximum(place - step, 0.25 * place)
    else:
        raise _no_neck(shape, "its front neck point lies too low for the length of its front")
    back, front = place
    if not back + front > 0.0 or not 1.0 / 3.0 <= back / front <= 3.0:
        raise _no_neck(shape, "its back and front part do not make one ring")
    return through(0.0, back, back + front)


def _at(
    shape: NeckShape, forward: FloatArray, upward: FloatArray, taper: float, turn: FloatArray
) -> Lines:
    return lines_of(shape.half_width, forward, upward, shape.lean, taper, turn)


def _taper(shape: NeckShape, forward: FloatArray, upward: FloatArray, height: float) -> float:
    """The angle by which all lines lean in, so that the neck has its girth at the height."""
    girth, level, none = shape.girth_at(height), np.full_like(TURN, height), np.zeros_like(TURN)

    def over(taper: float) -> float:
        return _girth_over(_at(shape, forward, upward, taper, TURN), level, none) - girth

    most = neck_figures()["taper_most"]
    if over(-most) < 0.0 or over(most) > 0.0:
        raise _no_neck(
            shape,
            f"it would narrow by more than {degrees(most):.0f} degrees on {length(height)} of "
            "height",
        )
    return root_between(over, -most, most, xtol=1e-13)


def _refuse(shape: NeckShape) -> None:
    figures = neck_figures()
    low, high = figures["back_share_least"], figures["back_share_most"]
    if not low <= shape.back_share <= high:
        raise _no_neck(
            shape,
            f"{100 * shape.back_share:.0f} of 100 parts of the neckline lie behind the shoulder; "
            f"{100 * low:.0f} to {100 * high:.0f} make a neck",
        )


def _no_neck(shape: NeckShape, why: str) -> DraftError:
    return DraftError(
        Problem(
            f"these measurements make no neck: {why}",
            key="measurements.collar_top_girth",
            got=f"neck base {length(shape.base_girth)}, neck {length(shape.top_girth)} at a height "
            f"of {length(shape.top_height)}",
            advice="Measure neck base girth, neck girth, and the neck girth at the collar's top "
            "with its height again.",
        )
    )
