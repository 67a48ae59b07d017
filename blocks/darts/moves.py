"""Front and back with their darts moved as wished: which cut, and what must give way to it.

Centimetres.
"""

from __future__ import annotations

from dataclasses import replace

from shapely.geometry import LineString, Polygon

from blocks.darts.pivot import merged, pivoted
from blocks.darts.shapes import LEAST_STITCHED, dart_called, ended, renamed
from blocks.darts.wish import DRAFTED, DartWish, SeamPlace, back_places, front_places, limits
from blocks.edges import EdgeName
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, angle_between, tangent_cubic, through
from drafting.geometry.points import Move, Point
from drafting.geometry.roots import root_between
from drafting.pieces.piece import Dart, Mark, MarkKind, Notch, Piece
from drafting.sentences import UP, length
from drafting.tolerances import SAME_POINT

# ---- Darts that are not sewn: waist darts left open, a back shoulder dart eased in. Centimetres

#: A scye drawn through an opening leaves its old line this far on either side of it.
_BRIDGED = 4.0
#: Name of the dart that is drawn through at once.
_FULLNESS = "fullness"
_WAIST_DART = "waist dart"


def waist_left_open(piece: Piece) -> tuple[Piece, float]:
    """The piece with its waist darts left out, and by how much its waist is wider.

    The waist is one smooth line: square to side seam and centre as before, through the middle of
    each opening. Waist darts that are only drawn, as lines inside, are left out as well.
    """
    marks = tuple(mark for mark in piece.marks if not _is_waist_dart(mark))
    drills = tuple(d for d in piece.drills if not d.label.endswith(_WAIST_DART))
    darts = waist_darts(piece)
    if not darts and len(marks) == len(piece.marks):
        return piece, 0.0
    done = replace(piece, marks=marks, drills=drills)
    if not darts:
        return done, 0.0
    places = [k for k, edge in enumerate(piece.edges) if edge.name is EdgeName.WAIST]
    first, last = piece.edges[places[0]].curve, piece.edges[places[-1]].curve
    middles = [dart.first.towards(dart.second, 0.5) for dart in darts]
    curve = through([first.start, *middles, last.end], first.start_heading, last.end_heading)
    wider = curve.length - piece.length(EdgeName.WAIST)
    return _drawn_through(done, places[0], places[-1], curve), wider


def _is_waist_dart(mark: Mark) -> bool:
    return mark.kind is MarkKind.STITCH and mark.label.endswith(_WAIST_DART)


def waist_darts(piece: Piece) -> tuple[Dart, ...]:
    """The darts whose mouths lie in the waist, in ring order."""
    found = [d for d in piece.darts if piece.edges[d.mouth - 1].name is EdgeName.WAIST]
    return tuple(sorted(found, key=lambda dart: dart.mouth))


def shoulder_eased(
    piece: Piece, dart_name: str, most: float, at: float
) -> tuple[Piece, float, float]:
    """The back with its shoulder dart left unsewn: the piece, what its shoulder and what its scye
    have more than before.

    The shoulder takes up to ``most``; the rest is turned into the scye (``at`` as in
    :func:`blocks.darts.pivot.pivoted`) and stays there as fullness. Both are drawn through as one
    smooth line. Raises like :func:`blocks.darts.pivot.pivoted`.
    """
    dart = dart_called(piece, dart_name)
    outer, inner = (piece.edges[dart.mouth + side].curve for side in (-1, 1))
    sewn = outer.length + inner.length
    whole = angle_between(dart.first - dart.apex, dart.second - dart.apex)

    def shoulder(shut: float) -> Curve:
        swung = outer.moved(Move.about(dart.apex, shut * whole))
        handle = swung.start.to(inner.end) / 3.0
        return tangent_cubic(
            swung.start, swung.start_heading, inner.end, inner.end_heading, handle, handle
        )

    shut = 0.0
    if shoulder(0.0).length - sewn > most:
        shut = root_between(lambda part: shoulder(part).length - sewn - most, 0.0, 1.0, xtol=1e-13)
    fuller = 0.0
    done = piece
    if shut > 0.0:
        done = pivoted(piece, dart_name, EdgeName.SCYE, at, shut, name=_FULLNESS, held_back=0.0)
        done, fuller = _scye_through(done, dart_called(done, _FULLNESS))
    dart = dart_called(done, dart_name)
    curve = shoulder(shut)
    done = _drawn_through(done, dart.mouth - 1, dart.mouth + 1, curve)
    return done, curve.length - sewn, fuller


def _scye_through(piece: Piece, dart: Dart) -> tuple[Piece, float]:
    before, after = (piece.edges[dart.mouth + side].curve for side in (-1, 1))
    points: list[Point] = []
    for curve, start, end in (
        (before, 0.0, max(before.length - _BRIDGED, before.length / 2)),
        (after, min(_BRIDGED, after.length / 2), after.length),
    ):
        steps = max(round((end - start) / 2.0), 1)
        points += [curve.at_length(start + (end - start) * k / steps) for k in range(steps + 1)]
    curve = through(points, before.start_heading, after.end_heading)
    fuller = curve.length - before.length - after.length
    return _drawn_through(piece, dart.mouth - 1, dart.mouth + 1, curve), fuller


def _drawn_through(piece: Piece, first: int, last: int, curve: Curve) -> Piece:
    """The piece with one edge in place of those from ``first`` to ``last``, the darts between left
    out. Notches keep their distance from the end they are on."""
    gone = last - first
    places = [k if k <= first else max(first, k - gone) for k in range(len(piece.edges))]
    left_out = [dart for dart in piece.darts if first < dart.mouth < last]
    points = [dart.tip for dart in left_out]

    def placed(notch: Notch) -> float:
        if notch.edge == last:
            return curve.length - (piece.edges[last].length - notch.at)
        if first < notch.edge < last:
            return curve.length_to(curve.nearest(piece.notch_point(notch))[0])
        return notch.at

    return replace(
        piece,
        edges=(
            *piece.edges[:first],
            replace(piece.edges[first], curve=curve),
            *piece.edges[last + 1 :],
        ),
        darts=tuple(
            replace(dart, mouth=places[dart.mouth]) for dart in piece.darts if dart not in left_out
        ),
        notches=tuple(
            replace(notch, edge=places[notch.edge], at=placed(notch)) for notch in piece.notches
        ),
        drills=tuple(drill for drill in piece.drills if drill.at not in points),
    )


BUST_DART, SHOULDER_DART = "bust dart", "shoulder dart"
#: A waist dart that gives way ends lower in steps of this.
_STEP = 0.5


def front_moved(front: Piece, wish: DartWish) -> tuple[Piece, list[str]]:
    """The front with its bust dart where the wish wants it, and what there is to say.

    Raises :class:`DraftError` with the key of the wish that cannot be fulfilled.
    """
    if not wish.moves_bust_dart:
        return front, []
    notes: list[str] = []
    done, rest, names = front, BUST_DART, [BUST_DART]
    try:
        bust_point = dart_called(front, BUST_DART).apex
    except DraftError as error:
        raise keyed(error, "bust") from error
    if wish.second:
        names = [f"{BUST_DART}, {word}" for word in (wish.bust, wish.second)]
        rest = names[0] if _stays(wish) else names[1]
        done = renamed(done, BUST_DART, rest)
    for key, word, at, share, name in _steps(wish, names):
        try:
            done, said = _to(done, rest, front_places()[word], at, share, name, wish)
        except DraftError as error:
            raise keyed(error, key if at is None else "at") from error
        notes += said
    for dart in done.darts:
        if dart.name in names and abs(dart.tip.to(bust_point) - wish.held_back) > SAME_POINT:
            try:
                done = ended(done, dart.name, wish.held_back)
            except DraftError as error:
                raise keyed(error, "held_back") from error
    return done, notes


def _stays(wish: DartWish) -> bool:
    """Whether the bust dart, or its first share, stays as drafted."""
    return wish.bust == DRAFTED and wish.at is None


def _steps(wish: DartWish, names: list[str]) -> list[tuple[str, str, float | None, float, str]]:
    """Key, seam, place, share of what is left, and name of each dart that is to be opened."""
    first = ("bust", wish.bust, wish.at, wish.share, names[0])
    second = ("second", wish.second, None, 1.0, names[-1])
    if not wish.second:
        return [] if _stays(wish) else [first]
    if _stays(wish):
        return [("second", wish.second, None, 1.0 - wish.share, names[1])]
    return [first] if wish.second == DRAFTED else [first, second]


def back_moved(back: Piece, wish: DartWish) -> tuple[Piece, float, list[str]]:
    """The back with its shoulder dart as wished, what its shoulder is longer by, and what there is
    to say. Raises :class:`DraftError`."""
    if wish.back == "shoulder":
        return back, 0.0, []
    if not any(dart.name == SHOULDER_DART for dart in back.darts):
        return back, 0.0, ["The back has no shoulder dart to move."]
    known, dart = limits(), dart_called(back, SHOULDER_DART)
    place = back_places()["scye" if wish.back == "ease" else wish.back]
    at = place.along(back, place.usual)
    try:
        if wish.back != "ease":
            held_back = dart.apex.to(dart.tip)
            name = "neck dart" if wish.back == "neckline" else "back armhole dart"
            done = pivoted(back, SHOULDER_DART, place.edge, at, name=name, held_back=held_back)
            return done, 0.0, [f"Back shoulder dart moved to the {place.said(back, at)}."]
        done, ease, fuller = shoulder_eased(back, SHOULDER_DART, known["shoulder_ease"], at)
    except DraftError as error:
        raise keyed(error, "back") from error
    said = f"Back shoulder dart not sewn: ease {length(ease)} on to the front shoulder"
    if fuller <= 0.0:
        return done, ease, [f"{said}."]
    notes = [f"{said}; hold in {length(fuller)} of fullness in the back armhole with tape."]
    if fuller > known["scye_fullness"]:
        notes.append(
            f"{length(fuller)} is more than the {length(known['scye_fullness'])} a back armhole "
            "usually takes up: in firm cloth leave the back dart in the shoulder or the "
            "neckline."
        )
    return done, ease, notes


def keyed(error: DraftError, key: str) -> DraftError:
    """The same problems with the key of the card they come from."""
    return DraftError([replace(p, key=p.key or f"garment.darts.{key}") for p in error.problems])


def _to(
    piece: Piece,
    dart_name: str,
    place: SeamPlace,
    at: float | None,
    share: float,
    name: str,
    wish: DartWish,
) -> tuple[Piece, list[str]]:
    """A share of the bust dart turned to a place, what is in the way shortened."""
    dart = dart_called(piece, dart_name)
    _check_seam(piece, place.edge)
    partner = _under(piece, dart) if place.edge is EdgeName.WAIST and at is None else None
    if partner is not None:
        done = merged(piece, dart_name, partner.name, share, name=name, held_back=wish.held_back)
        return done, [f"Bust dart and {partner.name} are one dart in the waist."]
    along = _usual(piece, place, dart.apex) if at is None else place.along(piece, at)
    if _is_there(piece, dart, place.edge, along):
        return piece, []
    _check_room(piece, dart, place.edge, along, whole=share == 1.0)
    piece, notes = _cleared(piece, dart, place.edge, along)
    done = pivoted(piece, dart_name, place.edge, along, share, name=name, held_back=wish.held_back)
    part = "Bust dart" if share == 1.0 and not wish.second else "Part of the bust dart"
    notes.insert(0, f"{part} moved to the {place.said(piece, along)}.")
    if piece.cut != done.cut:
        notes.append("Centre front is a seam now: cut a pair, with allowance there.")
    return done, notes


def _check_seam(piece: Piece, name: EdgeName) -> None:
    if piece.named(name):
        return
    if name is EdgeName.CENTRE_FRONT:
        raise DraftError(
            Problem(
                "with a button stand centre front is no seam, so no dart can open there",
                got=f'"{name}"',
                advice="Choose another seam, or leave out the button stand.",
            )
        )
    raise DraftError(
        Problem(
            f"this front has no {name} seam, so no dart can open there",
            got=f'"{name}"',
            accepted=", ".join(
                f'"{word}"' for word, p in front_places().items() if piece.named(p.edge)
            ),
        )
    )


def _under(piece: Piece, dart: Dart) -> Dart | None:
    """The waist dart below the bust point, if there is one."""
    near = [
        other
        for other in waist_darts(piece)
        if other.apex.y < dart.apex.y
        and abs(other.apex.x - dart.apex.x) <= limits()["under_bust_point"]
    ]
    return min(near, key=lambda other: abs(other.apex.x - dart.apex.x), default=None)


def _usual(piece: Piece, place: SeamPlace, bust_point: Point) -> float:
    """Arc length of the usual place along the sewn seam."""
    if place.usual > 0.0:
        return place.usually(piece)
    done = 0.0
    for edge in piece.named(place.edge):
        length = _level(edge.curve, bust_point, upright=place.edge is EdgeName.WAIST)
        if length is not None:
            return done + length
        done += edge.length
    raise DraftError(
        Problem(
            f"the {place.edge} has no place straight across from the bust point",
            advice="Choose another seam.",
        )
    )


def _level(curve: Curve, p: Point, *, upright: bool) -> float | None:
    """The arc length at which a curve passes under a point, or level with it."""

    def off(length: float) -> float:
        step = curve.at_length(length) - p
        return step.x if upright else step.y

    if off(0.0) * off(curve.length) >= 0.0:
        return None
    return root_between(off, 0.0, curve.length, xtol=1e-12)


def _is_there(piece: Piece, dart: Dart, name: EdgeName, along: float) -> bool:
    """Whether the dart opens at that place already."""
    before = sum(e.length for e in piece.edges[: dart.mouth] if e.name is name)
    return piece.edges[dart.mouth - 1].name is name and abs(before - along) < SAME_POINT


def _check_room(piece: Piece, dart: Dart, name: EdgeName, along: float, *, whole: bool) -> None:
    """A dart needs cloth between itself and the seam's ends and the darts that stay."""
    known, total, done = limits(), piece.length(name), 0.0
    stops = [(0.0, known["from_end"]), (total, known["from_end"])]
    for place, edge in enumerate(piece.edges):
        if edge.name is name:
            done += edge.length
        for other in piece.darts:
            opens_here = other.mouth == place and piece.edges[place - 1].name is name
            if opens_here and (other is not dart or not whole):
                stops.append((done, known["between"]))
    if any(abs(along - stop) < room for stop, room in stops):
        raise DraftError(
            Problem(
                f"the dart would open too near an end of the {name}, or another dart in it",
                got=f"{length(along)} along a seam of {length(total)}",
                accepted=f"{length(known['from_end'], rounding=UP)} or more from both ends, "
                f"{length(known['between'], rounding=UP)} from other darts",
                advice="Choose another place or another seam.",
            )
        )


def _cleared(piece: Piece, dart: Dart, name: EdgeName, along: float) -> tuple[Piece, list[str]]:
    """The piece with the waist darts that reach across the cut ended below it."""
    done, edge = along, piece.named(name)[0]
    for edge in piece.named(name):
        if done <= edge.length:
            break
        done -= edge.length
    foot = edge.curve.at_length(min(done, edge.length))
    cut = LineString([tuple(dart.apex), tuple(foot)])
    notes = []
    for other in waist_darts(piece):
        if other is not dart and _gap(other, other.tip, cut) < limits()["clear"]:
            piece, lower = _shortened(piece, other, cut)
            notes.append(f"The {other.name} ends {length(lower)} lower, clear of the bust dart.")
    return piece, notes


def _gap(dart: Dart, tip: Point, cut: LineString) -> float:
    return float(Polygon([tuple(p) for p in (dart.first, tip, dart.second)]).distance(cut))


def _shortened(piece: Piece, dart: Dart, cut: LineString) -> tuple[Piece, float]:
    """A waist dart ended as little lower as keeps it clear of a cut, and by how much."""
    foot = dart.first.towards(dart.second, 0.5)
    start, stitched = dart.apex.to(dart.tip), dart.tip.to(foot)
    least = max(limits()["waist_dart_least"], LEAST_STITCHED * dart.legs[0])
    lower = _STEP
    while stitched - lower >= least:
        tip = dart.tip.towards(foot, lower / stitched)
        if _gap(dart, tip, cut) >= limits()["clear"]:
            return ended(piece, dart.name, start + lower), lower
        lower += _STEP
    raise DraftError(
        Problem(
            f"the {dart.name} lies in the way, and would be too short if it ended clear of the "
            "bust dart",
            accepted=f"{length(least, rounding=UP)} of waist dart or more",
            advice="Choose another seam or place, or leave the waist darts open.",
        )
    )
