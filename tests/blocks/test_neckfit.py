"""The neckline against the neck: every cure is exact, or refused with its reason."""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.neckline.fit import FITS, fit_neckline, limits
from blocks.neckline.on_block import NeckChange, NeckFrame
from drafting.errors import DraftError
from tests.strategies import bodies

METHODS = st.sampled_from(method_names())
BODY = {
    "bust_girth": 92.0,
    "waist_girth": 74.0,
    "back_waist_length": 39.0,
    "neck_base_girth": 37.0,
    "neck_girth": 33.0,
}


def frame_of(taken: dict[str, float], chosen: str) -> NeckFrame:
    return draft_bodice(complete(taken), BlockWish(chosen)).frame


@settings(max_examples=30)
@given(taken=bodies(), chosen=METHODS, ease=st.sampled_from([0.0, 0.5, 2.0]))
def test_each_cure_is_exact_and_stays_within_its_limits(
    taken: dict[str, float], chosen: str, ease: float
) -> None:
    frame, known = frame_of(taken, chosen), limits()
    target = taken["neck_base_girth"] + ease
    _, fit = fit_neckline(frame, target=target, neck_girth=taken["neck_girth"])

    assert fit.applied is None
    assert fit.fitted == fit.drafted == 2.0 * frame.half()
    assert fit.off == fit.drafted - target
    assert tuple(cure.key for cure in fit.corrections) == FITS
    for cure in fit.corrections:
        if cure.change is None:
            assert "still" in cure.refused or "already narrower" in cure.refused
            assert not cure.said
            continue
        moved = frame.changed(cure.change)
        assert not cure.refused
        assert 2.0 * moved.half() == pytest.approx(target, abs=1e-6)
        assert -known["front_lower_most"] <= cure.change.front_raise <= known["front_raise_most"]
        assert -known["side_narrow_most"] <= cure.change.side_shift <= known["side_widen_most"]
        assert moved.depth >= known["front_depth_least"] - 1e-9
        round_neck = taken["neck_girth"] / (2.0 * pi)
        assert moved.width >= known["neck_share_least"] * round_neck - 1e-9
        assert cure.change.back_lower == 0.0


@settings(max_examples=20)
@given(taken=bodies(), chosen=METHODS)
def test_a_correction_in_proportion_keeps_the_necks_shape(
    taken: dict[str, float], chosen: str
) -> None:
    frame = frame_of(taken, chosen)
    _, fit = fit_neckline(frame, target=taken["neck_base_girth"], neck_girth=taken["neck_girth"])
    both = fit.corrections[FITS.index("both")].change
    if both is None:
        assert fit.corrections[FITS.index("both")].refused
        return
    run = frame.width / cos(frame.front_slope)

    assert both.front_raise / frame.depth == pytest.approx(-both.side_shift / run, abs=1e-12)


@pytest.mark.parametrize("chosen", method_names())
@pytest.mark.parametrize(
    "step",
    [NeckChange(front_raise=0.25), NeckChange(side_shift=-0.25), NeckChange(back_lower=-0.1)],
    ids=["front up", "sides in", "back up"],
)
def test_every_move_inwards_shortens_the_neckline(chosen: str, step: NeckChange) -> None:
    frame = frame_of(BODY, chosen)
    halves = []
    for _ in range(9):
        halves.append(frame.half())
        frame = frame.changed(step)

    assert all(long > short for long, short in pairwise(halves))


def test_moves_add_up() -> None:
    frame = frame_of(BODY, "direct-measure")
    one, two = NeckChange(0.5, -0.3, 0.2), NeckChange(-1.0, 0.6, 0.1)
    twice, once = frame.changed(one).changed(two), frame.changed(one.plus(two))

    assert twice.front_side.to(once.front_side) < 1e-12
    assert twice.back_side.to(once.back_side) < 1e-12
    assert twice.front_neck.to(once.front_neck) < 1e-12
    assert twice.back_neck.to(once.back_neck) < 1e-12


@pytest.mark.parametrize(
    ("target", "fit", "said"),
    [
        (20.0, "front", r"front neck point moved as far .* too long"),
        (20.0, "side", r"side neck moved as far .* too long"),
        (20.0, "both", r"width and depth changed as far .* too long"),
        (60.0, "front", r"front neck point moved as far .* too short"),
        (60.0, "side", r"side neck moved as far .* too short"),
        (60.0, "both", r"width and depth changed as far .* too short"),
    ],
)
def test_a_neck_out_of_reach_is_refused_with_what_is_left(
    target: float, fit: str, said: str
) -> None:
    frame = frame_of(BODY, "bust-proportional")
    with pytest.raises(DraftError, match=said) as caught:
        fit_neckline(frame, target=target, neck_girth=33.0, fit=fit)

    assert "none of the single corrections" in caught.value.problems[0].accepted


def test_a_neck_already_too_narrow_is_not_narrowed_or_widened_by_guess() -> None:
    frame = frame_of(BODY, "direct-measure")
    _, fit = fit_neckline(frame, target=36.0, neck_girth=80.0)
    side = fit.corrections[FITS.index("side")]

    assert side.change is None
    assert side.refused


def test_a_neckline_that_fits_is_left_alone() -> None:
    frame = frame_of(BODY, "direct-measure")
    same, fit = fit_neckline(frame, target=2.0 * frame.half(), neck_girth=33.0, fit="both")

    assert [cure.said for cure in fit.corrections] == ["nothing to move"] * 3
    assert same.front_side == frame.front_side
    assert same.front_neck == frame.front_neck


@pytest.mark.parametrize(
    ("style", "key"),
    [
        (NeckChange(front_raise=1.0), "front_lower"),
        (NeckChange(front_raise=-20.1), "front_lower"),
        (NeckChange(side_shift=-0.1), "side_widen"),
        (NeckChange(side_shift=8.1), "side_widen"),
        (NeckChange(back_lower=-0.1), "back_lower"),
        (NeckChange(back_lower=15.1), "back_lower"),
    ],
)
def test_a_style_beyond_its_limits_is_refused(style: NeckChange, key: str) -> None:
    with pytest.raises(DraftError, match="more than a neckline can move") as caught:
        draft_bodice(complete(BODY), BlockWish("direct-measure", style=style))

    assert [p.key for p in caught.value.problems] == [f"neckline.style.{key}"]


def test_a_style_must_leave_some_shoulder() -> None:
    body = complete(BODY | {"shoulder_length": 11.0})
    with pytest.raises(DraftError, match=r"leaves only 3\.5 cm of shoulder"):
        draft_bodice(body, BlockWish("direct-measure", style=NeckChange(side_shift=7.5)))


@settings(max_examples=25)
@given(
    taken=bodies(),
    chosen=METHODS,
    front=st.floats(0.5, 8.0),
    side=st.floats(0.0, 3.0),
    back=st.floats(0.0, 4.0),
)
def test_a_style_neckline_is_longer_than_the_fitted_one(
    taken: dict[str, float], chosen: str, front: float, side: float, back: float
) -> None:
    """A neckline opened everywhere is longer; the account tells both lengths apart."""
    back = min(back, side)  # a back lowered without opening the sides may well shorten it
    body = complete(taken)
    style = NeckChange(front_raise=-front, side_shift=side, back_lower=back)
    draft = draft_bodice(body, BlockWish(chosen, style=style))

    assert draft.fit.finished > draft.fit.fitted
    assert draft.fit.finished == pytest.approx(2.0 * draft.neckline.half, abs=1e-9)
    assert draft.fit.fitted == draft.fit.drafted
