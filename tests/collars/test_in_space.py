"""Collars placed on necks: exact pieces, closed in front, out of the body, sewn where they are."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi

import numpy as np
import pytest
from hypothesis import given, settings

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.body.body import complete
from blocks.edges import EdgeName
from blocks.neck.measures import NeckShape
from blocks.neck.surface import neck_surface
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.registry import COLLARS
from collars.worn.drape import Resting
from collars.worn.neck_ground import neck_ground
from collars.worn.strips import space_figures
from collars.worn.worn import PartName, SpaceMesh, WornCollar, worn_collar
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from tests.strategies import bodies

STANDING = ("two-piece shirt", "band", "wing")
WOMAN = {
    "bust_girth": 94.0,
    "waist_girth": 77.5,
    "back_waist_length": 39.6,
    "neck_girth": 33.2,
    "neck_base_girth": 37.4,
    "collar_top_girth": 34.3,
    "collar_top_height": 2.8,
}
_FIT = BlockWish(method="bust-proportional", fit="both", neck_ease=0.5)


@cache
def neckline() -> Neckline:
    return draft_bodice(complete(WOMAN), _FIT).neckline


def drafted(kind: str, **wishes: float | str) -> CollarDraft:
    return COLLARS[kind].draft(CollarBase(neckline()), wishes)


@cache
def placed(kind: str) -> WornCollar:
    return worn_collar(drafted(kind), neckline())


def part(space: WornCollar, name: PartName) -> FloatArray:
    return next(mesh.places for mesh in space.meshes if mesh.part is name)


@pytest.mark.parametrize("kind", STANDING)
def test_a_stand_is_its_flat_piece_rolled(kind: str) -> None:
    space = placed(kind)
    for mesh in space.meshes:
        if mesh.part in (PartName.STAND, PartName.BEYOND):
            assert abs(mesh.strains()).max() < 6e-3, mesh.part
    stand = next(mesh for mesh in space.meshes if mesh.part is PartName.STAND)
    # finer cells: what was left came of their chords, and the surface itself is exact
    s = np.linspace(0.0, neckline().half, 289)
    height = np.broadcast_to(np.linspace(0.0, 2.0, 9), (289, 9))
    flat = space.strip.seam.beside(np.broadcast_to(s[:, None], height.shape), height)
    places, _ = space.strip.point(flat.reshape(-1, 2))
    fine = replace(stand, flat=flat, places=places.reshape(289, 9, 3))
    assert abs(fine.strains()).max() < 2e-3
    assert space.strip.room(stand.flat.reshape(-1, 2)) > 0.3  # no ruling meets another


@pytest.mark.parametrize("kind", STANDING)
def test_any_line_ruled_on_the_flat_piece_is_as_long_on_the_neck(kind: str) -> None:
    strip = placed(kind).strip
    random = np.random.default_rng(5)
    for _ in range(12):
        s, height = random.uniform(0.5, neckline().half - 0.5, 2), random.uniform(0.0, 2.2, 2)
        start, end = strip.seam.beside(s, height)
        ruled = start + np.linspace(0.0, 1.0, 600)[:, None] * (end - start)
        places, _ = strip.point(ruled)
        length = np.linalg.norm(np.diff(places, axis=0), axis=1).sum()
        assert length == pytest.approx(np.hypot(*(end - start)), rel=1e-3)


@pytest.mark.parametrize("kind", STANDING)
def test_the_stand_is_as_long_and_as_high_as_its_piece(kind: str) -> None:
    collar, places = drafted(kind), part(placed(kind), PartName.STAND)
    piece = collar.pieces[0]
    walked = np.linalg.norm(np.diff(places[:, 0], axis=0), axis=1).sum()
    assert walked == pytest.approx(neckline().half, abs=0.03)
    height = np.linalg.norm(places[0, -1] - places[0, 0])
    assert height == pytest.approx(piece.length(EdgeName.CENTRE_BACK), abs=0.01)
    top = np.linalg.norm(np.diff(places[:, -1], axis=0), axis=1).sum()
    assert top == pytest.approx(collar.numbers["top_edge"], abs=0.05)


@pytest.mark.parametrize("kind", STANDING)
def test_it_closes_at_centre_front_on_the_middle(kind: str) -> None:
    space = placed(kind)
    stand = part(space, PartName.STAND)
    assert abs(stand[0, :, 0]).max() < 1e-9
    assert abs(stand[-1, :, 0]).max() < 2e-3
    assert abs(space.strip.frames[space.strip.seam.upto_middle().s.size - 1, 0, 1:]).max() < 1e-9
    assert (stand[1:-1, :, 0] > 0.0).all()


@pytest.mark.parametrize("kind", STANDING)
def test_it_keeps_out_of_the_body(kind: str) -> None:
    space = placed(kind)
    assert space.top_off.min() > -0.25
    over = space.ground.off(space.shares)(space.seam)[1]
    assert over.min() > -0.25
    assert space.numbers["seam_off_most"] < 1.6


def test_what_a_wide_top_edge_has_to_spare_lies_before_the_throat() -> None:
    wide, close = (
        worn_collar(drafted("band", rise=rise), neckline()).numbers for rise in (0.0, 2.7)
    )
    spare = {key: wide[key] - close[key] for key in ("top_off_back", "top_off_front")}
    assert sum(spare.values()) > 0.3
    assert close["top_off_front"] > close["top_off_side"]


def test_the_fall_is_sewn_to_the_stand_and_lies_over_it() -> None:
    usual = drafted("two-piece shirt", rise_by="rule", fall_rise_by="rule")
    space = worn_collar(usual, neckline())
    stand, fall = (part(space, name) for name in (PartName.STAND, PartName.FALL))
    strains = next(m for m in space.meshes if m.part is PartName.FALL).strains()
    assert abs(strains).max() < 0.12  # at the outer edge, which is short for these shoulders
    assert np.median(abs(strains)) < 0.015
    assert np.unravel_index(abs(strains).argmax(), strains.shape)[1] == strains.shape[1] - 1
    assert fall[0, 0] == pytest.approx(stand[0, -1], abs=1e-6)
    assert fall[-1, 0] == pytest.approx(stand[-1, -1], abs=0.02)
    assert fall[0, -1, 2] < fall[0, 0, 2] - 2.0  # hangs down
    assert fall[0, -1, 1] < stand[0, 0, 1] + 0.3  # behind the stand at the nape
    assert fall[-1, -1, 0] > 1.0  # the point on her right side
    over = space.ground.off(np.linspace(0.0, 1.0, len(fall)))(np.swapaxes(fall, 0, 1))[1]
    assert over.min() > -0.35


def test_cloth_with_nothing_in_its_way_stays_as_it_is_and_gives_way_to_a_wall() -> None:
    x, y = np.meshgrid(np.linspace(0.0, 8.0, 9), np.linspace(0.0, 4.0, 5), indexing="ij")
    flat = np.stack((x, -y), axis=-1)
    begun = np.stack((x, np.zeros_like(x), -y), axis=-1)
    normals = np.broadcast_to(np.array([0.0, 1.0, 0.0]), (9, 3))
    free = Resting(flat, begun, normals, lambda at: at[..., 1] + 50.0).come_to_rest()
    assert free == pytest.approx(begun, abs=1e-2)

    def wall(at: FloatArray) -> FloatArray:
        """It stands in the way of the lower edge, slanting out."""
        return np.asarray((at[..., 1] + 0.3 * (at[..., 2] + 2.0)) / np.hypot(1.0, 0.3))

    slanted = np.broadcast_to(np.array([0.0, 1.0, 0.3]) / np.hypot(1.0, 0.3), (9, 3))
    pushed = Resting(flat, begun, slanted, wall).come_to_rest()
    assert wall(pushed).min() > -0.2 > wall(begun).min()
    mesh = SpaceMesh("F", PartName.FALL, flat, pushed)
    assert abs(mesh.strains()).max() < 0.03  # it swings out on its seam, and hardly gives


def test_a_wider_fall_comes_farther_over_the_shoulders() -> None:
    def tip(fall_back: float) -> float:
        collar = drafted("two-piece shirt", fall_back=fall_back)
        return float(part(worn_collar(collar, neckline()), PartName.FALL)[0, -1, 1])

    assert tip(6.0) < tip(4.2) - 0.5


def test_a_wing_is_folded_on_its_line_and_keeps_its_shape() -> None:
    collar, space = drafted("wing"), placed("wing")
    wing = next(mesh for mesh in space.meshes if mesh.part is PartName.WING)
    tip = wing.places[0, -1]
    root, front = wing.places[0, 0], wing.places[-1, 0]
    edges = [edge.length for edge in collar.pieces[0].named(EdgeName.OUTER_EDGE)[:2]]
    # straight through the air it is shorter than along the bent cloth, by little
    assert 0.94 * edges[0] < np.linalg.norm(tip - front) <= edges[0] + 0.01
    assert 0.94 * edges[1] < np.linalg.norm(tip - root) <= edges[1] + 0.01
    assert tip[2] < front[2]


def test_a_band_that_ends_short_leaves_the_middle_open() -> None:
    space = worn_collar(drafted("band", ends="short", gap=1.0), neckline())
    assert space.front is None
    end = part(space, PartName.STAND)[-1, 0]
    assert 0.5 < end[0] < 1.6


@pytest.mark.parametrize(
    ("collar", "line", "why"),
    [
        (None, {}, "only collars with a stand"),
        ("flat", {}, "only collars with a stand"),
        ("band", {"neck": None}, "taped"),
        ("band", {"front_arc": 30.0}, "does not lie at the neck base"),
    ],
)
def test_what_cannot_be_placed_is_refused_with_the_reason(
    collar: str | None, line: dict[str, float | None], why: str
) -> None:
    made = None if collar is None else drafted("band")
    if collar == "flat" and made is not None:
        made = replace(made, standing=None)
    changed = replace(neckline(), **line)  # type: ignore[arg-type]
    with pytest.raises(DraftError, match=why):
        worn_collar(made, changed)


@pytest.mark.parametrize("longer", [0.0, 1.0, 3.0, -1.0])
def test_the_neckline_lies_on_the_shoulders_as_long_as_it_is(longer: float) -> None:
    radius = 6.0
    surface = neck_surface(NeckShape(2 * pi * radius, 34.0, 5.0, 0.0, 0.5, 0.0, radius), 5.0)
    half = pi * radius + longer
    ground = neck_ground(surface, half)
    assert ground.length == pytest.approx(half, abs=1e-3)  # a chain of 240 chords
    assert (ground.outward > 0.0) == (longer > 0.0) or longer == 0.0
    apart = np.hypot(ground.target[:, 0], ground.target[:, 1] - radius)
    assert apart.max() < radius + max(longer, 0.0) + 1e-3
    steps = np.linalg.norm(np.diff(ground.target, axis=0), axis=1)
    assert steps == pytest.approx(np.full(len(steps), half / len(steps)), rel=1e-3)
    off = ground.off(ground.shares)(ground.ring + ground.up + 0.5 * ground.from_neck)
    assert off[0] == pytest.approx(np.full(len(ground.ring), 0.5), abs=1e-9)


def test_back_and_chest_fall_by_their_own_slopes_and_the_shoulder_by_hers(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    slopes = {"back_slope": 0.4, "chest_slope": 1.1}
    figures = {**space_figures(), **slopes}
    monkeypatch.setattr("collars.worn.neck_ground.space_figures", lambda: figures)
    shape = NeckShape(37.7, 34.0, 5.0, 0.0, 0.5, 0.0, 6.0, shoulder_slope=0.35)
    ground = neck_ground(neck_surface(shape, 3.0), 18.85)
    fallen = -np.arcsin(ground.out[:, 2])
    at_side = int(np.argmin(np.abs(ground.shares - 0.5)))
    assert fallen[[0, at_side, -1]] == pytest.approx([0.4, 0.35, 1.1], abs=1e-3)


@settings(max_examples=6)
@given(bodies())
def test_whoever_it_is_for_it_closes_without_stretch(body: dict[str, float]) -> None:
    line = draft_bodice(complete(body), _FIT).neckline
    try:
        collar = COLLARS["band"].draft(CollarBase(line), {})
        space = worn_collar(collar, line)
    except DraftError:
        return
    stand = space.meshes[0]
    assert abs(stand.strains()).max() < 0.015
    assert abs(stand.places[-1, :, 0]).max() < 5e-3
    assert all(np.isfinite(value) for value in space.numbers.values())
