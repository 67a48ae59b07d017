"""Waist darts of a bodice that goes on below the waist: pointed at both ends. Centimetres."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from drafting.curves import polyline
from drafting.pieces import Dart, Drill, Mark, MarkKind
from drafting.points import Point
from drafting.sentences import length


def lower_depths(
    darts: Iterable[Dart], reach: float, below: float, figures: Mapping[str, float]
) -> tuple[dict[str, float], tuple[str, ...]]:
    """How far below the waist each waist dart ends, by the dart's name, with notes.

    The usual depth, but never beyond the usual share of the way to the hip (``reach``) nor too near
    the hem, ``below`` the waist.
    """
    depths: dict[str, float] = {}
    shortened = []
    for dart in darts:
        if not dart.name.endswith("waist dart"):
            continue
        usual = figures["dart_" + dart.name.removesuffix(" waist dart").replace(" ", "_")]
        by_hip = figures["dart_share"] * reach
        by_hem = below - figures["dart_above_hem"]
        depths[dart.name] = min(usual, by_hip, by_hem)
        if depths[dart.name] < usual - 0.05:
            shortened.append(f"the {dart.name} {length(depths[dart.name])}")
    if not shortened:
        return depths, ()
    return depths, (
        f"Shorter than usual below the waist, to end above hip and hem: {', '.join(shortened)}.",
    )


def end_darts(
    darts: Iterable[Dart], depths: Mapping[str, float]
) -> tuple[tuple[Mark, ...], tuple[Drill, ...]]:
    """The stitch lines of waist darts with their lower points, and drills at both points and at
    both feet on the waist."""
    marks: list[Mark] = []
    drills: list[Drill] = []
    for dart in darts:
        waist = dart.first.towards(dart.second, 0.5)
        low = Point(dart.apex.x, waist.y - depths[dart.name])
        corners = (dart.tip, dart.first, low, dart.second)
        marks.append(Mark(MarkKind.STITCH, polyline((*corners, dart.tip)), dart.name))
        drills += [Drill(at, dart.name) for at in corners]
    return tuple(marks), tuple(drills)
