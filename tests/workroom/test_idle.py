"""Nothing on a card is left out without a word: every key changes the order or is told."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
import tomli_w

from collars.registry import COLLARS
from drafting.drawing.pens import RecordingPen
from drafting.errors import CardError, DraftError
from drafting.library import data_folder, read_data
from drafting.parameters import ParameterRule
from garment.garment import Garment, make_garment
from garment.options import options
from workroom.card.card import read_card_text

CLIENTS = sorted(path.stem for path in (data_folder() / "clients").glob("*.toml"))
TAPED: dict[str, Any] = {
    "client": "Ada Try",
    "date": "2026-03-01",
    "measurements": {"neck_girth": 33.0},
    "neckline": {"back_arc": 8.6, "front_arc": 10.3},
}
OTHERS: dict[str, float | str] = {
    "garment.method": "bust-proportional",
    "garment.button_stand": 2.1,
    "garment.seam_allowance": 1.3,
    "neckline.fit": "front",
    "neckline.ease": 0.9,
    "neckline.style.front_lower": 3.3,
    "neckline.style.side_widen": 1.1,
    "neckline.style.back_lower": 1.2,
    **{
        f"garment.allowances.{key}": 1.7
        for key in (
            "neckline",
            "shoulder",
            "scye",
            "side_seam",
            "waist",
            "front_edge",
            "centre_back",
            "collar",
            "facing",
        )
    },
}


def other(rule: ParameterRule, now: object) -> Iterator[float | str]:
    """Values of a rule that are not what stands there, the likeliest first."""
    if rule.choices:
        yield from (word for word in rule.choices if word != now)
        return
    stands = now if isinstance(now, float | int) else rule.default
    stands = stands if isinstance(stands, float | int) else (rule.low + rule.high) / 2
    step = max(0.07 * (rule.high - rule.low), 0.05)
    for value in (stands + step, stands - step, rule.low + step, rule.high - step):
        if rule.low <= value <= rule.high and value != now:
            yield float(round(value)) if rule.key == "buttonholes" else round(value, 3)


def keys_of(card: dict[str, Any]) -> Iterator[tuple[str, list[float | str]]]:
    """Every key a card may have beside its measurements, with values to write there."""
    for key, value in OTHERS.items():
        now = card.get("garment", {}).get("method")
        yield key, ["direct-measure" if now == value else value]
    for name, table in options().items():
        for key, option in table.items():
            now = card.get("garment", {}).get(name, {}).get(key)
            yield f"garment.{name}.{key}", list(other(option.rule, now))
    kind = card.get("collar", {}).get("kind", "none")
    if kind != "none":
        for key, rule in COLLARS[kind].parameters.items():
            yield f"collar.{key}", list(other(rule, card["collar"].get(key)))


def written(card: dict[str, Any], key: str, value: float | str) -> dict[str, Any]:
    """The card with one more line."""
    head, _, rest = key.partition(".")
    if not rest:
        return card | {head: value}
    return card | {head: written(card.get(head, {}), rest, value)}


def ordered(card: dict[str, Any]) -> Garment:
    return make_garment(read_card_text(tomli_w.dumps(card), "card"))


def seen(order: Garment) -> tuple[object, ...]:
    """All that a maker gets to see of an order, but for its notes."""
    pen = RecordingPen()
    for piece in order.pieces:
        pen.begin_piece(piece.code, piece.title)
        for edge in piece.edges:
            pen.curve(f"{edge.name} {edge.allowance} {edge.on_fold}", edge.curve)
        for mark in piece.marks:
            pen.curve(mark.kind, mark.curve)
        for drill in piece.drills:
            pen.dot(drill.label, drill.at, 0.1)
        for dart in piece.darts:
            pen.dot(dart.name, dart.tip, 0.1)
        pen.end_piece()
    cuts = [(piece.cut, piece.grain) for piece in order.pieces]
    checks = [(c.name, c.measured, c.target, c.verdict) for c in order.checks]
    numbers = dict(order.collar.numbers) if order.collar else {}
    return pen.lines, cuts, checks, numbers


def unheard(card: dict[str, Any]) -> list[str]:
    """The keys that neither change an order nor are told, whatever stands there, and those of which
    that is told wrongly."""
    plain = ordered(card)
    base, found = seen(plain), []
    for key, values in keys_of(card):
        heard = refused = False
        for value in values:
            try:
                order = ordered(written(card, key, value))
            except (CardError, DraftError):
                refused = True
                continue
            naming = rf"\b{re.escape(key)}\b"
            told = [note for note in map(str, order.notes) if re.search(naming, note)]
            changed = seen(order) != base
            if changed and any("nothing here" in note for note in told):
                found.append(f"{key}: told to change nothing, and does")
            if told or changed:
                heard = True
                break
        if values and not heard and not refused:
            found.append(f"{key}: neither changes anything nor is told")
    return found


@pytest.mark.parametrize("client", CLIENTS)
def test_every_line_of_a_card_changes_the_order_or_is_told(client: str) -> None:
    card: dict[str, Any] = dict(read_data(f"clients/{client}").values)

    assert unheard(card) == []


@pytest.mark.parametrize(
    "kind", [kind for kind, collar in COLLARS.items() if not collar.needs_block]
)
def test_so_does_every_line_of_a_card_with_a_taped_neckline(kind: str) -> None:
    assert unheard(TAPED | {"collar": {"kind": kind}}) == []


@pytest.mark.parametrize("stand", [0.0, 1.5])
@pytest.mark.parametrize("length", ["waist", "hip"])
def test_and_on_a_plain_front_without_a_collar(stand: float, length: str) -> None:
    card: dict[str, Any] = dict(read_data("clients/demo").values)
    card["collar"] = {"kind": "none"}
    card["garment"] = {"button_stand": stand, "length": {"to": length}}

    assert unheard(card) == []


def test_what_stands_on_a_card_for_nothing_is_told_with_its_reason() -> None:
    card = TAPED | {"collar": {"kind": "band", "gap": 1.0}, "garment": {"darts": {"bust": "side"}}}
    notes = [str(note) for note in ordered(card).notes]

    assert 'collar.gap changes nothing here: ends is "overlap".' in notes
    assert any(note.startswith("garment.darts.bust changes nothing here") for note in notes)


def taped(front: float, **more: Any) -> Garment:
    card = TAPED | {"collar": {"kind": "band"}} | more
    return ordered(
        card | {"neckline": {"back_arc": 8.6, "front_arc": front, **more.get("neckline", {})}}
    )


@pytest.mark.parametrize("measured", [{"neck_base_girth": 37.0}, {"neck_girth": 33.0}])
def test_a_taped_neckline_is_compared_with_her_neck(measured: dict[str, float]) -> None:
    """A neck girth of 33 makes an estimated base of 37.13."""
    whole = 37.5 if "neck_base_girth" in measured else 37.63
    good = (whole / 2.0) - 8.6
    for off, verdict in ((0.0, "pass"), (0.2, "note"), (2.0, "fail"), (-2.0, "fail")):
        order = taped(good + off, measurements=measured)
        (check,) = [c for c in order.checks if c.name.startswith("neckline against")]
        assert check.verdict == verdict, (off, check)
        assert check.off == pytest.approx(2.0 * off, abs=0.01)
        assert ("estimated" in check.name) == ("neck_girth" in measured)
        assert (order.stamp is not None) == (verdict == "fail")
    moved = re.search(r"Lower the front neck point .* by about ([\d.]+) cm", check.advice)
    assert moved is not None
    assert float(moved[1]) == pytest.approx(4.0 / 1.571, abs=0.05)


def test_a_neckline_far_from_any_neck_is_to_be_taped_again() -> None:
    order = taped(19.0, measurements={"neck_base_girth": 37.0})
    (check,) = order.failed

    assert "17.70 cm too long" in check.advice
    assert "tape both arcs again" in check.advice


def test_without_any_neck_girth_nothing_is_compared() -> None:
    order = taped(10.3, measurements={"bust_girth": 92.0})

    assert not [c for c in order.checks if c.name.startswith("neckline against")]


def test_a_neckline_fitted_to_an_estimate_is_told_first() -> None:
    card: dict[str, Any] = dict(read_data("clients/demo").values)
    card["garment"] = {"method": "bust-proportional"}
    card["measurements"] = {
        key: value for key, value in card["measurements"].items() if key != "neck_base_girth"
    }
    card.pop("neckline")
    first = str(ordered(card).notes[0])

    assert first.startswith("The neckline is fitted to an estimated neck base girth")
    assert "nobody measured" not in " ".join(
        map(str, ordered(card | {"neckline": {"fit": "none"}}).notes)
    )
