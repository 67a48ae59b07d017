"""A strip in space is the flat piece, rolled: exact on cylinder and cone, and integrated anew."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from collars.stands.bends import drawn
from collars.worn.strips import (
    Bending,
    FlatSeam,
    Lying,
    Strip,
    bent_strip,
    close,
    come_to_lie,
    flat_seam,
    laid,
    starting,
)
from collars.worn.worn import PartName, SpaceMesh, between
from drafting.geometry.points import FloatArray


def even(length: float, turned: float, steps: int) -> FlatSeam:
    """A seam that turns evenly."""
    s = np.linspace(0.0, length, steps + 1)
    return laid(s, turned * s / length, length, np.zeros(2))


def ring(sharpness: float, slope: float) -> Bending:
    return Bending(np.array([np.log(sharpness)]), np.zeros(1), slope, 0.0, 0.0)


def mesh_of(strip: Strip, height: float, across: int, high: int) -> SpaceMesh:
    s = np.broadcast_to(np.linspace(0.0, strip.seam.middle, across)[:, None], (across, high))
    flat = strip.seam.beside(s, np.broadcast_to(np.linspace(0.0, height, high), s.shape))
    places, _ = strip.point(flat.reshape(-1, 2))
    return SpaceMesh("S", PartName.STAND, flat, places.reshape(across, high, 3))


@pytest.mark.parametrize("radius", [4.0, 6.0])
def test_a_straight_strip_is_a_cylinder(radius: float) -> None:
    strip = bent_strip(even(pi * radius, 0.0, 96), ring(1.0 / radius, 0.0))
    s, up = np.array([0.0, 3.0, 7.0, pi * radius]), np.array([0.0, 1.0, 2.5, 4.0])
    places, inward = strip.point(np.column_stack((s, up)))
    turn = s / radius
    on = np.column_stack((radius * np.sin(turn), radius * (1.0 - np.cos(turn)), up))
    assert places == pytest.approx(on, abs=1e-9)
    assert inward == pytest.approx(
        np.column_stack((-np.sin(turn), np.cos(turn), np.zeros(4))), abs=1e-9
    )


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("apex", [5.0, 20.0])
def test_an_evenly_bent_strip_is_a_cone(apex: float, side: float) -> None:
    radius, lean = 6.0, radians(apex)
    length = pi * radius
    seam = even(length, side * pi * sin(lean), 192)
    strip = bent_strip(seam, ring(cos(lean) / radius, lean), side)
    s, up = np.array([0.0, 4.0, 11.0, length]), np.array([0.0, 1.0, 2.0, 3.0])
    places, _ = strip.point(seam.beside(s, up))
    turn, away = s / radius, radius - side * up * sin(lean)
    on = np.column_stack((away * np.sin(turn), radius - away * np.cos(turn), side * up * cos(lean)))
    assert places == pytest.approx(on, abs=2e-4)
    assert abs(mesh_of(strip, 3.0, 97, 5).strains()).max() < 5e-4


def test_the_frame_agrees_with_an_integration_of_its_equations() -> None:
    bend, curve = drawn(7.75, 18.95, 1.2)
    bending = Bending(
        np.array([-1.8, 0.1, 0.3, -0.2, 0.1, 0.05]),
        np.array([0.1, -0.3, 0.1, 0.05, -0.05]),
        0.2,
        0.1,
        0.5,
    )
    strip = bent_strip(flat_seam([curve], curve.length, 192), bending)

    def change(s: float, state: FloatArray) -> FloatArray:
        share = np.array([s / bend.length])
        sharp = float(bending.curvature(share)[0])
        twist = sharp * np.tan(float(bending.turning(share)[0]))
        inward = float(bend.curvature(np.array([s]))[0])
        along, into, square = state[3:].reshape(3, 3)
        return np.concatenate(
            (
                along,
                inward * into + sharp * square,
                -inward * along + twist * square,
                -sharp * along - twist * into,
            )
        )

    start = np.r_[0.0, 0.1, 0.5, 1, 0, 0, 0, sin(0.2), cos(0.2), 0, cos(0.2), -sin(0.2)]
    run = solve_ivp(
        change, (0.0, bend.length), start, rtol=1e-10, atol=1e-12, max_step=0.1, method="DOP853"
    )
    assert strip.places[-1] == pytest.approx(run.y[:3, -1], abs=2e-3)
    assert strip.frames[-1].ravel() == pytest.approx(run.y[3:, -1], abs=1e-3)
    square = strip.frames @ np.swapaxes(strip.frames, 1, 2)
    assert square == pytest.approx(np.broadcast_to(np.eye(3), square.shape), abs=1e-10)


terms = st.floats(-0.25, 0.25)


@settings(max_examples=25)
@given(
    sharp=st.tuples(terms, terms, terms),
    turned=st.tuples(terms, terms),
    rise=st.floats(0.0, 2.5),
)
def test_any_strip_keeps_lengths_and_angles(
    sharp: tuple[float, ...], turned: tuple[float, ...], rise: float
) -> None:
    _, curve = drawn(7.0, 18.0, rise)
    bending = Bending(np.array([np.log(pi / 18.0), *sharp]), np.array(turned), 0.1, 0.0, 0.0)
    strip = bent_strip(flat_seam([curve], 18.0, 240), bending)
    coarse, fine = (mesh_of(strip, 2.0, count, 5) for count in (37, 145))
    if strip.room(fine.flat.reshape(-1, 2)) < 0.5:
        return
    worst = abs(coarse.strains()).max(), abs(fine.strains()).max()
    assert worst[1] < 1.5e-3
    assert worst[1] < 0.5 * worst[0] + 2e-4  # only the chords of the cells: finer, less


def test_a_strip_finds_the_cone_it_was_cut_for() -> None:
    radius, lean = 6.0, radians(9.0)
    seam = even(pi * radius, pi * sin(lean), 48)
    turn = seam.s / radius
    aim = np.column_stack(
        (radius * np.sin(turn), radius * (1.0 - np.cos(turn)), np.zeros_like(turn))
    )
    lying = Lying(seam, 1.0, aim, 1.0, np.full_like(turn, 3.0), lambda seam, top: ())
    bent = come_to_lie(lying, starting(seam, aim, 0.0))
    strip = bent_strip(seam, close(seam, 1.0, bent))
    assert strip.places == pytest.approx(aim, abs=0.02)
    assert strip.places[-1, 0] == pytest.approx(0.0, abs=1e-9)
    assert strip.frames[-1, 0] == pytest.approx(np.array([-1.0, 0.0, 0.0]), abs=1e-9)
    assert bent.slope == pytest.approx(lean, abs=0.02)


def test_places_of_a_piece_are_found_over_its_seam() -> None:
    _, curve = drawn(6.0, 18.0, 2.0)
    seam = flat_seam([curve], 18.0, 96)
    s, up = np.linspace(0.0, 18.0, 7), np.array([0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0])
    found = seam.above(seam.beside(s, up))
    assert found[0] == pytest.approx(s, abs=2e-3)
    assert found[1] == pytest.approx(up, abs=2e-3)
    assert seam.xy[-1] == pytest.approx(np.array([curve.end.x, curve.end.y]), abs=1e-3)


def test_a_seam_runs_straight_on_to_its_last_step() -> None:
    _, curve = drawn(6.0, 18.0, 2.0)
    seam = flat_seam([curve], 10.0, 48)
    assert seam.s[-1] >= 18.0 - 1e-9
    assert seam.upto_middle().s[-1] == pytest.approx(10.0)
    assert seam.heading[-1] == pytest.approx(curve.end_heading.angle, abs=1e-3)


@pytest.mark.parametrize(("across", "up"), [(1.03, 1.0), (1.0, 0.96), (1.02, 0.99)])
def test_strain_is_what_a_cell_was_stretched_by(across: float, up: float) -> None:
    x, y = np.meshgrid(np.linspace(0.0, 4.0, 5), np.linspace(0.0, 2.0, 3), indexing="ij")
    flat = np.stack((x, y), axis=-1)
    places = np.stack((np.zeros_like(x), across * x, up * y), axis=-1)
    mesh = SpaceMesh("S", PartName.FALL, flat, places)
    most = max((across - 1.0, up - 1.0), key=abs)
    assert mesh.strains() == pytest.approx(np.full((4, 2), most), abs=1e-12)
    assert replace(mesh, places=places / (across, across, across)).strains() == pytest.approx(
        np.full((4, 2), up / across - 1.0), abs=1e-12
    )


def test_a_mesh_between_edges_runs_along_all_of_them() -> None:
    low = np.column_stack((np.linspace(0.0, 4.0, 5), np.zeros(5)))
    high = np.column_stack((np.linspace(0.0, 5.0, 5), np.full(5, 3.0)))
    last = np.array([[4.0, 0.0], [5.5, 1.5], [5.0, 3.0]])
    mesh = between(low, high, last)
    assert mesh[:, 0] == pytest.approx(low)
    assert mesh[:, -1] == pytest.approx(high)
    assert mesh[-1] == pytest.approx(last)
