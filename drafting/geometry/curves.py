"""The one curve of the drafting table: a planar B-spline, degree 1 (straight) or 3 (curved).

Parameters ``t`` run over ``curve.span``. Lengths in centimetres, angles in radians, positive
offsets to the right of the direction of travel: outward on an outline walked counter-clockwise.
Arc lengths are integrated by Gauss-Legendre on each knot span, halved where a cusp is near, and
right to 1e-10 cm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import atan2, isfinite, pi

import numpy as np

from drafting.errors import DraftError, Problem
from drafting.geometry.points import FloatArray, Move, Point, array, crossing
from drafting.geometry.roots import root_between
from drafting.geometry.spans import Spans
from drafting.tolerances import FLATTEN, SAME_POINT

# ---- The controls of a cubic spline through points: one system of equations with three unknowns
# in a row, solved from one end to the other and back


def interpolated(
    t: FloatArray, xy: FloatArray, start: FloatArray | None, end: FloatArray | None
) -> FloatArray:
    """Controls, shape (n + 2, 2), of the cubic B-spline through ``xy`` (n, 2) at rising parameters
    ``t`` (n >= 2), which are its knots, both ends four times.

    ``start`` and ``end`` are rates of travel there; where none is given the end is free: its second
    derivative is nought.
    """
    knots = clamped(t)
    # unknown are the controls 1 to n; controls 0 and n + 1 are the end points
    low, middle, high = np.zeros(t.shape), np.empty(t.shape), np.zeros(t.shape)
    right = np.empty(xy.shape)
    right[1:-1] = xy[1:-1]
    _inner_rows(knots, low, middle, high)
    first, last = knots[4] - knots[3], knots[-4] - knots[-5]
    if start is None:  # both legs of the second derivative at the end are alike
        a, b = 1.0 / first, 1.0 / (knots[5] - knots[3])
        middle[0], high[0], right[0] = a + b, -b, a * xy[0]
    else:
        middle[0], right[0] = 1.0, xy[0] + start * (first / 3.0)
    if end is None:
        a, b = 1.0 / last, 1.0 / (knots[-4] - knots[-6])
        middle[-1], low[-1], right[-1] = a + b, -b, a * xy[-1]
    else:
        middle[-1], right[-1] = 1.0, xy[-1] - end * (last / 3.0)
    return np.concatenate((xy[:1], _swept(low, middle, high, right), xy[-1:]))


def clamped(t: FloatArray) -> FloatArray:
    """Parameters as the knots of a cubic spline through its points: both ends four times."""
    return np.concatenate((t[:1], t[:1], t[:1], t, t[-1:], t[-1:], t[-1:]))


def _inner_rows(knots: FloatArray, low: FloatArray, middle: FloatArray, high: FloatArray) -> None:
    """Shares of three neighbouring controls at each inner knot, by de Boor's recurrence."""
    at = np.arange(4, len(knots) - 4)
    k1, k2, k3, k4, k5 = (knots[at + n] for n in (-2, -1, 0, 1, 2))
    wide = k4 - k2
    before, after = (k4 - k3) / wide, (k3 - k2) / wide
    low[1:-1] = before * (k4 - k3) / (k4 - k1)
    high[1:-1] = after * (k3 - k2) / (k5 - k2)
    middle[1:-1] = 1.0 - low[1:-1] - high[1:-1]


def _swept(
    low: FloatArray, middle: FloatArray, high: FloatArray, right: FloatArray
) -> list[tuple[float, float]]:
    """The unknowns of rows of three, each row's middle one outweighing the others."""
    a, b, c, d = low.tolist(), middle.tolist(), high.tolist(), right.tolist()
    for k in range(1, len(b)):
        share = a[k] / b[k - 1]
        b[k] -= share * c[k - 1]
        d[k] = [d[k][0] - share * d[k - 1][0], d[k][1] - share * d[k - 1][1]]
    x = y = 0.0
    found = []
    for k in range(len(b) - 1, -1, -1):
        x, y = (d[k][0] - c[k] * x) / b[k], (d[k][1] - c[k] * y) / b[k]
        found.append((x, y))
    return found[::-1]


#: A split this close to a knot (as a share of the span beside it) is a split at the knot.
_AT_KNOT = 1e-9
#: Handles of a corner through a guide point reach at least and at most this share of their way.
HANDLE_SHARES = 0.05, 0.98


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A planar B-spline: ``degree`` 1 or 3, ``knots`` (n + degree + 1), ``controls`` (n, 2).

    The knots are clamped, so the curve starts at its first control and ends at its last, and no
    inner knot stands more than ``degree`` times, so it is never torn. Corners are allowed: at one,
    directions are those of the stretch that follows.
    """

    degree: int
    knots: FloatArray
    controls: FloatArray
    _kept: Spans | None = field(default=None, init=False, repr=False)

    def __post_init__(self) -> None:
        count, degree = len(self.controls), self.degree
        if degree not in (1, 3) or count <= degree:
            raise ValueError(f"a curve of degree {degree} cannot have {count} controls")
        knots, controls = np.array(self.knots, np.float64), np.array(self.controls, np.float64)
        if controls.shape != (count, 2) or knots.shape != (count + degree + 1,):
            raise ValueError("knots must number controls + degree + 1, controls be pairs")
        if not (np.isfinite(controls).all() and np.isfinite(knots).all()):
            raise ValueError("a curve's knots and controls must be finite")
        clamped = knots[0] == knots[degree] and knots[-1] == knots[-degree - 1]
        rising = (knots[1:] >= knots[:-1]).all()
        if not (clamped and rising and (knots[1:count] < knots[degree + 1 : -1]).all()):
            raise ValueError("knots must rise, clamped at both ends, no inner one above the degree")
        knots.setflags(write=False)
        controls.setflags(write=False)
        object.__setattr__(self, "knots", knots)
        object.__setattr__(self, "controls", controls)

    @property
    def _spans(self) -> Spans:
        kept = self._kept
        if kept is None:
            kept = Spans(self.degree, self.knots, self.controls)
            object.__setattr__(self, "_kept", kept)
        return kept

    # ---- evaluation -------------------------------------------------------------------------

    @property
    def span(self) -> tuple[float, float]:
        """First and last parameter."""
        return float(self.knots[0]), float(self.knots[-1])

    def xy(self, t: FloatArray | Sequence[float]) -> FloatArray:
        """Points at many parameters, shape (n, 2)."""
        return self._spans.points(*self._spans.spread(np.asarray(t, dtype=np.float64)))

    def at(self, t: float) -> Point:
        """The point at a parameter."""
        return Point(*self._spans.point(*self._spans.find(t)))

    @property
    def start(self) -> Point:
        """First point."""
        return Point(float(self.controls[0, 0]), float(self.controls[0, 1]))

    @property
    def end(self) -> Point:
        """Last point."""
        return Point(float(self.controls[-1, 0]), float(self.controls[-1, 1]))

    def heading(self, t: float) -> Point:
        """Direction of travel at a parameter, one centimetre long.

        Where travel stops (a doubled control, a cusp) it is the direction in which it starts
        again, at the end that in which it came. Raises ``ZeroDivisionError`` for a mere point.
        """
        return Point(*self._spans.rate(*self._spans.find(t))).unit

    def headings(self, t: FloatArray) -> FloatArray:
        """:meth:`heading` at many parameters, shape (n, 2)."""
        right = self._spans.normals(*self._spans.spread(t))
        return np.column_stack((-right[:, 1], right[:, 0]))

    @property
    def start_heading(self) -> Point:
        """Direction of travel at the start."""
        return self.heading(self.span[0])

    @property
    def end_heading(self) -> Point:
        """Direction of travel at the end."""
        return self.heading(self.span[1])

    def curvature(self, t: FloatArray | Sequence[float]) -> FloatArray:
        """Signed curvature (1/cm) at parameters where travel does not stop; positive where the
        curve turns left."""
        k, u = self._spans.spread(np.asarray(t, dtype=np.float64))
        d1, d2 = self._spans.rates_at(k, u), self._spans.bends_at(k, u)
        cross = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
        speed = np.maximum(np.hypot(d1[:, 0], d1[:, 1]), 1e-12)
        return np.asarray(cross / speed**3, dtype=np.float64)

    def samples(self, per_span: int = 16) -> FloatArray:
        """Parameters spread over every knot span, ends included."""
        breaks = self._spans.breaks
        steps = np.linspace(0.0, 1.0, per_span, endpoint=False)
        inner = (breaks[:-1, None] + np.diff(breaks)[:, None] * steps).ravel()
        return np.append(inner, breaks[-1])

    # ---- length -----------------------------------------------------------------------------

    @property
    def length(self) -> float:
        """Arc length, centimetres."""
        return float(self._spans.ends[-1])

    def length_to(self, t: float) -> float:
        """Arc length from the start to a parameter."""
        return self.length_between(self.span[0], t)

    def lengths_to(self, t: FloatArray) -> FloatArray:
        """:meth:`length_to` for many parameters of the span."""
        spans = self._spans
        k, u = spans.spread(t)
        return np.asarray(spans.ends[k] + spans.arcs(k, np.zeros_like(u), u), dtype=np.float64)

    def length_between(self, t0: float, t1: float) -> float:
        """Arc length between two parameters of the span, ``t0 <= t1``."""
        first, last = self.span
        if not t0 <= t1:
            raise ValueError(f"no length from {t0} back to {t1}")
        spans = self._spans
        (k0, u0), (k1, u1) = (spans.find(min(max(t, first), last)) for t in (t0, t1))
        if k0 == k1:
            return spans.arc(k0, u0, u1)
        between = float(spans.ends[k1] - spans.ends[k0 + 1])
        return spans.arc(k0, u0, 1.0) + between + spans.arc(k1, 0.0, u1)

    def t_at_length(self, length: float) -> float:
        """The parameter at an arc length from the start.

        Raises ``ValueError`` when the curve is shorter.
        """
        whole = self.length
        if not -SAME_POINT <= length <= whole + SAME_POINT:
            raise ValueError(f"{length:.4f} cm lies outside a curve of {whole:.4f} cm")
        if length <= 0.0:
            return self.span[0]
        if length >= whole:
            return self.span[1]
        return self._spans.parameter(*self._spans.at_length(length))

    def ts_at_lengths(self, lengths: FloatArray) -> FloatArray:
        """:meth:`t_at_length` for many arc lengths. Those outside count as the end beside them."""
        return self._spans.parameters(*self._spans.at_lengths(np.clip(lengths, 0.0, self.length)))

    def at_length(self, length: float) -> Point:
        """The point at an arc length from the start."""
        return self.at(self.t_at_length(length))

    def turning(self) -> float:
        """Total turning from start to end, radians, left positive (no cusps assumed)."""
        return self._spans.turning()

    # ---- made from this curve ---------------------------------------------------------------

    def moved(self, move: Move) -> Curve:
        """The curve after a rigid move."""
        return _sound(self.degree, self.knots, move.apply(self.controls))

    def reversed(self) -> Curve:
        """The curve walked the other way, over the same span."""
        knots = (self.knots[0] + self.knots[-1]) - self.knots[::-1]
        return Curve(self.degree, knots, self.controls[::-1])

    def split(self, t: float) -> tuple[Curve, Curve]:
        """Two curves that meet at a parameter strictly inside the span.

        A parameter within a billionth of a span from a knot counts as the knot, so that neither
        curve gets a sliver without direction.
        """
        degree, knots = self.degree, self.knots
        if knots[0] < t < knots[-1]:
            above = int(np.searchsorted(knots, t, "right"))
            low, high = float(knots[above - 1]), float(knots[above])
            near = _AT_KNOT * (high - low)
            t = low if t - low < near else high if high - t < near else t
        if not knots[0] < t < knots[-1]:
            first, last = self.span
            raise ValueError(f"cannot split at {t}: the curve runs from {first} to {last}")
        before, upto = (int(np.searchsorted(knots, t, side)) for side in ("left", "right"))
        # de Boor's triangle, as far as the knots that already stand at t leave it to be done
        row = self.controls[upto - 1 - degree : before]
        left, right = [self.controls[: upto - degree]], [self.controls[before - 1 :]]
        for level in range(1, degree - (upto - before) + 1):
            lower = knots[upto - 1 - degree + level : before]
            upper = knots[upto : upto + len(lower)]
            share = ((t - lower) / (upper - lower))[:, None]
            row = (1.0 - share) * row[:-1] + share * row[1:]
            left.append(row[:1])
            right.insert(0, row[-1:])
        middle = np.full(degree + 1, t)
        return (
            Curve(degree, np.concatenate((knots[:before], middle)), np.concatenate(left)),
            Curve(degree, np.concatenate((middle, knots[upto:])), np.concatenate(right)),
        )

    def split_at_length(self, length: float) -> tuple[Curve, Curve]:
        """Two curves that meet at an arc length strictly inside the curve."""
        return self.split(self.t_at_length(length))

    def part(self, s0: float, s1: float) -> Curve:
        """The stretch between two arc lengths from the start, ``s0 < s1``.

        Raises ``ValueError`` when it would reach beyond the curve or have no length.
        """
        whole = self.length
        if not (-SAME_POINT <= s0 < s1 - SAME_POINT and s1 <= whole + SAME_POINT):
            raise ValueError(f"no stretch from {s0:.4f} to {s1:.4f} on a curve of {whole:.4f} cm")
        curve = self
        if s1 < whole - SAME_POINT:
            curve = self.split_at_length(s1)[0]
        return curve if s0 <= SAME_POINT else curve.split(self.t_at_length(s0))[1]

    def beziers(self) -> Iterator[tuple[Point, ...]]:
        """The same curve as Bezier pieces: four points each (two for straight ones)."""
        for piece in self._spans.beziers.tolist():
            yield tuple([Point(x, y) for x, y in piece])

    def flatten(self, tolerance: float = FLATTEN) -> FloatArray:
        """Points of a polyline that stays within ``tolerance`` (cm) of the curve, shape (n, 2).

        The bound is that of the second derivative of each Bezier piece, so it always holds.
        """
        _positive(tolerance)
        if self.degree == 1:
            before, after = self.controls[:-1], self.controls[1:]
            return np.vstack((before + 0.0 * after, after[-1:]))  # noughts signed as on a cubic
        legs = np.diff(self._spans.beziers, n=2, axis=1)
        bend = 6.0 * np.hypot(legs[..., 0], legs[..., 1]).max(axis=1, initial=0.0)
        counts = np.maximum(np.ceil(np.sqrt(bend / (8.0 * tolerance))), 1.0).astype(np.intp)
        k = np.repeat(np.arange(len(counts)), counts)
        u = (np.arange(len(k)) - (np.cumsum(counts) - counts)[k]) / counts[k]
        return np.vstack((self._spans.points(k, u), self.controls[-1:]))

    def offset_points(self, distance: float, tolerance: float = FLATTEN) -> FloatArray:
        """Points of the parallel curve ``distance`` to the right of travel, shape (n, 2).

        As a polyline they stay within ``tolerance`` of it. At a corner both shifted ends stand,
        joined by nothing rounder. Left and right at one distance have points at the same places.
        """
        at, step = self.beside(distance, tolerance)
        points: FloatArray = at + distance * step
        return points

    def beside(self, distance: float, tolerance: float = FLATTEN) -> tuple[FloatArray, FloatArray]:
        """Places on the curve and steps of one centimetre to the right of travel there, both of
        shape (n, 2), from which :meth:`offset_points` takes the parallels on either side."""
        _positive(tolerance)
        spans = self._spans
        k, u = spans.stations(abs(distance), tolerance)
        normal = spans.normals(k, u)
        if len(k) == 0:
            raise ValueError("a curve without length has no parallel")
        turned = np.hypot(*(normal[1:] - normal[:-1]).T) > 1e-6
        kept = np.concatenate(((u[:-1] < 1.0) | turned, [True]))
        return spans.points(k[kept], u[kept]), normal[kept]

    def nearest(self, p: Point) -> tuple[float, float]:
        """Parameter and distance of the point of the curve nearest to ``p``."""
        t, distance = self.nearest_to(array((p,)))
        return float(t[0]), float(distance[0])

    def nearest_to(self, xy: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Parameters and distances of the points of the curve nearest to points (n, 2)."""
        k, u, distance = self._spans.nearest(xy)
        return self._spans.parameters(k, u), distance


def _positive(tolerance: float) -> None:
    if not tolerance > 0.0:
        raise ValueError(f"a polyline cannot keep to a curve within {tolerance} cm")


# ---- drawing curves ---------------------------------------------------------------------------


@lru_cache(maxsize=64)
def _clamped(degree: int, count: int) -> FloatArray:
    last = count - degree
    knots = np.concatenate((np.zeros(degree), np.arange(last + 1.0), np.full(degree, last)))
    knots.setflags(write=False)
    return knots


def _sound(degree: int, knots: FloatArray, controls: FloatArray) -> Curve:
    """A curve on knots that are a curve's already, with controls that nobody else has: only these
    are looked at, which takes a third of the time."""
    if not isfinite(controls.sum()):
        return Curve(degree, knots, controls)
    controls.setflags(write=False)
    curve = object.__new__(Curve)
    for name, value in (("degree", degree), ("knots", knots), ("controls", controls)):
        object.__setattr__(curve, name, value)
    object.__setattr__(curve, "_kept", None)
    return curve


def polyline(points: Sequence[Point]) -> Curve:
    """Straight lines through points."""
    if len(points) < 2:
        raise ValueError("a straight line runs through two points or more")
    return _sound(1, _clamped(1, len(points)), array(points))


def line(a: Point, b: Point) -> Curve:
    """A straight edge."""
    return polyline((a, b))


def bezier(p0: Point, p1: Point, p2: Point, p3: Point) -> Curve:
    """One cubic piece by its four control points."""
    return _sound(3, _clamped(3, 4), array((p0, p1, p2, p3)))


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
    knots = np.concatenate((np.zeros(3), t, np.full(3, t[-1])))
    return Curve(3, knots, interpolated(t, xy, _slope(start), _slope(end)))


def _slope(way: Point | None) -> FloatArray | None:
    return None if way is None else array([way.unit])[0]


def tangent_cubic(p: Point, start: Point, q: Point, end: Point, reach: float, back: float) -> Curve:
    """One cubic from ``p`` leaving along ``start`` to ``q`` arriving along ``end``; ``reach`` and
    ``back`` (cm) are the lengths of its two handles."""
    return bezier(p, p + start.unit * reach, q - end.unit * back, q)


def corner(p: Point, start: Point, q: Point, end: Point, guide: Point | float) -> Curve:
    """A cubic that rounds the corner between two end directions, bending one way only.

    Both handles go the same share of the way to where the end directions cross. ``guide`` is that
    share, above 0 and up to 1, or a point the curve is to pass through. Raises
    :class:`DraftError` when the directions do not cross ahead, when the share is no such share,
    or when no such curve (of a share from 0.05 to 0.98) passes through the guide point.
    """
    apex = crossing(p, start, q, end)
    if apex is None or (apex - p).dot(start) <= 0 or (q - apex).dot(end) <= 0:
        raise DraftError(Problem("the end directions of a curve do not meet between its ends"))
    share = _share_through(p, apex, q, guide) if isinstance(guide, Point) else guide
    if not 0.0 < share <= 1.0:
        raise DraftError(
            Problem(
                "the handles of a rounded corner end between its ends and the corner",
                got=f"{share:g}",
                accepted="above 0 and up to 1",
            )
        )
    return bezier(p, p.towards(apex, share), q.towards(apex, share), q)


def _share_through(p: Point, apex: Point, q: Point, guide: Point) -> float:
    """The handle share with which a corner passes through a guide point.

    In the slanted axes apex-to-p and apex-to-q the curve is ``u = s^3 + 3 s^2 t (1 - share)`` and
    ``v = t^3 + 3 s t^2 (1 - share)`` with ``s = 1 - t``. Without the share that is one cubic in
    ``t``, which has just one root between 0 and 1 when the guide lies within the corner.
    """
    to_p, to_q, g = p - apex, q - apex, guide - apex
    area = to_p.cross(to_q)
    u, v = g.cross(to_q) / area, to_p.cross(g) / area  # shares of the way back to p and to q
    if u > 0.0 and v > 0.0:
        t = root_between(lambda t: ((2 * t - 3) * t + 1 - u - v) * t + v, 0.0, 1.0, xtol=1e-15)
        share = (1.0 - u - v) / (3 * t * (1.0 - t))
        if HANDLE_SHARES[0] <= share <= HANDLE_SHARES[1]:
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
    if not curves:
        raise ValueError("there are no curves to join")
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
    a, b = curve.controls[:-1], curve.controls[1:]
    inner = np.stack((a + (b - a) / 3, a + 2 * (b - a) / 3, b), axis=1).reshape(-1, 2)
    knots = np.concatenate((curve.knots[1:2], np.repeat(curve.knots[1:-1], 3), curve.knots[-2:-1]))
    return Curve(3, knots, np.vstack((a[:1], inner)))


def angle_between(a: Point, b: Point) -> float:
    """Angle from direction ``a`` to direction ``b`` in (-pi, pi]."""
    turn = atan2(a.cross(b), a.dot(b))
    return pi if turn == -pi else turn
