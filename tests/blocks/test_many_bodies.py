"""Many bodies at once: every number, verdict and refusal is that of the body drafted by itself."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks import many_bodies
from blocks.bodice import BlockWish, BodiceDraft, draft_bodice, neck_frame
from blocks.body import complete
from blocks.checks import check_bodice
from blocks.ease import EaseWish
from blocks.making_up import make_up
from blocks.many_bodies import ManyBlocks, complete_many, draft_many
from blocks.many_checks import check_many
from blocks.many_necklines import ManyFits, Reach, fit_many
from blocks.methods import method_names
from blocks.neckfit import FITS, correction_by
from drafting.checks import Verdict
from drafting.errors import DraftError
from tests.long import examples
from tests.populations import population
from tests.strategies import bodies, scrawls

SAME = 1e-9
METHODS = pytest.mark.parametrize("method", method_names())


def matches(blocks: ManyBlocks, k: int, one: BodiceDraft) -> None:
    """Body ``k`` of many against its own draft."""
    fits = blocks.fits
    assert blocks.quantities.keys() == one.quantities.keys()
    for key, value in one.quantities.items():
        assert blocks.quantities[key][k] == pytest.approx(value, abs=SAME)
    for mine, theirs in (
        (fits.drafted[k], one.fit.drafted),
        (fits.target[k], one.fit.target),
        (fits.fitted[k], one.fit.fitted),
        (fits.back[k], one.neckline.back_arc),
        (fits.front[k], one.neckline.front_arc),
        (blocks.waists.closed[k], one.waist.closed.length),
    ):
        assert mine == pytest.approx(theirs, abs=SAME)
    start = neck_frame(one.quantities)
    for cure in one.fit.corrections:
        found = fits.corrections[cure.key]
        assert (found.reach[k] == Reach.FITS) == (cure.change is not None), cure
        if cure.change is not None:
            change = correction_by(start, cure.key, float(found.amount[k]))
            assert change.front_raise == pytest.approx(cure.change.front_raise, abs=SAME)
            assert change.side_shift == pytest.approx(cure.change.side_shift, abs=SAME)
        else:
            assert {
                Reach.TOO_NARROW: "already narrower",
                Reach.STILL_LONG: "too long",
                Reach.STILL_SHORT: "too short",
            }.get(Reach(found.reach[k]), "") in cure.refused


def by_itself(blocks: ManyBlocks, k: int) -> BodiceDraft | None:
    """Body ``k`` drafted by itself; ``None`` where it is refused, which must be told alike."""
    try:
        one = draft_bodice(blocks.bodies.body(k), blocks.wish)
    except DraftError as error:
        assert blocks.refused[k], error
        assert blocks.reason(k) == str(error)
        return None
    assert not blocks.refused[k]
    assert blocks.reason(k) == ""
    return one


@METHODS
@pytest.mark.parametrize("fit", ["none", *FITS])
def test_each_of_a_population_is_drafted_as_by_itself(method: str, fit: str) -> None:
    count = examples(20)
    blocks = draft_many(complete_many(population(count)), BlockWish(method, fit=fit))

    for k in range(count):
        one = by_itself(blocks, k)
        if one is not None:
            matches(blocks, k, one)


@settings(max_examples=examples(15))
@given(taken=bodies(), method=st.sampled_from(method_names()), fit=st.sampled_from(("none", *FITS)))
def test_a_body_among_others_is_drafted_as_by_itself(
    taken: dict[str, float], method: str, fit: str
) -> None:
    others = population(3)
    among = {key: np.append(others[key], value) for key, value in taken.items()}
    blocks = draft_many(complete_many(among), BlockWish(method, fit=fit, neck_ease=1.0))
    one = by_itself(blocks, 3)

    if one is not None:
        matches(blocks, 3, one)


@settings(max_examples=examples(30))
@given(
    taken=scrawls(), method=st.sampled_from(method_names()), fit=st.sampled_from(("none", "both"))
)
def test_what_no_woman_measures_is_refused_for_the_same_reason(
    taken: dict[str, float], method: str, fit: str
) -> None:
    two = {key: np.array([value, value]) for key, value in taken.items()}
    wish = BlockWish(method, fit=fit)
    try:
        blocks = draft_many(complete_many(two), wish)
    except DraftError as error:
        with pytest.raises(DraftError) as caught:
            draft_bodice(complete(taken), wish)
        assert str(caught.value) == str(error)
        return
    one = by_itself(blocks, 1)

    if one is not None:
        matches(blocks, 1, one)


@METHODS
def test_far_bodies_are_refused_and_told_from_the_rest(method: str) -> None:
    """Twice as far from the mean as women are: some are refused, most are not."""
    count = examples(30)
    blocks = draft_many(complete_many(population(count, spread=2.2)), BlockWish(method, fit="side"))
    drafted = [by_itself(blocks, k) for k in range(count)]

    assert 0 < sum(one is None for one in drafted) < count
    for k, one in enumerate(drafted):
        if one is not None:
            matches(blocks, k, one)


@METHODS
@pytest.mark.parametrize("fit", ["none", "side"])
def test_what_arrays_make_nothing_of_is_taken_from_the_draft_by_itself(
    method: str, fit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lost(*given: Any) -> ManyFits:
        fits = fit_many(*given)
        for row in (fits.drafted, fits.back, fits.front):
            row[:] = np.nan
        for found in fits.corrections.values():
            found.amount[:] = np.nan
        return replace(fits, doubtful=np.ones_like(fits.doubtful))

    monkeypatch.setattr(many_bodies, "fit_many", lost)
    blocks = draft_many(complete_many(population(8, seed=5)), BlockWish(method, fit=fit))
    drafted = [by_itself(blocks, k) for k in range(8)]

    assert any(drafted)
    for k, one in enumerate(drafted):
        if one is not None:
            matches(blocks, k, one)


@METHODS
def test_checks_are_those_of_the_body_by_itself(method: str) -> None:
    count = examples(25)
    taken = population(count, seed=7)
    taken["waist_girth"] = taken["waist_girth"] + np.linspace(-22.0, 12.0, count)
    del taken["neck_base_girth" if method == "bust-proportional" else "neck_girth"]
    blocks = draft_many(complete_many(taken), BlockWish(method))
    many = check_many(blocks)
    seen = set()
    for k in range(count):
        one = by_itself(blocks, k)
        if one is None:
            continue
        checks = {check.name: check for check in check_bodice(one, *make_up(one))}
        for check in many:
            same = checks[check.name]
            assert check.measured[k] == pytest.approx(same.measured, abs=SAME)
            assert check.target[k] == pytest.approx(same.target, abs=SAME)
            assert check.failed[k] == (same.verdict is Verdict.FAIL)
            assert check.noted[k] == (same.verdict is Verdict.NOTE)
            seen.add((check.name.split(" (")[0], same.verdict))

    assert len(many) == 4
    assert len(seen) > 4 or method == "direct-measure"  # whose neckline is the client's


def test_estimates_are_those_of_one_body() -> None:
    taken = {key: values for key, values in population(4).items() if key != "neck_girth"}
    bodies_ = complete_many(taken)

    for k in range(4):
        one = bodies_.body(k)
        assert bodies_.values.keys() == one.values.keys()
        for key, value in one.values.items():
            assert bodies_.values[key][k] == pytest.approx(value, abs=1e-12)


def test_only_plain_blocks_are_drafted_together() -> None:
    wish = BlockWish("direct-measure")
    for other in (replace(wish, neck_shape="v"), replace(wish, ease=EaseWish("easy"))):
        with pytest.raises(ValueError, match="plain"):
            draft_many(complete_many(population(2)), other)


def test_a_measurement_that_all_lack_is_said_as_for_one() -> None:
    taken = {"bust_girth": np.array([92.0, 95.0]), "waist_girth": np.array([70.0, 72.0])}
    with pytest.raises(DraftError) as many:
        draft_many(complete_many(taken), BlockWish("bust-proportional"))

    assert many.value.problems[0].key == "back_waist_length"
