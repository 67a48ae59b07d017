"""The waists of many bodies at once: how long the sewn waist comes out, and which are refused.

What ``blocks.waist`` does for one body. Bodies with the same darts in the same order are trued
together. Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from blocks.many_necklines import BoolArray
from blocks.waist import (
    DARTS,
    LEAST_DART,
    LEAST_DART_LENGTH,
    LEAST_DEPTH,
    LEAST_PANEL,
    TRUINGS,
    WaistJoint,
    dart_joint,
    folded,
    planned_waist,
    rooms,
    side_joint,
    waist_ends,
)
from drafting.many_curves import spline_lengths
from drafting.points import FloatArray, Many, Point
from drafting.tolerances import SOLVED

_SIDE = len(DARTS)


@dataclass(frozen=True, slots=True)
class ManyWaists:
    """Half waists sewn (cm), what the darts take from the half bust line, and who is refused."""

    closed: FloatArray
    taken_in: FloatArray
    refused: BoolArray


def true_waists(q: Mapping[str, FloatArray]) -> ManyWaists:
    """The waists of the quantities of many bodies, each an array (n,)."""
    count = len(q["half_width"])
    closed, refused = np.empty(count), np.zeros(count, dtype=np.bool_)
    with np.errstate(all="ignore"):
        for names, some in _alike(q):
            these = {key: values[some] for key, values in q.items()}
            closed[some], refused[some] = _true(these, names)
        refused |= (q["waist_depth"] < LEAST_DEPTH) | ~np.isfinite(closed)
        return ManyWaists(closed, _taken_in(q), refused)


def _alike(q: Mapping[str, FloatArray]) -> Iterator[tuple[list[str], NDArray[np.intp]]]:
    """Bodies with the same joints in the same order from centre back, and what those are."""
    widths = np.stack([q[width] for width, _, _ in DARTS.values()])
    places = np.stack([q[x] for _, x, _ in DARTS.values()] + [q["side_x"]])
    places[:_SIDE][widths < LEAST_DART] = np.inf
    order = np.argsort(places, axis=0, kind="stable")
    count = np.isfinite(places).sum(axis=0)
    kinds, which = np.unique(np.vstack((order, count)), axis=1, return_inverse=True)
    names = [*DARTS, "side"]
    for k, kind in enumerate(kinds.T):
        yield [names[n] for n in kind[: kind[-1]]], np.flatnonzero(which.ravel() == k)


def _true(q: Mapping[str, Many], names: list[str]) -> tuple[FloatArray, BoolArray]:
    """The closed half waists of bodies whose joints are ``names``, and which are refused."""
    darts = {name: dart_joint(q, name) for name in names if name != "side"}
    refused = np.zeros(len(q["half_width"]), dtype=np.bool_)
    for dart in darts.values():
        refused |= dart.apex.y - dart.left.y < LEAST_DART_LENGTH
    start, end, square = waist_ends(q)
    planned = planned_waist(q, tuple(darts.values()))
    side = q["waist_side"]
    closed = np.zeros_like(side)
    going = np.ones_like(refused)
    for _ in range(TRUINGS):
        joints = [darts[name] if name != "side" else side_joint(q, side) for name in names]
        refused |= np.min(rooms(start, joints, end), axis=0) < LEAST_PANEL
        closed = _closed(start, joints, end, square)
        excess = closed - planned
        going &= (np.abs(excess) >= SOLVED) & ~refused
        if not going.any():
            break
        side = np.where(going, side + excess, side)
    return closed, refused


def _closed(start: Point, joints: list[WaistJoint], end: Point, square: Point) -> FloatArray:
    stops, moves = folded(start, joints, end)
    return spline_lengths(stops, square, moves[-1].step(Point(1.0, 0.0)))


def _taken_in(q: Mapping[str, Many]) -> FloatArray:
    """What the darts that reach above the bust line take from its half."""
    total: FloatArray = np.zeros_like(q["half_width"])
    for name, (width, _, top) in DARTS.items():
        y = dart_joint(q, name).left.y
        crossing = (q[width] >= LEAST_DART) & (q[top] > 0.0)
        total += np.where(crossing, q[width] * q[top] / (q[top] - y), 0.0)
    top_back = q["waist_centre_back_y"]
    centre = q["waist_centre_back"] * top_back / (top_back + q["waist_depth"])
    return np.asarray(total + np.where(top_back > 0.0, centre, 0.0))
