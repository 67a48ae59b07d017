"""The polynomial pieces of a curve: where they lie, how fast they run, how long they are.

Every piece is held by its Bezier points and by its hodograph, the quadratic Bezier of its rate of
travel, over a parameter ``u`` from 0 to 1. Bernstein form keeps the ends of pieces exact.
"""

from __future__ import annotations

from bisect import bisect_right
from cmath import sqrt
from collections.abc import Sequence
from math import hypot, inf

import numpy as np

from drafting.geometry.closest_point import LOOKS, IntArray, nearest_curved, nearest_straight
from drafting.geometry.points import FloatArray
from drafting.tolerances import ARC

# ---- How long pieces of a curve are, by the rates at which they are travelled

#: A hodograph: three rates, each by x and y.
_Row = Sequence[Sequence[float]]


def _rule(count: int) -> tuple[FloatArray, FloatArray]:
    """Quadratic Bernstein basis at the nodes of Gauss-Legendre on [0, 1], and the weights there."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    u = 0.5 * (1.0 + nodes)
    return np.array([(1 - u) ** 2, 2 * u * (1 - u), u**2]), 0.5 * weights


#: A rule of n nodes is right to about r^-2n where no zero of the speed lies within the ellipse
#: whose half axes add up to r: each of these to 2^-48.
_RULES = tuple((2.0 ** (24 / count), _rule(count)) for count in (12, 16, 24))
#: Rules for pieces that hardly bend: the fewest nodes, the farthest zeros.
_EASY_RULES = tuple((2.0 ** (24 / count), _rule(count)) for count in (4, 6, 8, 12))
#: The clearance of what does not move.
_STANDS = 1e300
_FEW = 4  # pieces that are quicker looked at one by one
_DEPTH = 40  # halvings of a stretch for its length; reached only by what is shorter than any thread
#: Rates below this (cm per piece) are rounding: a doubled control, a cusp.
STILL = 1e-12


def lengths(rates: FloatArray) -> FloatArray:
    """Integrals of speed over pieces by their hodographs, shape (m, 3, 2), right to 1e-10.

    Where no zero of the speed is near, few nodes do. A stretch is halved as long as a cusp, or
    nearly one, is so close that Gauss-Legendre would blur it; two rules that agree would be no
    proof, for there they may agree by chance.
    """
    if len(rates) > _FEW:
        easy = _least_clearance(rates)
        for least, rule in _EASY_RULES:
            if easy >= least:
                return _speeds(rates, rule)
    clear = _clearances(rates)
    worst = min(clear, default=_STANDS) if len(rates) <= _FEW else float(np.min(clear))
    for least, rule in _RULES:
        if worst >= least:
            return _speeds(rates, rule)
    found, far = np.zeros(len(rates)), np.asarray(clear)
    most = inf
    for least, rule in _RULES:
        some = np.flatnonzero((far >= least) & (far < most))
        if len(some):
            found[some] = _speeds(rates[some], rule)
        most = least
    blurred = np.flatnonzero(far < most)
    if len(blurred):
        few = len(blurred) <= _FEW
        halved = _of_few_halves(rates[blurred].tolist()) if few else _of_halves(rates[blurred])
        found[blurred] = halved
    return found


def _of_halves(rates: FloatArray) -> FloatArray:
    """Lengths of stretches that are blurred as a whole, from their halves."""
    found, owner = np.zeros(len(rates)), np.arange(len(rates))
    for _ in range(_DEPTH - 1):
        first, second = 0.5 * (rates[:, 0] + rates[:, 1]), 0.5 * (rates[:, 1] + rates[:, 2])
        middle = 0.25 * (first + second)
        left = np.stack((0.5 * rates[:, 0], 0.5 * first, middle), axis=1)
        right = np.stack((middle, 0.5 * second, 0.5 * rates[:, 2]), axis=1)
        rates, owner = np.concatenate((left, right)), np.concatenate((owner, owner))
        clear = np.asarray(_clearances(rates))  # what is left at the depth allowed has no length
        most = inf
        for least, rule in _RULES:
            some = (clear >= least) & (clear < most)
            np.add.at(found, owner[some], _speeds(rates[some], rule))
            most = least
        blurred = clear < most
        if not blurred.any():
            break
        rates, owner = rates[blurred], owner[blurred]
    return found


def _of_few_halves(rows: Sequence[_Row]) -> list[float]:
    """:func:`_of_halves` of few stretches, without the weight of arrays."""
    found, owner = [0.0] * len(rows), list(range(len(rows)))
    for _ in range(_DEPTH - 1):
        left, right = zip(*(_halves(row) for row in rows), strict=True)
        rows, owner = [*left, *right], owner * 2
        clear = list(_clearances(np.array(rows)))  # what is left at the depth allowed has no length
        most = inf
        for least, rule in _RULES:
            some = [k for k, at in enumerate(clear) if least <= at < most]
            if some:
                whole = _speeds(np.array([rows[k] for k in some]), rule).tolist()
                for k, length in zip(some, whole, strict=True):
                    found[owner[k]] += length
            most = least
        blurred = [k for k, at in enumerate(clear) if at < most]
        if not blurred:
            break
        rows, owner = [rows[k] for k in blurred], [owner[k] for k in blurred]
    return found


def _halves(row: _Row) -> tuple[_Row, _Row]:
    """The hodographs of both halves of a stretch, each over a ``u`` from 0 to 1 of its own."""
    (ax, ay), (bx, by), (cx, cy) = row
    ab_x, ab_y, bc_x, bc_y = 0.5 * (ax + bx), 0.5 * (ay + by), 0.5 * (bx + cx), 0.5 * (by + cy)
    middle = 0.25 * (ab_x + bc_x), 0.25 * (ab_y + bc_y)
    left = (0.5 * ax, 0.5 * ay), (0.5 * ab_x, 0.5 * ab_y), middle
    return left, (middle, (0.5 * bc_x, 0.5 * bc_y), (0.5 * cx, 0.5 * cy))


def _speeds(rates: FloatArray, rule: tuple[FloatArray, FloatArray]) -> FloatArray:
    basis, weights = rule
    x, y = rates[..., 0] @ basis, rates[..., 1] @ basis
    return np.asarray(np.sqrt(x * x + y * y) @ weights, dtype=np.float64)


def _least_clearance(rates: FloatArray) -> float:
    """A bound that no :func:`_clearances` of pieces is below, quick to tell and near enough where
    they hardly bend; nought where it tells nothing."""
    first, second, third = rates[:, 0], rates[:, 1], rates[:, 2]
    far, middle = third - first, first + 2.0 * second + third
    curl = np.abs(middle - 4.0 * second).sum(axis=1)
    way = np.abs(far).sum(axis=1)
    most = np.maximum(np.abs(middle[:, 0]), np.abs(middle[:, 1]))
    # the hodograph is (curl w w + 2 far w + middle) / 4, so it is not nought for a smaller w
    with np.errstate(divide="ignore", invalid="ignore"):
        nearest = float((most / (way + np.sqrt(way * way + curl * most))).min(initial=np.inf))
    return nearest + (nearest * nearest - 1.0) ** 0.5 if nearest > 1.0 else 0.0


def _clearances(rates: FloatArray) -> Sequence[float] | FloatArray:
    """How far the zeros of the speed keep from each stretch, complex ones counted: the sum of the
    half axes of the ellipse about -1 and 1 through the nearest, [0, 1] stretched on to [-1, 1].
    Large where nothing moves.

    The square of the speed is the product of the hodograph, taken as one complex number, and its
    mirror image; so its zeros are those of a quadratic, and theirs mirrored.
    """
    if len(rates) <= _FEW:
        return [_one_clearance(row) for row in rates.tolist()]
    h = rates[..., 0] + 1j * rates[..., 1]
    far, middle = h[:, 2] - h[:, 0], h[:, 0] + 2.0 * h[:, 1] + h[:, 2]
    curl = middle - 4.0 * h[:, 1]  # hodograph: (curl w w + 2 far w + middle) / 4, w from -1 to 1
    root = np.sqrt(far * far - curl * middle)
    one, other = far + root, far - root
    q = -np.where(np.abs(one) > np.abs(other), one, other)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        zeros = np.stack((q / curl, middle / q))
        axes = np.abs(zeros - 1.0) + np.abs(zeros + 1.0)  # from both foci: twice the longer one
        longer = 0.5 * np.fmin(axes[0], axes[1])  # nan for a zero that there is not
        nearest = longer + np.sqrt(np.maximum(longer * longer - 1.0, 0.0))
    nearest = np.fmin(nearest, _STANDS)  # or is too far away for a number
    nearest = np.where(q == 0.0, np.where(curl == 0.0, _STANDS, 1.0), nearest)
    still = np.abs(rates).max(axis=(1, 2)) <= STILL
    return np.asarray(np.where(still, _STANDS, nearest), dtype=np.float64)


def _one_clearance(row: _Row) -> float:
    """:func:`_clearances` of one stretch, which takes a tenth of the time that arrays do."""
    h0, h1, h2 = (complex(x, y) for x, y in row)
    if max(abs(h0), abs(h1), abs(h2)) <= STILL:
        return _STANDS
    far, middle = h2 - h0, h0 + 2.0 * h1 + h2
    curl = middle - 4.0 * h1
    root = sqrt(far * far - curl * middle)
    q = -max(far + root, far - root, key=abs)
    if q == 0.0:
        return _STANDS if curl == 0.0 else 1.0
    nearest = _STANDS
    for zero in (middle / q, *((q / curl,) if curl != 0.0 else ())):
        around = sqrt(zero * zero - 1.0)
        nearest = min(nearest, max(abs(zero + around), abs(zero - around)))
    return nearest


_FINEST = 20  # halvings of a stretch for its parallel; reached only where a cusp turns round
_QUARTERS = np.linspace(0.0, 1.0, 5)[:, None]
_AROUND = np.arange(-2, 3)


class Spans:
    """The pieces of a clamped B-spline of degree 1 or 3, with their lengths once asked for."""

    __slots__ = ("_ends", "_looks", "_table", "beziers", "breaks", "rates")

    def __init__(self, degree: int, knots: FloatArray, controls: FloatArray) -> None:
        count = len(controls)
        self._ends: FloatArray | None = None
        self._looks: FloatArray | None = None
        if count == degree + 1:  # one piece, as most curves of a draft are
            self.breaks: FloatArray = knots[degree : degree + 2]
            self.beziers: FloatArray = controls[None]
            step = self.beziers[:, 1:] - self.beziers[:, :-1]
            self.rates: FloatArray = 3.0 * step if degree == 3 else step.repeat(3, axis=1)
            self._table: list[float] = self.breaks.tolist()
            return
        index = np.flatnonzero(knots[degree:count] < knots[degree + 1 : count + 1]) + degree
        self.breaks = np.concatenate((knots[index], knots[-1:]))
        if degree == 1:
            self.beziers = np.stack((controls[:-1], controls[1:]), axis=1)
            self.rates = np.repeat(_steps(self.beziers), 3, axis=1)
        else:
            self.beziers = bezier_points(knots, controls, index)
            self.rates = 3.0 * _steps(self.beziers)
        self._table = self.breaks.tolist()

    # ---- where ------------------------------------------------------------------------------

    def find(self, t: float) -> tuple[int, float]:
        """The piece a parameter lies in (at a break, the piece that follows) and its ``u``."""
        table = self._table
        k = min(max(bisect_right(table, t) - 1, 0), len(table) - 2)
        return k, (t - table[k]) / (table[k + 1] - table[k])

    def parameter(self, k: int, u: float) -> float:
        """The parameter of the curve at ``u`` of a piece."""
        return (1.0 - u) * self._table[k] + u * self._table[k + 1]

    def parameters(self, k: IntArray, u: FloatArray) -> FloatArray:
        """:meth:`parameter` for many places."""
        return np.asarray((1.0 - u) * self.breaks[k] + u * self.breaks[k + 1], dtype=np.float64)

    def spread(self, t: FloatArray) -> tuple[IntArray, FloatArray]:
        """:meth:`find` for many parameters."""
        k = np.clip(np.searchsorted(self.breaks, t, "right") - 1, 0, len(self.breaks) - 2)
        low = self.breaks[k]
        return k, (t - low) / (self.breaks[k + 1] - low)

    def point(self, k: int, u: float) -> tuple[float, float]:
        """One point."""
        s = 1.0 - u
        if self.beziers.shape[1] == 2:
            (ax, ay), (bx, by) = self.beziers[k].tolist()
            return s * ax + u * bx, s * ay + u * by
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self.beziers[k].tolist()
        a, b, c, d = s * s * s, 3 * s * s * u, 3 * s * u * u, u * u * u
        return a * ax + b * bx + c * cx + d * dx, a * ay + b * by + c * cy + d * dy

    def points(self, k: IntArray, u: FloatArray) -> FloatArray:
        """Points, shape (n, 2)."""
        at, u = self.beziers[k], u[:, None]
        s = 1.0 - u
        if at.shape[1] == 2:
            return np.asarray(s * at[:, 0] + u * at[:, 1], dtype=np.float64)
        inner = 3 * s * u * (s * at[:, 1] + u * at[:, 2])
        return np.asarray(s**3 * at[:, 0] + inner + u**3 * at[:, 3], dtype=np.float64)

    # ---- how fast, which way ----------------------------------------------------------------

    def rate(self, k: int, u: float) -> tuple[float, float]:
        """Rate of travel in ``u``; where travel stops, a step in the direction it starts again."""
        (ax, ay), (bx, by), (cx, cy) = self.rates[k].tolist()
        s = 1.0 - u
        x = s * s * ax + 2 * s * u * bx + u * u * cx
        y = s * s * ay + 2 * s * u * by + u * u * cy
        if hypot(x, y) > STILL:
            return x, y
        sign = -1.0 if u > 1.0 - 1e-9 else 1.0  # at the end there is only the way it came
        bend = sign * (s * (bx - ax) + u * (cx - bx)), sign * (s * (by - ay) + u * (cy - by))
        far = (cx, cy) if u < 0.5 else (ax, ay)
        return next((step for step in (bend, far) if hypot(*step) > STILL), (x, y))

    def rates_at(self, k: IntArray, u: FloatArray) -> FloatArray:
        """Rates of travel in ``u``, shape (n, 2)."""
        at, u = self.rates[k], u[:, None]
        s = 1.0 - u
        return np.asarray(s * s * at[:, 0] + 2 * s * u * at[:, 1] + u * u * at[:, 2])

    def bends_at(self, k: IntArray, u: FloatArray) -> FloatArray:
        """Second derivatives in ``u``, shape (n, 2)."""
        legs, u = _steps(self.rates[k]), u[:, None]
        return np.asarray(2.0 * ((1.0 - u) * legs[:, 0] + u * legs[:, 1]), dtype=np.float64)

    def normals(self, k: IntArray, u: FloatArray) -> FloatArray:
        """Steps of one centimetre to the right of travel, shape (n, 2)."""
        step = self.rates_at(k, u)
        size = np.hypot(step[:, 0], step[:, 1])
        for i in np.flatnonzero(size <= STILL):
            step[i] = self.rate(int(k[i]), float(u[i]))
            size[i] = max(hypot(*step[i]), 1e-300)
        return np.column_stack((step[:, 1] / size, -step[:, 0] / size))

    def moving(self) -> IntArray:
        """The pieces that are more than a point."""
        return np.flatnonzero(np.abs(self.rates).max(axis=(1, 2)) > STILL)

    def turning(self) -> float:
        """Turning of the whole curve, the turn at each corner taken the short way.

        Exact: a hodograph is a parabola, so it crosses the line along its first direction once
        more at most, and short of that crossing and after it turns by less than half a circle.
        """
        h = self.rates[self.moving()]
        if len(h) == 0:
            return 0.0
        size = np.hypot(h[..., 0], h[..., 1]) > STILL
        every = np.arange(len(h))
        first = h[every, np.argmax(size, axis=1)]
        last = h[every, 2 - np.argmax(size[:, ::-1], axis=1)]
        grow, curl = 2.0 * (h[:, 1] - h[:, 0]), h[:, 0] - 2.0 * h[:, 1] + h[:, 2]
        a, b = _cross(first, grow), _cross(first, curl)
        u = np.divide(-a, b, out=np.zeros_like(a), where=b != 0.0)
        there = h[:, 0] + u[:, None] * (grow + u[:, None] * curl)
        back = (u > 0.0) & (u < 1.0 + 1e-6) & ((first * there).sum(axis=1) < 0.0)
        total = float((np.pi * np.sign(a[back])).sum())
        first[back] *= -1.0
        starts = h[every[1:], np.argmax(size[1:], axis=1)]
        return total + float(_angles(first, last).sum() + _angles(last[:-1], starts).sum())

    # ---- how long ---------------------------------------------------------------------------

    @property
    def ends(self) -> FloatArray:
        """Arc length from the start at every break."""
        if self._ends is None:
            rates = self.rates
            straight = self.beziers.shape[1] == 2
            each = np.hypot(rates[:, 0, 0], rates[:, 0, 1]) if straight else lengths(rates)
            self._ends = np.zeros(len(each) + 1)
            each.cumsum(out=self._ends[1:])
        return self._ends

    def arc(self, k: int, u0: float, u1: float) -> float:
        """Arc length within one piece; negative when ``u1`` comes first."""
        if u0 == u1:
            return 0.0
        (ax, ay), (bx, by), (cx, cy) = self.rates[k].tolist()
        size = u1 - u0
        if self.beziers.shape[1] == 2:
            return hypot(ax, ay) * size
        v0, v1 = 1.0 - u0, 1.0 - u1
        places = (v0 * v0, 2 * u0 * v0, u0 * u0), (v0 * v1, u0 * v1 + u1 * v0, u0 * u1)
        part = [
            (i * ax + j * bx + k * cx, i * ay + j * by + k * cy)
            for i, j, k in (*places, (v1 * v1, 2 * u1 * v1, u1 * u1))
        ]
        return float(lengths(np.array([part]))[0]) * size

    def arcs(self, k: IntArray, u0: FloatArray, u1: FloatArray) -> FloatArray:
        """:meth:`arc` for many stretches."""
        h, size = self.rates[k], u1 - u0
        if self.beziers.shape[1] == 2:
            return np.asarray(np.hypot(h[:, 0, 0], h[:, 0, 1]) * size, dtype=np.float64)
        v0, v1 = 1.0 - u0, 1.0 - u1
        shares = np.array(
            (
                (v0 * v0, 2 * u0 * v0, u0 * u0),
                (v0 * v1, u0 * v1 + u1 * v0, u0 * u1),
                (v1 * v1, 2 * u1 * v1, u1 * u1),
            )
        )
        return lengths(np.einsum("abn,nbx->nax", shares, h)) * size

    def at_lengths(self, length: FloatArray) -> tuple[IntArray, FloatArray]:
        """:meth:`at_length` for many arc lengths."""
        ends = self.ends
        k = np.clip(np.searchsorted(ends, length, "right") - 1, 0, len(ends) - 2)
        need, whole = length - ends[k], ends[k + 1] - ends[k]
        on = (need > 0.0) & (whole > 0.0)
        u = np.minimum(np.divide(need, whole, out=np.zeros_like(need), where=on), 1.0)
        low, high, done = np.zeros_like(u), np.ones_like(u), self.arcs(k, np.zeros_like(u), u)
        for _ in range(100):
            on &= np.abs(need - done) > 0.01 * ARC
            if not on.any():
                break
            at, here, gap = k[on], u[on], (need - done)[on]
            low[on], high[on] = np.where(gap > 0.0, (here, high[on]), (low[on], here))
            speed = np.hypot(*self.rates_at(at, here).T)
            to = here + np.divide(gap, speed, out=np.full_like(gap, np.inf), where=speed > STILL)
            inside = (low[on] < to) & (to < high[on])
            to = np.where(inside, to, 0.5 * (low[on] + high[on]))
            done[on] += self.arcs(at, here, to)
            stuck = (to == low[on]) | (to == high[on])
            u[on] = np.where(stuck, here, to)
            on[on] = ~stuck
        return k, u

    def at_length(self, length: float) -> tuple[int, float]:
        """The place (piece and ``u``) at an arc length inside the curve.

        Newton's rule on the arc length, which rises with the speed as its slope; each step adds
        the little arc it went. A step that leaves the bracket is halved instead.
        """
        ends = self.ends
        k = int(np.clip(np.searchsorted(ends, length, "right") - 1, 0, len(ends) - 2))
        need, whole = length - float(ends[k]), float(ends[k + 1] - ends[k])
        if need <= 0.0 or whole == 0.0:
            return k, 0.0
        low, high, u = 0.0, 1.0, min(need / whole, 1.0)
        done = self.arc(k, 0.0, u)
        for _ in range(100):
            gap = need - done
            if abs(gap) <= 0.01 * ARC:
                break
            low, high = (u, high) if gap > 0.0 else (low, u)
            x, y = self.rate(k, u)
            to = u + gap / hypot(x, y)
            if not low < to < high:
                to = 0.5 * (low + high)
            if to in (low, high):
                break
            done += self.arc(k, u, to)
            u = to
        return k, u

    # ---- near and beside --------------------------------------------------------------------

    def nearest(self, xy: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
        """Pieces, ``u`` and distances of the points nearest to ``xy`` (n, 2)."""
        if self.beziers.shape[1] == 2:
            return nearest_straight(self.beziers, self.rates, xy)
        if self._looks is None:
            pieces, looks = np.indices((len(self.beziers), LOOKS + 1))
            self._looks = self.points(pieces.ravel(), looks.ravel() / LOOKS)
        looked = self._looks.reshape(-1, LOOKS + 1, 2)
        return nearest_curved(self.beziers, self.rates, looked, xy)

    def stations(self, distance: float, tolerance: float) -> tuple[IntArray, FloatArray]:
        """Places in order, both ends of each piece among them, between which the parallels on
        either side run within ``tolerance`` of straight."""
        k = self.moving()
        if self.beziers.shape[1] == 2:
            return np.repeat(k, 2), np.tile([0.0, 1.0], len(k))
        all_k, all_u = [k], [np.ones(len(k))]
        low = np.tile([0.0, 0.25, 0.5, 0.75], len(k))
        k, high = np.repeat(k, 4), low + 0.25
        for _ in range(_FINEST):
            if len(k) == 0:
                break
            u = low + (high - low) * _QUARTERS
            many, flat = np.tile(k, 5), u.ravel()
            at, normal = self.points(many, flat), self.normals(many, flat)
            sides = np.stack((at - distance * normal, at + distance * normal))
            sag = _off_chord(sides.reshape(2, 5, -1, 2)) / (0.9 * tolerance)
            far = sag > 1.0
            all_k.append(k[~far])
            all_u.append(low[~far])
            # sag falls as the square of the step, where nothing turns round
            pieces = np.clip(np.ceil(np.sqrt(1.2 * sag[far])), 2.0, 32.0).astype(np.intp)
            size = ((high - low)[far] / pieces).repeat(pieces)
            order = np.arange(len(size)) - (np.cumsum(pieces) - pieces).repeat(pieces)
            low = low[far].repeat(pieces) + order * size
            k, high = k[far].repeat(pieces), low + size
        k, u = np.concatenate((*all_k, k)), np.concatenate((*all_u, low))
        order = np.lexsort((u, k))
        return k[order], u[order]


def _off_chord(run: FloatArray) -> FloatArray:
    """How far points stand off the segment from the first to the last of their run at most; shape
    (sides, places, runs, 2)."""
    chord = run[:, -1:] - run[:, :1]
    from_start = run[:, 1:-1] - run[:, :1]
    size = np.maximum((chord * chord).sum(axis=-1), 1e-300)
    share = np.clip((from_start * chord).sum(axis=-1) / size, 0.0, 1.0)
    off = from_start - share[..., None] * chord
    most: FloatArray = np.hypot(off[..., 0], off[..., 1]).max(axis=(0, 1))
    return most


def bezier_points(knots: FloatArray, controls: FloatArray, index: IntArray) -> FloatArray:
    """Bezier points of the cubic pieces that begin at ``knots[index]``, shape (m, 4, 2); for n
    splines at once, whose ``knots`` are (k, n) and ``controls`` (c, n, 2), (m, 4, n, 2)."""
    if len(index) == 1 and len(controls) == 4:
        return controls[None]
    near = knots[index[:, None] + _AROUND][..., None]
    k0, k1, a, b, k4 = (near[:, n] for n in range(5))
    d0, d1, d2 = controls[index - 3], controls[index - 2], controls[index - 1]
    out = np.empty((len(index), 4, *controls.shape[1:]))
    after, into, size = d2 - d1, a - k1, b - k1
    turn = after / (k4 - k1)
    out[:, 1] = first = d1 + into * turn
    out[:, 2] = d1 + size * turn
    before = d0 + (a - k0) / (b - k0) * (d1 - d0)
    out[:, 0] = before + into / size * (first - before)
    out[0, 0], out[-1, 3] = controls[0], controls[-1]
    out[:-1, 3] = out[1:, 0]
    return out


def _steps(points: FloatArray) -> FloatArray:
    return np.asarray(points[:, 1:] - points[:, :-1], dtype=np.float64)


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], dtype=np.float64)


def _angles(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(np.arctan2(_cross(a, b), (a * b).sum(axis=1)), dtype=np.float64)
