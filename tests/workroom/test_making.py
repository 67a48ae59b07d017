"""The order of making, walked against the pieces: every seam, dart and edge once, in an order that
can be sewn, in lengths that are there, naming only what is there.

What must come before what is written down here by itself, so that the walk is not judged by its
own rules.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import cycle, product

import pytest

from blocks.edges import EdgeName
from collars.registry import COLLARS
from drafting.errors import DraftError, NeckarcError
from drafting.library import data_folder
from drafting.pieces.assembly import loose_edges, unsewn_edges
from drafting.pieces.piece import (
    MarkKind,
    Piece,
    Seam,
    Stretch,
    seam_mismatch,
    stretch_length,
    stretch_places,
)
from drafting.sentences import Value
from drafting.tolerances import SEAM
from drafting.units import LengthUnit, format_length
from garment.garment import Garment, make_garment
from garment.making.plan import kinds, parts
from tests.long import examples
from workroom.card.card import read_card_text
from workroom.making import Making, Step, order_of_making

CARDS = sorted((data_folder() / "clients").glob("*.toml"))
DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
KINDS = ("none", *COLLARS)
FACINGS = ("cut on", "separate", "none")
LENGTHS = ("waist", "hip")
DARTS = (
    'bust = "scye"',
    'bust = "side"',
    'bust = "shoulder"\nback = "ease"',
    'bust = "scye"\nsecond = "side"\nback = "neckline"',
    'bust = "side"\nback = "scye"',
    'bust = "scye"\nwaist = "left open"',
)
NECKS = (
    "",
    "style = { front_lower = 2.0, side_widen = 1.0, back_lower = 1.0 }",
    'style = { shape = "v", front_lower = 9.0, side_widen = 0.5 }',
    'style = { shape = "boat", side_widen = 4.0, front_lower = 0.5, back_lower = 2.0 }',
)


def card_text(
    kind: str,
    facing: str = "",
    to: str = "waist",
    darts: str = "",
    neck: str = "",
    stand: float = 1.5,
    unit: str = "cm",
) -> str:
    garment = f'[garment.length]\nto = "{to}"\n[garment.darts]\n{darts}\n'
    garment += f'[garment.finish]\nfacing = "{facing}"\n' if facing else ""
    text = DEMO.replace("[neckline]\n", f"{garment}[neckline]\n{neck}\n")
    if neck:
        text = text.replace('fit = "both"\n', "")
    text = text.replace('"two-piece shirt"', f'"{kind}"')
    text = text.replace("button_stand = 1.5", f"button_stand = {stand}")
    if unit == "in":
        text = text.replace('unit = "cm"', 'unit = "in"')
        text = re.sub(r"(?m)^(\w+) = (\d+\.\d+)$", _inches, text)
        text = re.sub(r"(?m)^style = .*$", _style_in_inches, text)
    return text


def _inches(line: re.Match[str]) -> str:
    key, value = line.groups()
    turned = key in ("shoulder_slope", "neck_lean")
    return line.group() if turned else f"{key} = {float(value) / 2.54:.4f}"


def _style_in_inches(line: re.Match[str]) -> str:
    return re.sub(r"\d+\.\d+", lambda found: f"{float(found[0]) / 2.54:.4f}", line[0])


@cache
def order_from(text: str) -> Garment | None:
    """The order of a card, ``None`` when it is refused: some options go with no other."""
    try:
        return make_garment(read_card_text(text, "card"))
    except DraftError:
        return None


TAPED = DEMO.split("[measurements]")[0] + (
    '[neckline]\nback_arc = 7.6\nfront_arc = 10.9\n[collar]\nkind = "two-piece shirt"\n'
)
#: Collars that are made for some necklines only.
NECKS_OF = {"sailor": NECKS[2:3], "shawl": NECKS[:2], "notched": NECKS[:2]}


def crossed() -> Iterator[str]:
    """Every collar with every facing and length; darts, necks and units taken in turn."""
    turns = cycle(product(range(len(NECKS)), DARTS))
    for number, (kind, facing, to) in enumerate(product(KINDS, FACINGS, LENGTHS)):
        for _ in range(examples(1)):
            turn, darts = next(turns)
            necks = NECKS_OF.get(kind, NECKS)
            neck = necks[(turn + number) % len(necks)]
            yield card_text(kind, facing, to, darts, neck, unit="in" if number % 3 == 0 else "cm")


def special() -> Iterator[str]:
    """What does not cross with everything."""
    yield card_text("none", stand=0.0)
    yield card_text("none", stand=0.0, darts='bust = "centre front"')
    yield card_text("none", stand=0.0, darts='bust = "neckline"')
    yield card_text("none", to="hip", stand=0.0, neck=NECKS[2])
    yield card_text("band", darts='bust = "waist"')
    yield card_text("none", darts='bust = "neckline"')
    for facing in FACINGS:
        yield card_text("band", facing) + 'ends = "meet"\n'
        yield card_text("band", facing) + 'ends = "short"\n'
        yield card_text("tie", facing) + 'grain = "bias"\n'
    yield card_text("band") + "button_stand = 2.5\n"
    yield card_text("flat", "separate") + "neck_ease = 0.2\n"
    yield card_text("flat", "cut on") + "neck_ease = -0.2\n"
    yield card_text("flat") + 'made = "two halves"\n'
    yield TAPED
    yield card_text("wing", "none", darts='bust = "neckline"')
    yield card_text("flat", "none", darts='bust = "neckline"\nsecond = "side"')


TEXTS = [*(path.read_text(encoding="utf-8") for path in CARDS), *crossed(), *special()]
ORDERS = [pytest.param(text, id=str(number)) for number, text in enumerate(TEXTS)]


# ---- what must hold of every order ------------------------------------------------------------


_STRIPS = "neckline faced with a strip", "neckline ends faced", "front edges faced with a strip"
#: Edges that would be sewn if the card asked for a facing, and how they are finished without one.
SEAMLESS = {
    ("FRONT", EdgeName.FRONT_EDGE): (
        "front edges faced with a strip",
        "front edges of a tie's bodice",
    ),
    ("FRONT", EdgeName.BUTTON_STAND_END): _STRIPS,
    ("FRONT", EdgeName.NECKLINE): _STRIPS,
    ("FRONT-FACING", EdgeName.SHOULDER): ("facing edge",),
    ("BACK", EdgeName.NECKLINE): _STRIPS,
    ("STAND", EdgeName.NECK_SEAM): ("collar to taped neckline",),
}


def assert_each_seam_once(order: Garment, making: Making) -> None:
    sewn = Counter(
        frozenset({seam.first, seam.second})
        for step in making.steps
        for seam in step.operation.seams
    )
    assert set(sewn.values()) <= {1}, [pair for pair, count in sewn.items() if count > 1]
    assert sewn.keys() == {frozenset({seam.first, seam.second}) for seam in order.seams}
    for edge in loose_edges(order.pieces, order.seams):
        place = edge.piece, edge.place
        keys = {s.operation.key for s in making.steps if place in s.operation.edges}
        assert keys & set(SEAMLESS.get((edge.piece, edge.edge), ())), edge
    words = [step.said for step in making.steps if step.operation.key == "seam"]
    assert words == []  # a seam that no kind of step has words for


def assert_each_dart_once(order: Garment, making: Making) -> None:
    wanted = [(piece.code, dart.name) for piece in order.pieces for dart in piece.darts]
    wanted += [
        (piece.code, mark.label)
        for piece in order.pieces
        for mark in piece.marks
        if mark.kind is MarkKind.STITCH
    ]
    sewn = []
    for step in making.steps:
        if step.operation.dart is not None:
            code, dart = step.operation.dart
            sewn.append((code, dart.name if hasattr(dart, "name") else dart.label))
    assert sorted(sewn) == sorted(wanted)


def assert_each_free_edge_once(order: Garment, making: Making) -> None:
    free = {(edge.piece, edge.place) for edge in unsewn_edges(order.pieces, order.seams)}
    done = Counter(place for step in making.steps for place in step.operation.edges)
    assert free <= done.keys(), free - done.keys()
    pieces = {piece.code: piece for piece in order.pieces}
    for (code, place), count in done.items():
        over = count - ((code, place) in free)
        assert over in (0, 1)
        if over:  # the second of two layers alike, closed over the seam of the first
            assert pieces[code].edges[place].name is EdgeName.NECK_SEAM
            assert pieces[code].cut.cloth == 2


def ring_places(pieces: dict[str, Piece], side: Stretch) -> set[tuple[str, int]]:
    return {(side.piece, place) for place in stretch_places(pieces[side.piece], side)}


def touched(order: Garment, step: Step) -> set[tuple[str, int]]:
    pieces = {piece.code: piece for piece in order.pieces}
    found = set(step.operation.edges)
    for seam in step.operation.seams:
        found |= ring_places(pieces, seam.first) | ring_places(pieces, seam.second)
    return found


NECK = {EdgeName.NECKLINE, EdgeName.NECK_SEAM}


def first_at(making: Making, *keys: str) -> int | None:
    return next((k for k, step in enumerate(making.steps) if step.operation.key in keys), None)


def last_at(making: Making, *keys: str) -> int | None:
    found = [k for k, step in enumerate(making.steps) if step.operation.key in keys]
    return found[-1] if found else None


#: What a sewist knows: each of these before each of those, where both are there.
BEFORE = (
    (("toile",), ("cloth", "cut")),
    (("cut",), ("fuse", "staystitch", "dart", "double dart")),
    (("staystitch",), ("dart", "double dart", "shoulders")),
    (("centre back", "centre front"), ("shoulders",)),
    (
        ("shoulders", "centre back", "dart"),
        (
            "collar to neckline, closed over",
            "collar to neckline, faced",
            "under collar to neckline",
            "facing to neckline",
            "neckline faced with a strip",
        ),
    ),
    (("shoulders", "side seams"), ("scyes",)),
    (("side seams", "centre back", "centre front"), ("hem", "waist")),
    (("facing shoulders", "facing centre front"), ("facing edge",)),
    (
        ("facing edge", "facing cut on", "facing shoulders"),
        (
            "front edge",
            "collar to neckline, faced",
            "facing to neckline",
            "lapels",
            "facing beyond the collar",
            "hem",
            "waist",
        ),
    ),
    (
        ("collar", "band", "wing", "tie"),
        ("stand", "collar to neckline, closed over", "collar to neckline, faced"),
    ),
    (("stand", "front edge", "facing beyond the collar"), ("collar to neckline, closed over",)),
    (("neckline ends faced",), ("collar to neckline, closed over",)),
    (("collar to neckline, closed over",), ("collar closed over",)),
    (("under collar centre back",), ("under collar to neckline",)),
    (("grown-on collar centre back",), ("under collar to neckline", "lapels")),
    (("facing centre back",), ("lapels",)),
    (("under collar to neckline", "upper collar to facing"), ("lapels",)),
    (("lapels",), ("hem", "waist")),
    (("front edge", "collar to neckline, faced", "facing to neckline"), ("hem", "waist")),
    (("hem", "waist", "lapels", "front edges faced with a strip"), ("buttonholes",)),
    (("buttonholes",), ("try on",)),
)


def assert_after_what_it_depends_on(order: Garment, making: Making) -> None:
    for earlier, later in BEFORE:
        end, start = last_at(making, *earlier), first_at(making, *later)
        if end is not None and start is not None:
            assert end < start, (earlier, later, [s.operation.key for s in making.steps])
    for number, step in enumerate(making.steps):
        if step.operation.dart is None or not hasattr(step.operation.dart[1], "mouth"):
            continue
        code, dart = step.operation.dart
        edges = next(piece for piece in order.pieces if piece.code == code).edges
        beside = {(code, (dart.mouth + turn) % len(edges)) for turn in (-1, 1)}
        for before in making.steps[:number]:
            assert not beside & touched(order, before), (dart.name, before.operation.key)


def length_of(order: Garment, code: str, *names: EdgeName) -> float:
    return sum(p.length(name) for p in order.pieces if p.code == code for name in names)


def expected(order: Garment) -> dict[tuple[str, str], float]:
    """What must be told in a step, measured on the pieces; by the key of the step and the word."""
    codes = {piece.code for piece in order.pieces}
    told = {
        ("shoulders", "length"): length_of(order, "FRONT", EdgeName.SHOULDER),
        ("side seams", "length"): length_of(order, "FRONT", EdgeName.SIDE_SEAM),
        ("centre back", "length"): length_of(order, "BACK", EdgeName.CENTRE_BACK),
        ("staystitch", "whole_neckline"): 2 * order.neckline.half,
        ("scyes", "each"): sum(length_of(order, c, EdgeName.SCYE) for c in ("BACK", "FRONT")),
        ("collar to neckline, faced", "neckline"): order.neckline.half,
        ("facing to neckline", "neckline"): order.neckline.half,
        ("under collar to neckline", "neck_seam"): order.neckline.back_arc,
    }
    for piece in order.pieces:
        if piece.code in ("STAND", "BAND", "OUTSIDE", "TIE"):
            back, front, *_ = piece.named(EdgeName.NECK_SEAM)
            told["collar to neckline, closed over", "neckline"] = back.length + front.length
    if "UNDER" in codes:
        for key in ("collar", "lapels"):
            told[key, "outer_edge"] = length_of(order, "UNDER", EdgeName.OUTER_EDGE)
            told[key, "collar_end"] = length_of(order, "UNDER", EdgeName.COLLAR_END)
    elif "FACING" in codes:
        told["lapels", "outer_edge"] = length_of(order, "FRONT", EdgeName.OUTER_EDGE)
    if "STAND" in codes:
        told["stand", "stand_seam"] = length_of(order, "STAND", EdgeName.STAND_SEAM)
        told["stand", "collar_end"] = length_of(order, "STAND", EdgeName.COLLAR_END)
    for code, key in (("BAND", "band"), ("OUTSIDE", "wing")):
        if code in codes:
            told[key, "outer_edge"] = length_of(order, code, EdgeName.OUTER_EDGE)
            told[key, "collar_end"] = length_of(order, code, EdgeName.COLLAR_END)
    if "FACING" in codes or "FRONT-FACING" in codes:
        front = length_of(order, "FRONT", EdgeName.FRONT_EDGE)
        for key in (
            "lapels",
            "front edge",
            "facing beyond the collar",
            "collar to neckline, faced",
        ):
            told[key, "front_edge"] = front
        told["facing to neckline", "front_edge"] = front
    return told


def assert_lengths_are_the_stitched_ones(order: Garment, making: Making) -> None:
    wanted = expected(order)
    for step in making.steps:
        for name, value in step.lengths.items():
            if (step.operation.key, name) in wanted:
                assert value == pytest.approx(wanted[step.operation.key, name], abs=1e-3), (
                    step.operation.key,
                    name,
                )
        told = {part.amounts[0] for part in step.said.parts if isinstance(part, Value)}
        assert told == set(step.lengths.values())
        assert all(value > 0.0 for value in told)
        for seam in step.operation.seams:
            assert abs(seam_mismatch(order.pieces, seam)) < SEAM


#: What a word in a step is, and the pieces that must be there for it: any of them.
NAMED = {
    r"(?<!button )\bstands?\b": {"STAND"},
    r"\bband": {"BAND"},
    r"\bwing": {"OUTSIDE"},
    r"\b(?:the|to the|of the) tie\b(?! notch)": {"TIE"},
    r"\bunder collar": {"UNDER", "FRONT:grown on"},
    r"\bupper (?:on under )?collar": {"UPPER", "FACING:centre back"},
    r"\bfacings?\b": {"FACING", "FRONT-FACING", "BACK-FACING", "FRONT:facing"},
    r"\bback neck facing": {"BACK-FACING"},
    r"\bthe bias strip": {"BIAS"},
    r"\bgorges?\b": {"FRONT:gorge"},
    r"\blapels?\b": {"FRONT:gorge"},
    r"\bbuttonhole": {"FRONT:buttonhole"},
    r"\bcollar\b": {"UPPER", "BAND", "OUTSIDE", "TIE", "STAND", "FRONT:grown on"},
    r"\bfold line\b": {"FRONT:facing", "OUTSIDE"},
}


def there(order: Garment) -> set[str]:
    front = next((piece for piece in order.pieces if piece.code == "FRONT"), None)
    found = {piece.code for piece in order.pieces}
    if front is None:
        return found
    for word, edge in (
        ("grown on", EdgeName.CENTRE_BACK),
        ("facing", EdgeName.FACING_EDGE),
        ("gorge", EdgeName.GORGE),
    ):
        if front.named(edge):
            found.add(f"FRONT:{word}")
    if any(mark.kind is MarkKind.BUTTONHOLE for mark in front.marks):
        found.add("FRONT:buttonhole")
    if any(p.code == "FACING" and p.named(EdgeName.CENTRE_BACK) for p in order.pieces):
        found.add("FACING:centre back")
    return found


def assert_only_pieces_there_are_named(order: Garment, making: Making) -> None:
    here = there(order)
    for step in making.steps:
        said = str(step.said)
        for pattern, any_of in NAMED.items():
            if re.search(pattern, said):
                assert any_of & here, (pattern, said)


def assert_can_be_made(order: Garment) -> Making:
    making = order_of_making(order)
    assert_each_seam_once(order, making)
    assert_each_dart_once(order, making)
    assert_each_free_edge_once(order, making)
    assert_after_what_it_depends_on(order, making)
    assert_lengths_are_the_stitched_ones(order, making)
    assert_only_pieces_there_are_named(order, making)
    return making


@pytest.mark.parametrize("text", ORDERS)
def test_every_order_can_be_made_as_it_is_told(text: str) -> None:
    order = order_from(text)
    if order is None:
        return
    making = assert_can_be_made(order)
    lines = "\n".join(making.lines())
    assert not set("{}\ufdd0\ufdd1") & set(lines)
    other = " in" if order.commission.unit is LengthUnit.CM else " cm"
    assert not re.search(rf"\d{other}\b", lines)
    closed = order.collar is not None and any(k.startswith("closed_") for k in order.collar.numbers)
    assert ("Two fingers" in lines) == closed


def test_hardly_any_of_these_orders_is_refused() -> None:
    refused = sum(order_from(text) is None for text in TEXTS)
    assert refused < len(TEXTS) / 20


# ---- the checks above can fail ----------------------------------------------------------------


def demo_order() -> Garment:
    order = order_from(card_text("two-piece shirt", "separate", "hip"))
    assert order is not None
    return order


@pytest.mark.parametrize("number", range(len(demo_order().seams)))
def test_a_seam_left_out_or_sewn_twice_is_found(number: int) -> None:
    order = demo_order()
    seam = order.seams[number]
    fewer = replace(order, seams=order.seams[:number] + order.seams[number + 1 :])
    with pytest.raises((AssertionError, NeckarcError)):
        assert_can_be_made(fewer)
    again = Seam("once more", seam.second, seam.first, -seam.ease)
    with pytest.raises(AssertionError):
        assert_can_be_made(replace(order, seams=(*order.seams, again)))


def test_a_dart_an_edge_or_an_order_gone_wrong_is_found() -> None:
    order = demo_order()
    making = order_of_making(order)
    steps = list(making.steps)
    assert_each_dart_once(order, making)
    without = [s for s in steps if s.operation.key != "double dart"]
    with pytest.raises(AssertionError):
        assert_each_dart_once(order, replace(making, steps=tuple(without)))
    for key in ("hem", "scyes", "facing edge"):
        left = tuple(s for s in steps if s.operation.key != key)
        with pytest.raises(AssertionError):
            assert_each_free_edge_once(order, replace(making, steps=left))
    with pytest.raises(AssertionError):
        assert_after_what_it_depends_on(order, replace(making, steps=tuple(reversed(steps))))
    collarless = replace(order, pieces=tuple(p for p in order.pieces if p.code != "STAND"))
    with pytest.raises(AssertionError):
        assert_only_pieces_there_are_named(collarless, making)


# ---- words ------------------------------------------------------------------------------------


def steps_of(text: str) -> dict[str, str]:
    order = order_from(text)
    assert order is not None
    return {step.operation.key: str(step.said) for step in order_of_making(order).steps}


def test_a_lapels_shoulders_are_told_as_the_fronts_are_long() -> None:
    order = order_from(card_text("notched", to="hip"))
    assert order is not None
    front = next(piece for piece in order.pieces if piece.code == "FRONT")
    told = format_length(front.length(EdgeName.SHOULDER), LengthUnit.CM)
    assert f"shoulder seams, {told} each" in steps_of(card_text("notched", to="hip"))["shoulders"]


def test_the_second_layer_of_a_stand_is_closed_over_the_seam_last() -> None:
    keys = list(steps_of(card_text("two-piece shirt")))
    assert keys.index("collar") < keys.index("stand")
    assert keys.index("stand") < keys.index("collar to neckline, closed over")
    assert keys.index("collar to neckline, closed over") < keys.index("collar closed over")


def test_a_waist_dart_of_a_long_bodice_is_sewn_from_the_waist_both_ways() -> None:
    order = order_from(card_text("band", to="hip"))
    assert order is not None
    step = next(s for s in order_of_making(order).steps if s.operation.key == "double dart")
    assert "from the waist to each point" in step.said
    assert step.operation.dart is not None
    code, mark = step.operation.dart
    y = mark.curve.flatten()[:, 1]
    x = mark.curve.flatten()[:, 0]
    assert step.lengths["up"] + step.lengths["down"] == pytest.approx(y.max() - y.min(), abs=0.05)
    assert step.lengths["width"] == pytest.approx(x.max() - x.min(), abs=0.05)
    assert code == "BACK"


def test_a_bias_strip_covers_just_what_no_facing_does() -> None:
    order = order_from(card_text("flat", "cut on"))
    assert order is not None
    front = next(piece for piece in order.pieces if piece.code == "FRONT")
    step = next(s for s in order_of_making(order).steps if "bias strip" in s.said)
    bare = 2 * (order.neckline.half - front.named(EdgeName.NECK_SEAM)[0].length)
    assert step.lengths["neck_strip"] == pytest.approx(bare, abs=1e-3)


def test_a_strip_for_the_waist_leaves_out_what_lies_behind_the_front() -> None:
    orders = [order_from(card_text("band", facing)) for facing in ("cut on", "none")]
    around = []
    for order in orders:
        assert order is not None
        step = next(s for s in order_of_making(order).steps if s.operation.key == "waist")
        around.append(step.lengths["all_round"])
        body = sum(length_of(order, code, EdgeName.WAIST) for code in ("BACK", "FRONT"))
        assert step.lengths["all_round"] == pytest.approx(2 * (body + 1.5), abs=1e-3)
    assert around[0] == pytest.approx(around[1])


def test_cautions_are_kept() -> None:
    cautions = " ".join(order_of_making(demo_order()).cautions)
    for word in ("Irons", "rotary cutter", "neck", "EN 14682", "16 CFR 1120"):
        assert word in cautions


def test_every_piece_of_every_collar_belongs_to_a_part() -> None:
    for text in TEXTS:
        order = order_from(text)
        if order is not None:
            assert {piece.code for piece in order.pieces} <= parts().keys()


def test_stretches_are_measured_once_however_many_layers_lie_on_them() -> None:
    order = order_from(card_text("one-piece shirt", "separate"))
    assert order is not None
    step = next(
        s for s in order_of_making(order).steps if s.operation.key == "collar to neckline, faced"
    )
    layers = [s for s in step.operation.seams if EdgeName.NECKLINE in (s.first.edge, s.second.edge)]
    assert sum(stretch_length(order.pieces, s.second) for s in layers) > order.neckline.half + 5.0
    assert step.lengths["neckline"] == pytest.approx(order.neckline.half, abs=1e-3)


def test_every_sentence_is_said_of_some_order() -> None:
    """A sentence nobody ever reads asks for something there is no word for."""
    said = Counter(
        sentence
        for text in TEXTS
        if (order := order_from(text)) is not None
        for sentence in sentences_of(order)
    )
    unsaid = [
        sentence.said
        for kind in kinds()
        for sentence in kind.said
        if not said[kind.key, sentence.said] and not NEVER & {kind.key, *sentence.when}
    ]
    assert unsaid == []


#: What no other step takes, and a back neck facing that cannot lie on the fold.
NEVER = {"seam", "back facing centre back"}


def sentences_of(order: Garment) -> Iterator[tuple[str, str]]:
    told = {step.operation.key: str(step.said) for step in order_of_making(order).steps}
    for kind in kinds():
        for sentence in kind.said:
            pattern = "[^.]*".join(map(re.escape, re.split(r"\{\w+\}", sentence.said)))
            if re.search(pattern.replace("[^.]*", ".*?"), told.get(kind.key, "")):
                yield kind.key, sentence.said
