"""Methods as data: the vocabulary, mistakes told by line, and bodies that do not go together."""

from __future__ import annotations

import pytest

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import Method, method, method_names, quantities, read_method, vocabulary
from blocks.body.body import complete
from blocks.body.measures import measurements
from drafting.errors import DataError, DraftError, FormulaError
from drafting.library import data_folder, read_toml

HEAD = (
    '[method]\ntitle = "Mine"\nneeds = ["bust_girth"]\nsource = "mine"\nmade_for = "me"\n'
    "bust_made_for = [80, 100]\n"
)
BODY = {"bust_girth": 92.0, "waist_girth": 74.0, "back_waist_length": 39.0}


def whole(**other: str) -> str:
    """A method in which every word is the number nought but for ``other`` lines."""
    nought = {"deg": '"deg(0)"'}
    lines = {key: nought.get(word.unit, '"0"') for key, word in vocabulary().items()} | other
    return HEAD + "[quantities]\n" + "".join(f"{key} = {row}\n" for key, row in lines.items())


def read(text: str) -> Method:
    return read_method(read_toml(text, "mine.toml"), "mine")


def line_of(text: str, key: str) -> int:
    return [line.split(" = ")[0] for line in text.splitlines()].index(key) + 1


@pytest.mark.parametrize("key", method_names())
def test_a_method_reads_what_it_says_and_tells_every_source(key: str) -> None:
    chosen = method(key)

    assert chosen.needs <= chosen.reads <= set(measurements())
    assert chosen.bust_made_for[0] < chosen.bust_made_for[1]
    assert all(entry.source for entry in chosen.sheet.entries.values())
    q = quantities(chosen, complete(BODY), neck_ease=0.5)
    assert set(q) == set(chosen.sheet.entries)
    assert len(q) == len(set(q))


@pytest.mark.parametrize("key", method_names())
def test_neck_ease_lengthens_the_direct_measure_neckline_only(key: str) -> None:
    lengths = [
        draft_bodice(complete(BODY), BlockWish(key, neck_ease=ease)).fit.drafted
        for ease in (0.0, 2.0)
    ]
    grown = {"bust-proportional": 0.0, "direct-measure": 2.0}[key]

    assert lengths[1] - lengths[0] == pytest.approx(grown, abs=0.03)


def test_a_whole_method_is_read() -> None:
    mine = read(whole(half_width='"bust_girth / 2"'))

    assert mine.bust_made_for == (80.0, 100.0)
    assert mine.reads == {"bust_girth"}
    q = quantities(mine, complete(BODY), neck_ease=0.0)
    assert q["half_width"] == 46.0
    with pytest.raises(KeyError):
        q["half_a_width"]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ('"bust_grith / 2"', "bust_girth"),
        ('"deg(12)"', "unit"),
        ('"6 +"', "formula"),
        ("12", "a formula in quotes is wanted"),
        ("{ formula = 12 }", "a formula in quotes is wanted"),
        ('"half_width"', "half_width"),
    ],
)
def test_a_bad_formula_is_told_by_its_line(row: str, said: str) -> None:
    text = whole(half_width=row)
    with pytest.raises(FormulaError) as caught:
        read(text)
    message = str(caught.value)

    assert f"mine.toml:{line_of(text, 'half_width')}" in message
    assert said in message.replace("angle", "unit") if said == "unit" else said in message


@pytest.mark.parametrize("key", list(vocabulary()))
def test_each_missing_word_is_named_with_its_meaning(key: str) -> None:
    text = "\n".join(row for row in whole().splitlines() if not row.startswith(f"{key} ="))
    with pytest.raises(FormulaError, match="this quantity is missing") as caught:
        read(text)

    assert [p.key for p in caught.value.problems] == [key]
    assert caught.value.problems[0].accepted == vocabulary()[key].meaning


def test_a_methods_own_quantity_needs_a_unit() -> None:
    text = whole(my_own='"3"')
    with pytest.raises(FormulaError, match="its unit is missing or unknown") as caught:
        read(text)

    assert caught.value.problems[0].place == f"mine.toml:{line_of(text, 'my_own')}"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[quantities]\n", r"\[method\] is missing"),
        (HEAD.replace('source = "mine"\n', ""), r"\[method\] lacks source"),
        (HEAD.replace("bust_girth", "bust_grith"), "not a measurement: bust_grith"),
    ],
)
def test_a_bad_head_is_told(text: str, said: str) -> None:
    with pytest.raises(DataError, match=said):
        read(text)


def test_an_unknown_method_names_the_known_ones() -> None:
    with pytest.raises(DraftError, match="bust-proportional, direct-measure"):
        method("by-eye")


@pytest.mark.parametrize(
    ("chosen", "taken", "said"),
    [
        (
            "direct-measure",
            {"shoulder_length": 6.0, "scye_depth": 36.0},
            "Measure the .* again: about",
        ),
        ("direct-measure", {"bust_girth": 60.0, "across_back_width": 50.0}, "armhole too narrow"),
        ("direct-measure", {"neck_base_girth": 15.0}, "front neck too narrow"),
        ("direct-measure", {"bust_point_width": 7.0}, "bust point too near centre front"),
        ("direct-measure", {"side_neck_to_waist_front": 60.0}, "front waist would lie"),
        ("direct-measure", {"bust_point_width": 41.0}, "lower leg too near the bust point"),
        # These two were drawn once with outlines that cross themselves.
        (
            "direct-measure",
            {"side_neck_to_bust_point": 56.0, "side_neck_to_waist_front": 57.0},
            "bust point too near the waist line",
        ),
        (
            "direct-measure",
            {
                "bust_girth": 84.3,
                "bust_point_width": 32.7,
                "side_neck_to_bust_point": 37.4,
                "back_waist_length": 53.6,
                "side_neck_to_waist_front": 55.1,
            },
            "upper leg too near the bust point's upright",
        ),
        ("bust-proportional", {"bust_girth": 30.0}, "narrow|short|shallow"),
    ],
)
def test_measurements_that_do_not_go_together_are_refused_with_a_reason(
    chosen: str, taken: dict[str, float], said: str
) -> None:
    with pytest.raises(DraftError, match=said) as caught:
        draft_bodice(complete(BODY | taken), BlockWish(chosen))

    assert all(problem.said for problem in caught.value.problems)


def test_an_outline_that_would_cross_itself_is_refused() -> None:
    """A neck as wide as a waist on a scye of nothing: no such woman."""
    taken = {
        "bust_girth": 133.0,
        "waist_girth": 75.0,
        "back_waist_length": 43.0,
        "neck_base_girth": 68.0,
        "scye_depth": 10.0,
    }
    draft = draft_bodice(complete(taken), BlockWish("direct-measure"))
    with pytest.raises(DraftError, match="outline of the front bodice would cross itself"):
        make_up(draft)


def test_a_dart_of_no_length_is_refused() -> None:
    """Its upper end lies on the waist line: once a division by nought."""
    taken = BODY | {"side_neck_to_bust_point": 37.0, "side_neck_to_waist_front": 39.5}
    with pytest.raises(DraftError, match="bust point too near the waist line"):
        draft_bodice(complete(taken), BlockWish("direct-measure"))


@pytest.mark.parametrize(
    ("key", "value", "likely"),
    [("shoulder_length", 6.0, 13.8)],
)
def test_readings_that_give_no_block_are_told_by_the_one_to_take_again(
    key: str, value: float, likely: float
) -> None:
    taken = read_toml((data_folder() / "clients/demo.toml").read_text(), "demo").values
    body = {k: v for k, v in taken["measurements"].items() if measurements()[k].unit == "cm"}
    with pytest.raises(DraftError) as caught:
        draft_bodice(complete({**body, key: value}), BlockWish("direct-measure"))
    (problem,) = caught.value.problems

    assert problem.key == f"measurements.{key}"
    assert f"Measure the shoulder length again: about {likely} cm" in problem.advice
    assert not any(name in str(problem) for name in vocabulary())
    draft_bodice(complete({**body, key: likely}), BlockWish("direct-measure"))
