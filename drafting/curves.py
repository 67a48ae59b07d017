"""The one curve of the drafting table: a planar B-spline, degree 1 (straight) or 3 (curved).

Parameters ``t`` run over ``curve.span``. Lengths in centimetres, angles in radians, positive
offsets to the right of the direction of travel: outward on an outline walked counter-clockwise.
Arc lengths are integrated by Gauss-Legendre on each knot span, halved until two
levels agree; for a cubic piece without a cusp that is exact to about 1e-10 cm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import pi

import numpy as np
from scipy.interpolate import BSpline, make_interp_spline
from scipy.optimize import brentq

from drafting.errors import DraftError, Problem
from drafting.points import FloatArray, Move, Point, array, crossing
from drafting.tolerances import ARC, FLATTEN, SAME_POINT

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_MAX_HALVINGS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A planar B-spline: ``degree`` 1 or 3, ``knots`` (n + degree + 1), ``controls`` (n, 2).

    The knots are clamped, so the curve starts at its first control and ends at its last.
    """

    degree: int
    knots: FloatArray
    controls: FloatArray

    def __post_init__(self) -> None:
        count = len(self.controls)
        if self.degree not in (1, 3) or count <= self.degree:
            raise ValueError(f"a curve of degree {self.degree} cannot have {count} controls")
        if len(self.knots) != count + self.degree + 1 or np.any(np.diff(self.knots) < 0):
            raise ValueError("knots must rise and number controls + degree + 1")
        if not (np.isfinite(self.controls).all() and np.isfinite(self.knots).all()):
            raise ValueError("a curve's controls must be finite")
        self.knots.setflags(write=False)
        self.controls.setflags(write=False)

    # ---- evaluation -------------------------------------------------------------------------

    @property
    def span(self) -> tuple[float, float]:
        """First and last parameter."""
        return float(self.knots[self.degree]), float(self.knots[-self.degree - 1])

    def _spline(self) -> BSpline:
        return BSpline.construct_fast(self.knots, self.controls, self.degree)

    def xy(self, t: FloatArray | Sequence[float]) -> FloatArray:
        """Points at many parameters, shape (n, 2)."""
        return np.asarray(self._spline()(np.asarray(t, dtype=np.float64)), dtype=np.float64)

    def at(self, t: float) -> Point:
        """The point at a parameter."""
        x, y = self._spline()(t)
        return Point(float(x), float(y))

    @property
    def start(self) -> Point:
        """First point."""
        return Point(float(self.controls[0, 0]), float(self.controls[0, 1]))

    @property
    def end(self) -> Point:
        """Last point."""
        return Point(float(self.controls[-1, 0]), float(self.controls[-1, 1]))

    def heading(self, t: float) -> Point:
        """Direction of travel at a parameter, one centimetre long."""
        x, y = self._spline()(t, nu=1)
        step = Point(float(x), float(y))
        if abs(step) < 1e-12:  # a doubled control at an end: look along the chord instead
            first, last = self.span
            nudge = (last - first) * 1e-6
            step = self.at(min(t + nudge, last)) - self.at(max(t - nudge, first))
        return step.unit

    @property
    def start_heading(self) -> Point:
        """Direction of travel at the start."""
        return self.heading(self.span[0])

    @property
    def end_heading(self) -> Point:
        """Direction of travel at the end."""
        return self.heading(self.span[1])

    def curvature(self, t: FloatArray | Sequence[float]) -> FloatArray:
        """Signed curvature (1/cm) at parameters; positive where the curve turns left."""
        values = np.asarray(t, dtype=np.float64)
        if self.degree == 1:
            return np.zeros_like(values)
        spline = self._spline()
        d1, d2 = spline(values, nu=1), spline(values, nu=2)
        cross = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
        speed = np.maximum(np.hypot(d1[:, 0], d1[:, 1]), 1e-12)
        return np.asarray(cross / speed**3, dtype=np.float64)

    def samples(self, per_span: int = 16) -> FloatArray:
        """Parameters spread over every knot span, ends included."""
        breaks = np.unique(self.knots)
        steps = np.linspace(0.0, 1.0, per_span, endpoint=False)
        inner = (breaks[:-1, None] + np.diff(breaks)[:, None] * steps).ravel()
        return np.append(inner, breaks[-1])

    # ---- length -----------------------------------------------------------------------------

    @property
    def length(self) -> float:
        """Arc length, centimetres."""
        return self.length_between(*self.span)

    def length_to(self, t: float) -> float:
        """Arc length from the start to a parameter."""
        return self.length_between(self.span[0], t)

    def length_between(self, t0: float, t1: float) -> float:
        """Arc length between two parameters, ``t0 <= t1``."""
        if self.degree == 1:
            inner = self.knots[(self.knots > t0) & (self.knots < t1)]
            xy = self.xy(np.concatenate(([t0], inner, [t1])))
            return float(np.hypot(*np.diff(xy, axis=0).T).sum())
        breaks = np.unique(np.clip(self.knots, t0, t1))
        if len(breaks) < 2:
            return 0.0
        speed = _Speed(self)
        low, high = breaks[:-1], breaks[1:]
        whole = speed.integrals(low, high)
        total = 0.0
        for _ in range(_MAX_HALVINGS):
            middle = 0.5 * (low + high)
            halves = speed.integrals(np.concatenate((low, middle)), np.concatenate((middle, high)))
            finer = halves[: len(low)] + halves[len(low) :]
            rough = np.abs(finer - whole) > ARC
            total += float(finer[~rough].sum())
            if not rough.any():
                return total
            low, high, middle = low[rough], high[rough], middle[rough]
            left, right = halves[: len(rough)][rough], halves[len(rough) :][rough]
            low, high = np.concatenate((low, middle)), np.concatenate((middle, high))
            whole = np.concatenate((left, right))
        return total + float(whole.sum())

    def t_at_length(self, length: float) -> float:
        """The parameter at an arc length from the start.

        Raises ``ValueError`` when the curve is shorter.
        """
        first, last = self.span
        whole = self.length
        if not -SAME_POINT <= length <= whole + SAME_POINT:
            raise ValueError(f"{length:.4f} cm lies outside a curve of {whole:.4f} cm")
        if length <= 0.0:
            return first
        if length >= whole:
            return last
        breaks = np.unique(self.knots)
        done = 0.0
        for low, high in pairwise(breaks):
            piece = self.length_between(float(low), float(high))
            if done + piece >= length:
                need = length - done
                return float(
                    brentq(
                        lambda t, low=low, need=need: self.length_between(float(low), t) - need,
                        float(low),
                        float(high),
                        xtol=1e-15,
                        rtol=1e-14,
                    )
                )
            done += piece
        return last

    def at_length(self, length: float) -> Point:
        """The point at an arc length from the start."""
        return self.at(self.t_at_length(length))

    def turning(self) -> float:
        """Total turning from start to end, radians, left positive (no cusps assumed)."""
        if self.degree == 1:
            steps = np.diff(self.controls, axis=0)
            headings = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        else:
            d1 = self._spline()(self.samples(24), nu=1)
            headings = np.unwrap(np.arctan2(d1[:, 1], d1[:, 0]))
        return float(headings[-1] - headings[0])

    # ---- made from this curve ---------------------------------------------------------------

    def moved(self, move: Move) -> Curve:
        """The curve after a rigid move."""
        return Curve(self.degree, self.knots, move.apply(self.controls))

    def reversed(self) -> Curve:
        """The curve walked the other way."""
        return Curve(
            self.degree,
            (self.knots[0] + self.knots[-1]) - self.knots[::-1],
            self.controls[::-1].copy(),
        )

    def split(self, t: float) -> tuple[Curve, Curve]:
        """Two curves that meet at a parameter strictly inside the span."""
        first, last = self.span
        if not first < t < last:
            raise ValueError(f"cannot split at {t}: the curve runs from {first} to {last}")
        there = int(np.sum(self.knots == t))
        spline = self._spline()
        if there < self.degree:
            spline = spline.insert_knot(t, self.degree - there)
        knots = np.asarray(spline.t, dtype=np.float64)
        controls = np.asarray(spline.c, dtype=np.float64)
        knots, controls = knots[: len(controls) + self.degree + 1], controls
        at = int(np.searchsorted(knots, t, side="left"))
        cut = at - 1
        left = Curve(
            self.degree,
            np.append(knots[: at + self.degree], t),
            controls[: cut + 1].copy(),
        )
        right = Curve(self.degree, np.insert(knots[at:], 0, t), controls[cut:].copy())
        return left, right

    def split_at_length(self, length: float) -> tuple[Curve, Curve]:
        """Two curves that meet at an arc length strictly inside the curve."""
        return self.split(self.t_at_length(length))

    def part(self, s0: float, s1: float) -> Curve:
        """The stretch between two arc lengths from the start."""
        whole = self.length
        curve = self if s1 >= whole - SAME_POINT else self.split_at_length(s1)[0]
        return curve if s0 <= SAME_POINT else curve.split_at_length(s0)[1]

    def beziers(self) -> Iterator[tuple[Point, ...]]:
        """The same curve as Bezier pieces: four points each (two for straight ones)."""
        spline = self._spline()
        values, counts = np.unique(self.knots, return_counts=True)
        for t, count in zip(values[1:-1], counts[1:-1], strict=True):
            if count < self.degree:
                spline = spline.insert_knot(float(t), int(self.degree - count))
        controls = np.asarray(spline.c, dtype=np.float64)
        pieces = len(values) - 1
        for k in range(pieces):
            piece = controls[k * self.degree : k * self.degree + self.degree + 1]
            yield tuple(Point(float(x), float(y)) for x, y in piece)

    def flatten(self, tolerance: float = FLATTEN) -> FloatArray:
        """Points of a polyline that stays within ``tolerance`` (cm) of the curve, shape (n, 2).

        The bound is the second-derivative bound of each Bezier piece, so it holds, and is safe.
        """
        rows: list[FloatArray] = []
        for piece in self.beziers():
            control = array(piece)
            if self.degree == 1:
                rows.append(control[:1])
                continue
            bend = 6.0 * np.max(np.hypot(*np.diff(control, n=2, axis=0).T))
            count = max(1, int(np.ceil(np.sqrt(bend / (8.0 * tolerance)))))
            t = np.linspace(0.0, 1.0, count, endpoint=False)[:, None]
            s = 1.0 - t
            rows.append(
                s**3 * control[0]
                + 3 * s**2 * t * control[1]
                + 3 * s * t**2 * control[2]
                + t**3 * control[3]
            )
        rows.append(self.controls[-1:])
        return np.vstack(rows)

    def offset_points(self, distance: float, tolerance: float = FLATTEN) -> FloatArray:
        """Points of the parallel curve ``distance`` to the right of travel, shape (n, 2)."""
        t = _fine_parameters(self, tolerance, distance)
        d1 = self._spline()(t, nu=1) if self.degree == 3 else None
        if d1 is None:
            rows = []
            for a, b in zip(self.controls[:-1], self.controls[1:], strict=True):
                step = (b - a) / max(float(np.hypot(*(b - a))), 1e-300)
                shift = np.array([step[1], -step[0]]) * distance
                rows += [a + shift, b + shift]
            return np.vstack(rows)
        speed = np.maximum(np.hypot(d1[:, 0], d1[:, 1]), 1e-12)
        normal = np.column_stack((d1[:, 1], -d1[:, 0])) / speed[:, None]
        return self.xy(t) + distance * normal

    def nearest(self, p: Point) -> tuple[float, float]:
        """Parameter and distance of the point of the curve nearest to ``p``."""
        t = self.samples(32)
        gaps = np.hypot(*(self.xy(t) - (p.x, p.y)).T)
        k = int(np.argmin(gaps))
        low, high = float(t[max(k - 1, 0)]), float(t[min(k + 1, len(t) - 1)])
        golden = (5**0.5 - 1) / 2
        for _ in range(60):
            a, b = high - golden * (high - low), low + golden * (high - low)
            if self.at(a).to(p) < self.at(b).to(p):
                high = b
            else:
                low = a
        best = 0.5 * (low + high)
        return best, self.at(best).to(p)


class _Speed:
    """Speed of travel, integrated over many parameter spans at once."""

    def __init__(self, curve: Curve) -> None:
        self._rate = curve._spline().derivative()

    def integrals(self, low: FloatArray, high: FloatArray) -> FloatArray:
        half = 0.5 * (high - low)
        t = (0.5 * (low + high))[:, None] + half[:, None] * _NODES
        step = self._rate(t.ravel())
        speed = np.hypot(step[:, 0], step[:, 1]).reshape(t.shape)
        return np.asarray((speed @ _WEIGHTS) * half, dtype=np.float64)


def _fine_parameters(curve: Curve, tolerance: float, distance: float) -> FloatArray:
    size = max(curve.length, SAME_POINT)
    t = curve.samples(48)
    bend = float(np.max(np.abs(curve.curvature(t)))) if curve.degree == 3 else 0.0
    reach = size * (1.0 + abs(distance) * bend)
    per_span = int(np.ceil(np.sqrt(reach * reach * max(bend, 1e-6) / (8 * tolerance)))) + 4
    return curve.samples(min(max(per_span, 12), 400))


# ---- drawing curves ---------------------------------------------------------------------------


@lru_cache(maxsize=64)
def _clamped(degree: int, count: int) -> tuple[float, ...]:
    inner = count - degree - 1
    return (
        (0.0,) * (degree + 1)
        + tuple(float(k) for k in range(1, inner + 1))
        + (float(inner + 1),) * (degree + 1)
    )


def polyline(points: Sequence[Point]) -> Curve:
    """Straight lines through points."""
    return Curve(1, np.array(_clamped(1, len(points))), array(points))


def line(a: Point, b: Point) -> Curve:
    """A straight edge."""
    return polyline((a, b))


def bezier(p0: Point, p1: Point, p2: Point, p3: Point) -> Curve:
    """One cubic piece by its four control points."""
    return Curve(3, np.array(_clamped(3, 4)), array((p0, p1, p2, p3)))


def through(points: Sequence[Point], start: Point | None = None, end: Point | None = None) -> Curve:
    """A cubic spline, smooth to its curvature, through points in order.

    ``start`` and ``end`` are directions of travel; where none is given the end is left free
    (no curvature there). Raises :class:`DraftError` when two neighbours coincide.
    """
    xy = array(points)
    steps = np.hypot(*np.diff(xy, axis=0).T)
    if len(points) < 2 or np.any(steps < SAME_POINT):
        raise DraftError(
            Problem("a curve needs at least two guide points, none of them twice", got=str(points))
        )
    t = np.concatenate(([0.0], np.cumsum(steps)))
    left = [(2, np.zeros(2))] if start is None else [(1, array([start.unit])[0])]
    right = [(2, np.zeros(2))] if end is None else [(1, array([end.unit])[0])]
    spline = make_interp_spline(t, xy, k=3, bc_type=(left, right))  # type: ignore[arg-type]
    controls = np.array(spline.c, dtype=np.float64)
    controls[0], controls[-1] = xy[0], xy[-1]
    return Curve(3, np.array(spline.t, dtype=np.float64), controls)


def tangent_cubic(p: Point, start: Point, q: Point, end: Point, reach: float, back: float) -> Curve:
    """One cubic from ``p`` leaving along ``start`` to ``q`` arriving along ``end``; ``reach`` and
    ``back`` (cm) are the lengths of its two handles."""
    return bezier(p, p + start.unit * reach, q - end.unit * back, q)


def corner(p: Point, start: Point, q: Point, end: Point, guide: Point | float) -> Curve:
    """A cubic that rounds the corner between two end directions, bending one way only.

    Both handles go the same share of the way to where the end directions cross. ``guide`` is that
    share, or a point the curve is to pass through. Raises :class:`DraftError` when the directions
    do not cross ahead, or when no such curve passes through the guide point.
    """
    apex = crossing(p, start, q, end)
    if apex is None or (apex - p).dot(start) <= 0 or (q - apex).dot(end) <= 0:
        raise DraftError(Problem("the end directions of a curve do not meet between its ends"))
    share = guide if isinstance(guide, float) else _share_through(p, apex, q, guide)
    return bezier(p, p.towards(apex, share), q.towards(apex, share), q)


def _share_through(p: Point, apex: Point, q: Point, guide: Point) -> float:
    """The handle share with which a corner passes through a guide point.

    In the slanted axes apex-to-p and apex-to-q every such cubic has the same two coordinates, so
    one root in t is left.
    """
    to_p, to_q, g = p - apex, q - apex, guide - apex
    area = to_p.cross(to_q)
    u, v = g.cross(to_q) / area, to_p.cross(g) / area  # shares of the way back to p and to q

    def shares(t: float) -> tuple[float, float]:
        s = 1.0 - t
        return (
            1.0 - (v - t**3) / (3 * s * t * t),
            1.0 - (u - s**3) / (3 * t * s * s),
        )

    grid = np.linspace(0.02, 0.98, 97)
    gaps = [shares(float(t))[0] - shares(float(t))[1] for t in grid]
    for a, b, ga, gb in zip(grid[:-1], grid[1:], gaps[:-1], gaps[1:], strict=True):
        if ga * gb <= 0:
            t = float(brentq(lambda t: shares(t)[0] - shares(t)[1], float(a), float(b), xtol=1e-14))
            share = shares(t)[0]
            if 0.05 <= share <= 0.98:
                return share
    raise DraftError(
        Problem(
            "no smooth curve with these end directions passes through the guide point",
            got=f"guide at ({guide.x:.2f}, {guide.y:.2f})",
        )
    )


def joined(curves: Sequence[Curve]) -> Curve:
    """Curves laid end to end as one (all become cubic when any is).

    Raises ``ValueError`` when an end is farther than ``SAME_POINT`` from the next start.
    """
    degree = max(curve.degree for curve in curves)
    knots: list[FloatArray] = []
    controls: list[FloatArray] = []
    shift = 0.0
    for k, curve in enumerate(_raised(curve, degree) for curve in curves):
        if controls and np.hypot(*(controls[-1][-1] - curve.controls[0])) > SAME_POINT:
            raise ValueError("the curves do not meet end to end")
        first, last = curve.span
        own = curve.knots - first + shift
        shift += last - first
        final = k == len(curves) - 1
        knots.append(own if k == 0 else own[degree + 1 :])
        if not final:
            knots[-1] = knots[-1][:-1]
        controls.append(curve.controls if k == 0 else curve.controls[1:])
    return Curve(degree, np.concatenate(knots), np.vstack(controls))


def _raised(curve: Curve, degree: int) -> Curve:
    if curve.degree == degree:
        return curve
    rows = [curve.controls[:1]]
    for a, b in zip(curve.controls[:-1], curve.controls[1:], strict=True):
        rows.append(np.array([a + (b - a) / 3, a + 2 * (b - a) / 3, b]))
    breaks = np.unique(curve.knots)
    inner = np.repeat(breaks[1:-1], 3)
    knots = np.concatenate((np.repeat(breaks[0], 4), inner, np.repeat(breaks[-1], 4)))
    return Curve(3, knots, np.vstack(rows))


def angle_between(a: Point, b: Point) -> float:
    """Angle from direction ``a`` to direction ``b`` in (-pi, pi]."""
    turn = (b.angle - a.angle + pi) % (2 * pi) - pi
    return pi if turn == -pi else turn
