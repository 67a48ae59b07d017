"""A collar on the neck in space: the drawn stand, band or wing collar, and the fall of a shirt
collar, each as a mesh that pairs places of the flat piece with places on the client's neck.

**The model.** A stand is a strip of cloth that is only bent: a ruled, developable surface along its
neck seam, which keeps every length and angle of the flat piece (:mod:`collars.worn.strips`). Its
rulings follow from the seam's own turning in the cloth, how sharply it is bent and how it twists;
of all such strips that close at centre front the one is taken whose neck seam comes nearest to
where it is sewn, with neck and shoulders in its way (:mod:`collars.worn.strips`). A straight strip
cannot follow a ring that dips at the sides of the neck and drops to the front, so its seam stands
off that ring by some millimetres, more at centre back and centre front; on a garment the neckline,
the ease and the cloth's bias give that. It is told, not hidden. The fall is such a strip too, sewn
along the stand's top edge and hanging outward; where the shoulders push it out, its mesh comes to
rest on them (:mod:`collars.worn.drape`), and what the cloth would have to give is the strain of
each cell. A wing is the stand itself, folded along its fold line.

**What is approximated.** The neck is a ring with straight lines up from it to where the collar's
top lies, the shoulders are straight lines out from it; a neckline longer than the neck base lies
one distance outside it all round. The fold of the fall is at its seam, and cloth has no weight,
thickness or stiffness here. The ring turns sharply at the side of the neck, where flesh is softer
and a worn fall lifts, so that the strain told of its outer edge is the most it can be: 7 to 11 %
over drafts of common practice, whose outer edges are long enough when the shoulders are laid flat.
Right half, the left is its mirror image; axes as in :mod:`blocks.neck.surface`. Centimetres and
radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from blocks.edges import EdgeName
from blocks.neck.surface import surface_under
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft
from collars.worn.drape import Resting
from collars.worn.neck_ground import NeckGround, at_shares, neck_ground
from collars.worn.strips import (
    Bending,
    FlatSeam,
    Lying,
    Strip,
    bent_strip,
    close,
    come_to_lie,
    flat_seam,
    space_figures,
    starting,
)
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve
from drafting.geometry.points import FloatArray
from drafting.pieces.piece import MarkKind, Piece

# ---- A piece of cloth as a mesh: places of the flat piece, and where each comes to lie in space


class PartName(StrEnum):
    """The parts of a collar in space."""

    STAND = "stand"
    BEYOND = "button stand"
    WING = "wing"
    FALL = "fall"


@dataclass(frozen=True)
class SpaceMesh:
    """A piece in space: ``flat`` (n, m, 2) and ``places`` (n, m, 3), n from centre back forward and
    m from its seam to its free edge. ``code`` is that of the piece, ``part`` what it is called."""

    code: str
    part: PartName
    flat: FloatArray
    places: FloatArray

    def strains(self) -> FloatArray:
        """The stretch of every cell (n - 1, m - 1) that is farthest from none, as a share: 0.01
        is longer by a hundredth, -0.01 shorter."""
        lower = _stretches(self, (0, 0), (1, 0), (0, 1))
        upper = _stretches(self, (1, 1), (0, 1), (1, 0))
        both = np.concatenate((lower, upper), axis=-1) - 1.0
        worst = np.abs(both).argmax(axis=-1)[..., None]
        return np.asarray(np.take_along_axis(both, worst, axis=-1)[..., 0])


def _stretches(
    mesh: SpaceMesh, corner: tuple[int, int], one: tuple[int, int], two: tuple[int, int]
) -> FloatArray:
    """Principal stretches of one triangle of every cell (n - 1, m - 1, 2)."""
    flat = np.stack([_side(mesh.flat, corner, end) for end in (one, two)], axis=-1)
    bent = np.stack([_side(mesh.places, corner, end) for end in (one, two)], axis=-1)
    area = np.abs(np.linalg.det(flat))
    whole = area > 1e-6  # a corner where edges run together has cells of no area
    safe = np.where(whole[..., None, None], flat, np.eye(2))
    found = np.linalg.svd(bent @ np.linalg.inv(safe), compute_uv=False)
    return np.asarray(np.where(whole[..., None], found, 1.0))


def _side(rows: FloatArray, corner: tuple[int, int], end: tuple[int, int]) -> FloatArray:
    n, m = rows.shape[0] - 1, rows.shape[1] - 1

    def at(place: tuple[int, int]) -> FloatArray:
        return rows[place[0] : place[0] + n, place[1] : place[1] + m]

    return np.asarray(at(end) - at(corner))


def between(low: FloatArray, high: FloatArray, last: FloatArray) -> FloatArray:
    """A mesh (n, m, 2) between two edges (n, 2) whose last column runs along a third (m, 2), from
    the end of ``low`` to the end of ``high`` (S. A. Coons, 1967; from memory)."""
    across = np.linspace(0.0, 1.0, len(low))[:, None, None]
    up = np.linspace(0.0, 1.0, len(last))[None, :, None]
    plain = (1.0 - up) * low[:, None] + up * high[:, None]
    chord = (1.0 - up[0]) * last[0] + up[0] * last[-1]
    return np.asarray(plain + across * (last - chord)[None])


#: Stations on the seam at which a strip is sought, and at which it is then carried along it.
_SOUGHT, _CARRIED = 48, 192
_ACROSS, _BEYOND, _HIGH, _DEEP = 36, 4, 4, 5
_FINE = 200


@dataclass(frozen=True)
class WornCollar:
    """A collar in space. ``seam`` (n, 3) is the neck seam and ``seam_off`` (n,) how far it lies
    from where the neckline does, at even lengths from centre back to its end (or centre front);
    ``top_off`` (n,) how far the top edge of the stand is from the neck there. ``strip`` is the
    stand; ``front`` the centre front line (2, 3), ``None`` when the ends stop short of it."""

    ground: NeckGround
    meshes: tuple[SpaceMesh, ...]
    strip: Strip
    shares: FloatArray
    seam: FloatArray
    seam_off: FloatArray
    top_off: FloatArray
    front: FloatArray | None

    @property
    def numbers(self) -> dict[str, float]:
        """What is worth knowing (cm; strains as shares): how far the top edge is from the neck at
        both middles and at the side, how far the seam lies off at most, the worst strain."""
        side = self.ground.surface.side_share
        worst = max((mesh.strains().ravel() for mesh in self.meshes), key=lambda r: abs(r).max())
        return {
            "top_off_back": float(self.top_off[0]),
            "top_off_side": float(np.interp(side, self.shares, self.top_off)),
            "top_off_front": float(self.top_off[-1]),
            "seam_off_most": float(self.seam_off.max()),
            "seam_off_side": float(np.interp(side, self.shares, self.seam_off)),
            "seam_off_back": float(self.seam_off[0]),
            "seam_off_front": float(self.seam_off[-1]),
            "strain_most": float(worst[np.abs(worst).argmax()]),
        }


def worn_collar(collar: CollarDraft | None, neckline: Neckline) -> WornCollar:
    """A collar on the neck it was drafted for.

    Raises :class:`DraftError`, saying why, when there is nothing to place or no neck to place it
    on: no collar with a stand, a neckline that was taped, or one far outside the neck base.
    """
    if collar is None or collar.standing is None:
        raise _not_shown("only collars with a stand, band or wing are shown on the neck")
    if neckline.neck is None:
        raise _not_shown(
            "a taped neckline tells nothing of the neck",
            "Give the client's measurements to see the collar on her neck.",
        )
    piece = collar.pieces[0]
    first, second, *beyond = (edge.curve for edge in piece.named(EdgeName.NECK_SEAM))
    whole = flat_seam((first, second, *beyond), neckline.half, _CARRIED)
    known = _heights(whole, piece)
    surface = surface_under(neckline.neck, lambda s: np.interp(s * neckline.half, *known))
    ground = neck_ground(surface, neckline.half)
    if abs(ground.length - neckline.half) > 0.01:
        raise _not_shown(
            "this neckline does not lie at the neck base, so that no stand is shown on the neck"
        )
    sewn = first.length + second.length
    closed = neckline.half - sewn < 0.01
    bending = _stand_bending(ground, piece, (first, second), neckline.half, closed)
    if closed:
        bending = close(whole.upto_middle(), 1.0, bending)
    strip = bent_strip(whole, bending)
    meshes = _stand_meshes(strip, piece, sewn)
    if collar.standing.winged:
        meshes.append(_wing_mesh(strip, piece))
    if collar.standing.fall is not None:
        fall = collar.pieces[collar.standing.fall]
        meshes.append(_fall_mesh(ground, strip, _top(piece), fall))
    along = np.linspace(0.0, sewn, _ACROSS + 1)
    shares = along / neckline.half
    seam, _ = strip.point(whole.beside(along, np.zeros_like(along)))
    high, _ = strip.point(whole.beside(along, np.interp(along, *known)))
    off_neck = ground.off(shares)(high)[0]
    return WornCollar(
        ground=ground,
        meshes=tuple(meshes),
        strip=strip,
        shares=shares,
        seam=seam,
        seam_off=np.asarray(np.linalg.norm(seam - ground.aims(shares), axis=1)),
        top_off=off_neck,
        front=np.array([seam[-1], high[-1]]) if closed else None,
    )


def _not_shown(said: str, advice: str = "") -> DraftError:
    return DraftError(Problem(said, key="collar.kind", advice=advice))


# ---- the stand -----------------------------------------------------------------------------------


def _stand_bending(
    ground: NeckGround, piece: Piece, sewn: tuple[Curve, Curve], half: float, closed: bool
) -> Bending:
    """How the stand is bent, sought on the part that is sewn to the neckline."""
    seam = flat_seam(sewn, half, _SOUGHT)
    shares = seam.s / half
    height = np.maximum(np.interp(seam.s, *_heights(seam, piece)), 0.5)

    off = ground.off(shares)
    aim = ground.aims(shares)
    counts = space_figures()["neck_seam"]
    lying = Lying(
        seam, 1.0, aim, counts, height, lambda seam, top: (off(seam)[1], off(top)[0]), closed
    )
    return come_to_lie(lying, starting(seam, aim, ground.surface.back_slope))


def _heights(seam: FlatSeam, piece: Piece) -> tuple[FloatArray, FloatArray]:
    """Lengths of the seam, rising, and how high the stand is there; a wing is left out."""
    curves = [piece.edges[piece.place(EdgeName.COLLAR_END)].curve]
    curves += [mark.curve.reversed() for mark in piece.marks if mark.kind is MarkKind.FOLD]
    curves.append(_top(piece).reversed())
    rows = np.vstack([curve.xy(curve.samples(_FINE // 10)) for curve in curves])
    s, height = seam.above(rows)
    last = int(np.flatnonzero(s >= s.max() - 1e-6)[-1])
    return s[last:][::-1], height[last:][::-1]


def _top(piece: Piece) -> Curve:
    """The top edge from centre back forward."""
    named = piece.named(EdgeName.STAND_SEAM) or piece.named(EdgeName.OUTER_EDGE)
    return named[-1].curve.reversed()


def _stand_meshes(strip: Strip, piece: Piece, sewn: float) -> list[SpaceMesh]:
    """The stand as far as centre front, and what runs on beyond it."""
    parts = [(PartName.STAND, np.linspace(0.0, sewn, _ACROSS + 1))]
    end = sum(edge.length for edge in piece.named(EdgeName.NECK_SEAM))
    if end - sewn > 0.1:
        parts.append((PartName.BEYOND, np.linspace(sewn, end, _BEYOND + 1)))
    known = _heights(strip.seam, piece)
    up = np.linspace(0.0, 1.0, _HIGH + 1)
    made = []
    for part, along in parts:
        height = np.interp(along, *known)[:, None] * up
        flat = strip.seam.beside(np.broadcast_to(along[:, None], height.shape), height)
        made.append(_laid(strip, piece, part, flat))
    return made


def _laid(strip: Strip, piece: Piece, part: PartName, flat: FloatArray) -> SpaceMesh:
    places, _ = strip.point(flat.reshape(-1, 2))
    return SpaceMesh(piece.code, part, flat, places.reshape(*flat.shape[:2], 3))


# ---- wing and fall -------------------------------------------------------------------------------


def _wing_mesh(strip: Strip, piece: Piece) -> SpaceMesh:
    """The wing folded over its fold line, which is straight: the mirror image of its flat shape on
    the stand."""
    fold = next(mark.curve for mark in piece.marks if mark.kind is MarkKind.FOLD)
    root, front = (np.array([p.x, p.y]) for p in (fold.start, fold.end))
    tip_point = piece.named(EdgeName.OUTER_EDGE)[0].curve.end
    tip = np.array([tip_point.x, tip_point.y])
    share = np.linspace(0.0, 1.0, _BEYOND * 2 + 1)[:, None, None]
    down = np.linspace(0.0, 1.0, _HIGH + 1)[None, :, None]
    flat = (1.0 - down) * (root + share * (front - root)) + down * tip
    along = (front - root) / np.hypot(*(front - root))
    across = np.array([-along[1], along[0]])
    far = ((flat - root) @ across)[..., None]
    places, _ = strip.point((flat - 2.0 * far * across).reshape(-1, 2))
    return SpaceMesh(piece.code, PartName.WING, flat, places.reshape(*flat.shape[:2], 3))


def _fall_mesh(ground: NeckGround, strip: Strip, top: Curve, piece: Piece) -> SpaceMesh:
    """The upper collar, sewn along the stand's top edge and laid on the shoulders."""
    seam_curve = piece.named(EdgeName.STAND_SEAM)[0].curve
    seam = flat_seam([seam_curve], seam_curve.length, _SOUGHT)
    rows = top.xy(top.samples(_FINE))
    run = np.r_[0.0, np.cumsum(np.hypot(*np.diff(rows, axis=0).T))]
    shares = seam.s / seam.s[-1]

    def on_stand(share: FloatArray) -> FloatArray:
        at = np.column_stack([np.interp(share * run[-1], run, rows[:, k]) for k in (0, 1)])
        return strip.point(at)[0]

    aim = on_stand(shares)
    height = np.full_like(seam.s, piece.length(EdgeName.CENTRE_BACK))

    off = ground.off(shares)
    figures = space_figures()
    lying = Lying(seam, -1.0, aim, figures["fall_seam"], height, lambda _, low: (off(low)[1],))
    bending = come_to_lie(lying, starting(seam, aim, 0.0))
    fine = flat_seam([seam_curve], seam_curve.length, _CARRIED)
    hanging = bent_strip(fine, close(fine, -1.0, bending), -1.0)
    across = np.linspace(0.0, 1.0, _ACROSS // 2 + 1)
    outer = piece.named(EdgeName.OUTER_EDGE)[0].curve.reversed()
    flat = between(
        _along(seam_curve, across),
        _along(outer, across),
        _along(piece.named(EdgeName.COLLAR_END)[0].curve, np.linspace(0.0, 1.0, _DEEP + 1)),
    )
    places, _ = hanging.point(flat.reshape(-1, 2))
    begun = places.reshape(*flat.shape[:2], 3)
    begun[:, 0], begun[0, :, 0] = on_stand(across), 0.0
    normals = at_shares(ground.shares, ground.from_shoulders, across)

    lying_off = ground.off(across)
    rested = Resting(
        flat, begun, normals, lambda at: lying_off(np.swapaxes(at, 0, 1))[1].T
    ).come_to_rest()
    return SpaceMesh(piece.code, PartName.FALL, flat, rested)


def _along(curve: Curve, shares: FloatArray) -> FloatArray:
    """Places at shares of a curve's length."""
    rows = curve.xy(curve.samples(_FINE))
    run = np.r_[0.0, np.cumsum(np.hypot(*np.diff(rows, axis=0).T))]
    return np.column_stack([np.interp(shares * run[-1], run, rows[:, k]) for k in (0, 1)])
