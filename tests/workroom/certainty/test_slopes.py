"""Slopes of quantities, neckline and collar: closed forms and solved steps against differences of
the whole draft, and of the formulas against sympy."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from blocks.bodice.methods import method, method_names
from blocks.neckline.on_block import NeckChange
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from drafting.library import data_folder
from garment.garment import Garment, make_garment
from garment.wishes import CollarWish, Commission
from tests.strategies import bodies
from tests.workroom.certainty.cards import client, with_collar
from workroom.card.card import read_card_text
from workroom.certainty import drafts as moving_module
from workroom.certainty import sure as sure_module
from workroom.certainty.drafts import (
    DRAFT_STEP,
    fine_slope,
    moved_body,
    numbers_of,
    order_at,
    row,
    slope,
)
from workroom.certainty.inputs import quantity_slopes, roots_of, step_of
from workroom.certainty.neckline import neckline_slopes
from workroom.certainty.sure import certainty

TAPED = (
    'client = "Ines"\ndate = 2026-03-14\n[measurements]\nneck_girth = 34\n'
    '[neckline]\nback_arc = 8\nfront_arc = 11.5\n[collar]\nkind = "band"\n'
)


def wearing(body: Mapping[str, float], name: str = "demo") -> Commission:
    return replace(client(name), measurements=dict(body))


def drafted(card: Commission) -> Garment:
    try:
        return make_garment(card)
    except DraftError:
        assume(False)
        raise


def whole_slopes(
    card: Commission, root: str, read: Callable[[Garment], FloatArray], step: float = 0.05
) -> FloatArray:
    return fine_slope(lambda move: read(order_at(card, {root: move})), step_of(root, step))


def neck_numbers(order: Garment) -> FloatArray:
    assert order.bodice is not None
    fit, line = order.bodice.fit, order.neckline
    return np.array((line.back_arc, line.front_arc, fit.drafted, fit.fitted))


@settings(max_examples=20, deadline=None)
@given(body=bodies(), missing=st.sets(st.sampled_from(["stature", "neck_girth", "hip_girth"])))
def test_an_estimated_measurement_moves_with_those_it_is_estimated_from(
    body: dict[str, float], missing: set[str]
) -> None:
    taken = {key: value for key, value in body.items() if key not in missing}
    roots = roots_of(taken)
    for root in roots.readings:
        keys = list(roots.body)
        told = np.array([roots.body[key].get(root, 0.0) for key in keys])

        def values(move: float, root: str = root, keys: list[str] = keys) -> FloatArray:
            body = moved_body(taken, {root: move})
            return np.array([body[key] for key in keys])

        by_differences = fine_slope(values, step_of(root, 0.02))
        assert by_differences == pytest.approx(told, rel=1e-9, abs=1e-10)


@settings(max_examples=12, deadline=None)
@given(body=bodies(), chosen=st.sampled_from(method_names()))
def test_quantities_move_as_their_formulas_say(body: dict[str, float], chosen: str) -> None:
    card = wearing(body)
    order = drafted(replace(card, garment=replace(card.garment, method=chosen)))
    assert order.bodice is not None
    roots, sheet = roots_of(body), method(chosen).sheet
    quantities = order.bodice.quantities
    exact = quantity_slopes(quantities, roots)
    names = list(quantities)

    def at(root: str) -> Callable[[float], FloatArray]:
        def values(move: float) -> FloatArray:
            found = sheet.evaluate(
                {
                    key: moved_body(body, {root: move})[key] if key in roots.body else value
                    for key, value in quantities.inputs.items()
                }
            )
            return np.array([found[name] for name in names])

        return values

    for root in sorted({root for slopes in exact.values() for root in slopes}):
        by_differences = fine_slope(at(root), step_of(root, 0.02))
        told = np.array([exact[name].get(root, 0.0) for name in names])
        assert by_differences == pytest.approx(told, rel=1e-9, abs=2e-10)


@pytest.mark.parametrize("chosen", method_names())
def test_quantities_move_as_sympy_says(chosen: str) -> None:
    order = make_garment(replace(client(), garment=replace(client().garment, method=chosen)))
    assert order.bodice is not None
    quantities = order.bodice.quantities
    gradient = quantities.method.sheet.gradient(quantities.inputs)
    for name in ("front_neck_depth", "back_shoulder_slope", "front_shoulder_slope", "side_x"):
        written = quantities.method.sheet.symbol(name)
        values = {symbol: quantities.inputs[symbol.name] for symbol in written.free_symbols}
        for symbol in written.free_symbols:
            told = float(written.diff(symbol).evalf(20, subs=values))
            assert gradient[name][symbol.name] == pytest.approx(told, rel=1e-12, abs=1e-14)


@pytest.mark.parametrize("chosen", method_names())
def test_no_methods_own_ease_moves_with_the_body(chosen: str) -> None:
    quantities = make_garment(
        replace(client(), garment=replace(client().garment, method=chosen))
    ).bodice
    assert quantities is not None
    gradient = quantities.quantities.method.sheet.gradient(quantities.quantities.inputs)
    for key in ("bust_ease", "waist_ease"):
        assert not [by for root, by in gradient[key].items() if by and not root.endswith("more")]


@settings(max_examples=3, deadline=None)
@given(
    body=bodies(),
    chosen=st.sampled_from(method_names()),
    fit=st.sampled_from(["none", "front", "side", "both"]),
    style=st.sampled_from([{}, {"shape": "v", "front_lower": 5.0}, {"side_widen": 1.5}]),
)
def test_the_neckline_moves_as_the_whole_draft_does_through_its_fit(
    body: dict[str, float], chosen: str, fit: str, style: dict[str, float | str]
) -> None:
    card = wearing(body)
    order = drafted(
        replace(
            card,
            garment=replace(card.garment, method=chosen),
            neckline=replace(card.neckline, fit=fit, style=style),
            collar=CollarWish(),
        )
    )
    assert order.bodice is not None
    roots = roots_of(body)
    quantities = quantity_slopes(order.bodice.quantities, roots)
    target = roots.body["neck_base_girth"]
    found = neckline_slopes(order.bodice, quantities, target)
    told = (found.back_arc, found.front_arc, found.drafted, found.fitted)
    for root in sorted({root for slopes in told for root in slopes}):
        try:
            by_differences = whole_slopes(order.commission, root, neck_numbers, 0.01)
        except DraftError:
            continue
        exact = np.array([slopes.get(root, 0.0) for slopes in told])
        assert by_differences == pytest.approx(exact, rel=1e-6, abs=2e-8)


def test_the_fitted_neckline_moves_just_as_the_neck() -> None:
    found = certainty(make_garment(client()))
    assert found.numbers["neckline.whole"].slopes == {"neck_base_girth": 1.0}
    assert found.numbers["neckline.half"].slopes == {"neck_base_girth": 0.5}
    both = [found.numbers[f"neckline.{key}_arc"].slopes for key in ("back", "front")]
    for root in both[0].keys() | both[1].keys():
        whole = sum(arc.get(root, 0.0) for arc in both)
        assert whole == pytest.approx(0.5 if root == "neck_base_girth" else 0.0, abs=1e-9)


def test_a_fitting_is_carried_along() -> None:
    card = read_card_text(
        (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
        + '\n[[toile]]\ndate = 2026-03-20\nseen = "front neck too deep"\n',
        "a",
    )
    order = make_garment(card)
    assert order.bodice is not None
    assert order.bodice.fit.toile == NeckChange(front_raise=0.5)
    found = certainty(order).numbers
    told = np.array(
        [found[f"neckline.{key}"].slopes["neck_base_girth"] for key in ("back_arc", "front_arc")]
    )
    assert whole_slopes(card, "neck_base_girth", neck_numbers)[:2] == pytest.approx(told, rel=1e-6)


@pytest.mark.parametrize("name", ["demo", "band", "wing", "tie"])
def test_a_collar_from_the_arcs_moves_as_the_whole_draft_does(name: str) -> None:
    card = client(name)
    order = make_garment(card)
    found = certainty(order)
    keys = [key for key in found.numbers if key.startswith("collar.")]
    assert len(keys) == len(order.collar.numbers if order.collar else ())
    roots = sorted({root for key in keys for root in found.numbers[key].slopes})
    assert "neck_base_girth" in roots
    for root in roots:
        by_differences = whole_slopes(card, root, lambda at: row(numbers_of(at), keys))
        told = np.array([found.numbers[key].slopes.get(root, 0.0) for key in keys])
        assert by_differences == pytest.approx(told, rel=1e-6, abs=1e-7)


@settings(max_examples=4, deadline=None)
@given(body=bodies())
def test_on_any_body_the_closed_collar_moves_as_the_whole_draft_does(
    body: dict[str, float],
) -> None:
    card = wearing(body)
    found = certainty(drafted(card))
    closed = found.numbers["collar.closed_top_girth"]
    top = [one for one in found.checks if one.check.name.startswith("closed top edge")]
    keys = ["collar.closed_top_girth", "check.closed top edge round the neck.1"]
    for root in ("neck_base_girth", "neck_girth"):
        told = np.array([closed.slopes.get(root, 0.0), top[0].slopes.get(root, 0.0)])
        by_differences = whole_slopes(card, root, lambda at: row(numbers_of(at), keys))
        assert by_differences == pytest.approx(told, rel=1e-6, abs=1e-7)


@pytest.mark.parametrize("name", ["flat", "notched"])
def test_differences_of_the_whole_draft_agree_with_those_of_another_step(name: str) -> None:
    card = client(name)
    order = make_garment(card)
    quick, found = certainty(order), certainty(order, thorough=True)
    assert "collar.outer_edge" in quick.open
    assert "collar.outer_edge" not in quick.numbers
    assert not found.open
    keys = [key for key, one in found.numbers.items() if one.how == sure_module.DIFFERENCES]
    assert len(keys) > 5
    for root in ("neck_base_girth", "bust_girth"):
        told = np.array([found.numbers[key].slopes.get(root, 0.0) for key in keys])
        other = fine_slope(
            lambda move, root=root: row(numbers_of(order_at(card, {root: move})), keys),
            step_of(root, 0.6 * DRAFT_STEP),
        )
        # some numbers are rounded to 1e-6, which over the step is 2e-5
        assert other == pytest.approx(told, rel=1e-6, abs=5e-5)


def test_a_chain_that_does_not_hold_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    order = make_garment(client())
    true = moving_module._collar

    def wrong(*given: object) -> Mapping[str, Mapping[str, float]]:
        chain = dict(true(*given))  # type: ignore[arg-type]
        key = "collar.closed_top_girth"
        chain[key] = {root: 1.1 * by for root, by in chain[key].items()}
        return chain

    monkeypatch.setattr(moving_module, "_collar", wrong)
    assert "collar.closed_top_girth" in certainty(order).open


def test_a_taped_neckline_moves_with_the_tape() -> None:
    card = read_card_text(TAPED, "a")
    order = make_garment(card)
    found = certainty(order)
    assert found.numbers["neckline.half"].slopes == {"back_arc": 1.0, "front_arc": 1.0}
    told = found.numbers["collar.closed_top_girth"].slopes
    for root in ("back_arc", "front_arc"):
        by = whole_slopes(card, root, lambda at: row(numbers_of(at), ["collar.closed_top_girth"]))
        assert told[root] == pytest.approx(float(by[0]), rel=1e-6)


def test_the_budget_of_a_shirt_costs_one_draft_and_eight_collars(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    counts = {"order": 0, "collar": 0}
    whole, alone = moving_module.order_at, moving_module.collar_alone
    order = make_garment(client())

    def counted(*given: object) -> Garment:
        counts["order"] += 1
        return whole(*given)  # type: ignore[arg-type]

    def collar(*given: object) -> dict[str, float]:
        counts["collar"] += 1
        return alone(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(moving_module, "order_at", counted)
    monkeypatch.setattr(moving_module, "collar_alone", collar)
    certainty(order)
    assert counts == {"order": 1, "collar": 8}
    by_neck = make_garment(with_collar(client(), rise_by="neck"))
    counts.update(order=0, collar=0)
    certainty(by_neck)  # no chain of the arcs holds for it
    assert counts == {"order": 1, "collar": 0}


def test_differences_are_of_the_order_they_say() -> None:
    def cubed(x: float) -> FloatArray:
        return np.array(((1.0 + x) ** 3, np.exp(x)))

    assert slope(cubed, 0.1) == pytest.approx([3.0 + 0.01, 1.0 + 0.01 / 6], abs=1e-6)
    assert fine_slope(cubed, 0.1) == pytest.approx([3.0, 1.0], abs=1e-6)
    assert fine_slope(cubed, 0.1)[0] == pytest.approx(3.0, abs=1e-12)
