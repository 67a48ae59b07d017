"""What is seen at a fitting moves the next draft the way the words say, by the amount, and no
further; what cannot be understood is refused with what was perhaps meant."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from blocks.edges import EdgeName
from collars.registry import COLLARS
from drafting.errors import CardError, DataError, DraftError
from drafting.library import data_folder, read_toml
from drafting.pieces.checks import Verdict
from garment.garment import Garment, make_garment
from garment.toile import fitted, fitting_words, heard, inapplicable_words, read_words
from garment.wishes import CollarWish, Commission, ToileWish
from tests.strategies import bodies
from workroom.card.card import open_card, read_card_text

DAY = datetime.date(2026, 3, 20)
DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
SEEN = fitting_words().seen


def client(name: str = "demo") -> Commission:
    return open_card(data_folder() / "clients" / f"{name}.toml")


def with_seen(card: Commission, *seen: tuple[str, float]) -> Commission:
    return replace(card, toile=tuple(ToileWish(DAY, words, amount) for words, amount in seen))


def before_after(card: Commission, words: str, amount: float) -> tuple[Garment, Garment]:
    return make_garment(card), make_garment(with_seen(card, (words, amount)))


def length(order: Garment, code: str, edge: EdgeName) -> float:
    return next(p for p in order.pieces if p.code == code).length(edge)


def front_depth(order: Garment) -> float:
    assert order.bodice is not None
    return order.bodice.frame.depth


def ease(key: str) -> Callable[[Garment], float]:
    def number(order: Garment) -> float:
        assert order.bodice is not None
        return float(getattr(order.bodice.ease, key))

    return number


def collar_number(key: str) -> Callable[[Garment], float]:
    def number(order: Garment) -> float:
        assert order.collar is not None
        return order.collar.numbers[key]

    return number


def checked(name: str) -> Callable[[Garment], float]:
    return lambda order: next(c.measured for c in order.checks if name in c.name)


def scye(order: Garment) -> float:
    return sum(p.length(EdgeName.SCYE) for p in order.pieces if p.code in ("BACK", "FRONT"))


#: For each thing seen, what of the shirt is measured and which way it is to go.
MEASURED: dict[str, tuple[Callable[[Garment], float], int]] = {
    "stands away at the back neck": (lambda o: o.neckline.back_arc, -1),
    "cuts in at the back neck": (lambda o: o.neckline.back_arc, 1),
    "back neck too low": (lambda o: o.neckline.back_arc, -1),
    "front neck too deep": (front_depth, -1),
    "front neck too high": (front_depth, 1),
    "front neck chokes": (lambda o: o.neckline.front_arc, 1),
    "side neck stands off": (lambda o: o.neckline.half, -1),
    "side neck cuts in": (lambda o: o.neckline.half, 1),
    "too tight round the neck": (lambda o: o.neckline.half, 1),
    "too loose round the neck": (lambda o: o.neckline.half, -1),
    "collar rides up": (lambda o: length(o, "UPPER", EdgeName.OUTER_EDGE), 1),
    "outer edge ripples": (lambda o: length(o, "UPPER", EdgeName.OUTER_EDGE), -1),
    "neck seam shows": (lambda o: length(o, "UPPER", EdgeName.CENTRE_BACK), 1),
    "points kick out": (lambda o: length(o, "UNDER", EdgeName.OUTER_EDGE), -1),
    "points curl under": (lambda o: length(o, "UNDER", EdgeName.OUTER_EDGE), 1),
    "points spread too far": (collar_number("spread_angle"), -1),
    "points lie over each other": (collar_number("spread_angle"), 1),
    "points too long": (lambda o: length(o, "UPPER", EdgeName.COLLAR_END), -1),
    "points too short": (lambda o: length(o, "UPPER", EdgeName.COLLAR_END), 1),
    "collar stands away from the neck": (collar_number("closed_top_girth"), -1),
    "collar presses on the neck": (collar_number("closed_top_girth"), 1),
    "collar too high": (lambda o: length(o, "STAND", EdgeName.CENTRE_BACK), -1),
    "collar too low": (lambda o: length(o, "STAND", EdgeName.CENTRE_BACK), 1),
    "collar too deep": (lambda o: length(o, "UPPER", EdgeName.CENTRE_BACK), -1),
    "collar too shallow": (lambda o: length(o, "UPPER", EdgeName.CENTRE_BACK), 1),
    "shoulder too long": (lambda o: length(o, "FRONT", EdgeName.SHOULDER), -1),
    "shoulder too short": (lambda o: length(o, "FRONT", EdgeName.SHOULDER), 1),
    "drags from the shoulder point": (ease("shoulder_lift"), 1),
    "gapes at the armhole": (scye, -1),
    "cuts in under the arm": (scye, 1),
    "tight across the back": (ease("back_width"), 1),
    "loose across the back": (ease("back_width"), -1),
    "tight across the front": (ease("front_width"), 1),
    "loose across the front": (ease("front_width"), -1),
    "tight over the bust": (checked("bust line"), 1),
    "loose over the bust": (checked("bust line"), -1),
    "tight at the waist": (checked("waist, darts"), 1),
    "loose at the waist": (checked("waist, darts"), -1),
}  # fmt: skip


def test_everything_that_can_be_seen_is_tried() -> None:
    assert set(MEASURED) == set(SEEN)


@pytest.mark.parametrize("words", MEASURED)
def test_what_was_seen_moves_the_demo_the_way_it_says(words: str) -> None:
    measure, way = MEASURED[words]
    card = replace(client(), collar=CollarWish("two-piece shirt", {}, {"fall_back": 5.5}))
    before, after = before_after(card, words, SEEN[words].usual)
    more = make_garment(with_seen(card, (words, 1.5 * SEEN[words].usual)))
    moved, farther = (way * (measure(o) - measure(before)) for o in (after, more))
    assert moved > 0.02
    assert farther > 1.2 * moved
    assert not after.failed
    assert any(words in note for note in after.notes)


@settings(max_examples=12, deadline=None)
@given(body=bodies(), words=st.sampled_from(sorted(MEASURED)), share=st.floats(0.3, 1.0))
def test_what_was_seen_moves_any_body_the_way_it_says(
    body: dict[str, float], words: str, share: float
) -> None:
    card = replace(client(), measurements=body)
    try:
        before, after = before_after(card, words, share * SEEN[words].usual)
    except DraftError:
        assume(False)
    measure, way = MEASURED[words]
    assert way * (measure(after) - measure(before)) > 0.005


@settings(max_examples=10, deadline=None)
@given(body=bodies(), words=st.sampled_from(sorted(SEEN)), kind=st.sampled_from(sorted(COLLARS)))
def test_every_collar_is_drafted_or_refused_with_a_reason(
    body: dict[str, float], words: str, kind: str
) -> None:
    card = replace(client(), measurements=body, collar=CollarWish(kind))
    try:
        make_garment(card)
    except DraftError:
        assume(False)
    try:
        after = make_garment(with_seen(card, (words, SEEN[words].usual)))
    except DraftError as error:
        assert all(problem.advice or problem.accepted for problem in error.problems)
        return
    assert [note for note in after.notes if words in note]


@pytest.mark.parametrize(
    ("name", "words", "key"),
    [
        ("flat", "collar rides up", "outer edge"),
        ("eton", "outer edge ripples", "outer edge"),
        ("notched", "collar rides up", "outer edge"),
        ("shawl", "collar rides up", "outer edge"),
        ("one-piece-shirt", "collar rides up", "outer edge"),
    ],
)
def test_other_collars_get_their_outer_edge_longer_or_shorter(
    name: str, words: str, key: str
) -> None:
    def outer(order: Garment) -> float:
        return next(c.measured for c in order.checks if c.name.startswith(key))

    before, after = before_after(client(name), words, 0.5)
    assert (outer(after) - outer(before)) * (1 if words == "collar rides up" else -1) > 0.05


@settings(max_examples=10, deadline=None)
@given(body=bodies())
def test_narrowing_the_back_leaves_the_front_about_as_long(body: dict[str, float]) -> None:
    card = replace(client(), measurements=body)
    try:
        before, after = before_after(card, "stands away at the back neck", 0.5)
    except DraftError:
        assume(False)
    back = after.neckline.back_arc - before.neckline.back_arc
    front = after.neckline.front_arc - before.neckline.front_arc
    assert back < -0.2
    assert abs(front) < 0.35 * abs(back)


def test_the_front_neck_point_goes_up_by_just_the_amount() -> None:
    before, after = before_after(client(), "front neck too deep", 0.8)
    assert front_depth(before) - front_depth(after) == pytest.approx(0.8, abs=1e-9)
    (check,) = [c for c in after.checks if c.name == "neckline as corrected at the fitting"]
    assert check.verdict is Verdict.NOTE
    assert check.measured == pytest.approx(2 * after.neckline.half, abs=1e-9)
    assert check.target == pytest.approx(2 * before.neckline.half, abs=1e-9)


def test_more_room_round_the_neck_is_just_that_much() -> None:
    before, after = before_after(client(), "too tight round the neck", 0.6)
    assert 2 * (after.neckline.half - before.neckline.half) == pytest.approx(0.6, abs=1e-6)


def test_what_pulls_against_each_other_adds_up_and_is_said() -> None:
    both = with_seen(client(), ("front neck too deep", 0.8), ("front neck chokes", 0.5))
    alone = make_garment(with_seen(client(), ("front neck too deep", 0.3)))
    order = make_garment(both)
    assert front_depth(order) == pytest.approx(front_depth(alone), abs=1e-9)
    assert any("pull against each other" in note and "0.30 cm" in note for note in order.notes)


def test_what_cancels_out_is_said() -> None:
    both = with_seen(client(), ("front neck too deep", 0.5), ("front neck too high", 0.5))
    assert front_depth(make_garment(both)) == pytest.approx(front_depth(make_garment(client())))
    assert any("cancel out" in note for note in fitted(both).notes)


def test_fittings_that_go_too_far_together_are_refused() -> None:
    far = with_seen(client(), ("front neck too deep", 2.0), ("front neck too deep", 1.5))
    with pytest.raises(DraftError, match="the fittings go too far"):
        make_garment(far)


def test_a_collar_that_allows_no_more_says_what_it_allows() -> None:
    low = replace(client(), collar=CollarWish("two-piece shirt", {}, {"stand_back": 1.8}))
    with pytest.raises(DraftError) as caught:
        make_garment(with_seen(low, ("collar too high", 1.0)))
    (problem,) = caught.value.problems
    assert problem.key == "toile"
    assert "1.5 to 7 cm" in problem.accepted


def test_ease_beyond_what_can_be_worn_is_refused() -> None:
    close = replace(client(), garment=replace(client().garment, asked={"ease": {"bust": 5.0}}))
    with pytest.raises(DraftError, match=r"toile \(bust\)"):
        make_garment(with_seen(close, ("loose over the bust", 4.0)))


def test_nothing_to_turn_is_said_and_changes_nothing() -> None:
    tie = client("tie")
    before, after = before_after(tie, "points kick out", 0.1)
    for one, other in zip(before.pieces, after.pieces, strict=True):
        for a, b in zip(one.edges, other.edges, strict=True):
            assert abs(a.curve.controls - b.curve.controls).max() == 0.0
    assert any("the tie collar has nothing to change" in note for note in after.notes)


@pytest.mark.parametrize(
    ("kind", "fit", "words", "said"),
    [
        ("flat", "none", "collar too high", "the flat collar has nothing to change"),
        ("none", "none", "collar rides up", "this order has no collar"),
        ("flat", "none", "too tight round the neck", "write another fit"),
    ],
)
def test_the_reason_for_changing_nothing_is_the_right_one(
    kind: str, fit: str, words: str, said: str
) -> None:
    card = replace(client(), collar=CollarWish(kind))
    card = replace(card, neckline=replace(card.neckline, fit=fit))
    (one,) = heard(with_seen(card, (words, 0.3)))
    assert one.turns == ()
    assert said in one.said
    assert words in inapplicable_words(card)


def test_words_are_idle_just_when_they_change_nothing() -> None:
    for name in ("demo", "tie"):
        card = client(name)
        idle = {w for w in SEEN if not heard(with_seen(card, (w, SEEN[w].usual)))[0].turns}
        assert set(inapplicable_words(card)) == idle


def test_a_taped_neckline_stays_as_it_was_taped() -> None:
    text = 'client = "Ines"\ndate = 2026-03-14\n[neckline]\nback_arc = 8\nfront_arc = 11\n'
    text += '[collar]\nkind = "band"\n'
    card = read_card_text(text, "a")
    order = make_garment(with_seen(card, ("front neck too deep", 0.5), ("collar too high", 0.5)))
    assert order.neckline.half == 19.0
    assert any("was taped" in note for note in order.notes)
    assert length(order, "BAND", EdgeName.CENTRE_BACK) == pytest.approx(2.5, abs=1e-6)


def seen_in(*lines: str) -> ToileWish:
    text = "\n".join((DEMO, "[[toile]]", "date = 2026-03-20", *lines))
    (one,) = read_card_text(text, "a").toile
    return one


@pytest.mark.parametrize(
    ("written", "words", "amount"),
    [
        ("front neck too deep", "front neck too deep", 0.5),
        ("Front neck  too deep.", "front neck too deep", 0.5),
        ("front neck 0.8 too deep", "front neck too deep", 0.8),
        ("front neck 0,8 cm too deep", "front neck too deep", 0.8),
        ("front neck 8 mm too deep", "front neck too deep", 0.8),
        ("collar rides up 1", "collar rides up", 1.0),
    ],
)
def test_words_are_read_as_a_maker_writes_them(written: str, words: str, amount: float) -> None:
    one = seen_in(f'seen = "{written}"')
    assert (one.seen, one.date) == (words, DAY)
    assert one.amount == pytest.approx(amount)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (['seen = "front neck to deep"'], "Did you mean front neck too deep"),
        (['seen = "collar rids up"'], "Did you mean collar rides up"),
        (['seen = "front neck too deep"', "amount = 9"], "accepted: 0.05 to 3 cm"),
        (['seen = "front neck too deep"', "amount = -1"], "accepted: 0.05 to 3 cm"),
        (['seen = "front neck 1 2 too deep"'], "not one of the words"),
        (["seen = 3"], "a text is wanted"),
        ([], 'Write what was seen, such as seen = "front neck too deep"'),
        (['sen = "front neck too deep"'], "Did you mean seen"),
    ],
)
def test_what_cannot_be_understood_is_refused_with_its_line(lines: list[str], said: str) -> None:
    with pytest.raises(CardError) as caught:
        seen_in(*lines)
    assert said in str(caught.value)
    assert all(problem.place.startswith("a:") for problem in caught.value.problems)


def test_single_brackets_are_explained() -> None:
    with pytest.raises(CardError, match=r"Write \[\[toile\]\]"):
        read_card_text(DEMO + '\n[toile]\nseen = "collar rides up"\n', "a")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ('usual = 2\nmost = 1\namount = ""\nsource = ""\nchanges = []', "usual lies above 0"),
        ('usual = 1\nmost = 1\namount = ""\nsource = ""\nchanges = [{a = 1}]', "no such knob"),
        ('usual = 1\nmost = 1\nsource = ""\nchanges = []', "amount"),
    ],
)
def test_a_faulty_table_is_refused(row: str, said: str) -> None:
    with pytest.raises(DataError, match=said):
        read_words(read_toml(f"[seen.odd]\n{row}\n", "toile.toml"))


def test_every_row_has_its_source_and_moves_less_than_its_knobs_allow() -> None:
    words = fitting_words()
    for seen in words.seen.values():
        assert seen.source
        for change in seen.changes:
            for key, per in change.items():
                assert seen.usual * abs(per) <= words.knobs[key].most
