"""Whatever is written, there comes a card or a CardError in plain words; nothing else."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from drafting.errors import CardError, Problem
from drafting.library import data_folder
from drafting.parameters import ParameterRule
from workroom.card.card import parse_card

METHODS = {"direct-measure": frozenset({"bust_girth", "neck_base_girth"})}
COLLARS = {
    "two-piece shirt": {
        "stand_height": ParameterRule("stand_height", "cm", 2, 5, (), 3.0, "stand at the back"),
        "point": ParameterRule("point", "choice", 0, 0, ("pointed", "round"), "pointed", "shape"),
        "lean": ParameterRule("lean", "deg", 0, 30, (), 10.0, "how far the stand leans"),
    },
}
GOOD = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
GOOD += "lean = 3\npoint = 'round'\nstand_height = '3,2'\n"


def mistakes(text: str) -> tuple[Problem, ...]:
    try:
        parse_card(text, "marta.toml", collars=COLLARS, methods=METHODS)
    except CardError as error:
        return error.problems
    return ()


def parses_or_tells(text: str) -> None:
    """Every mistake has words and a place, and nothing in it can disturb a terminal."""
    for problem in mistakes(text):
        assert problem.said
        assert problem.place.startswith("marta.toml")
        assert all(sign.isprintable() for sign in str(problem))


def test_the_good_card_is_good() -> None:
    """So that spoiling it means something."""
    assert mistakes(GOOD) == ()
    assert len(mistakes("")) == 4


VALUE = st.one_of(
    st.sampled_from(
        ["", "92", "-1", "nan", "inf", "1e400", "true", "[]", "{}", "[[", "'''", '"""']
    ),
    st.sampled_from(["2026-03-14", "2026-13-14", "07:32:00", "0x1F", '"14 3/8"', '"a\\u0000"']),
    st.text(max_size=12),
    st.text(max_size=12).map(lambda text: f'"{text}"'),
    st.floats().map(repr),
)
KEY = st.one_of(
    st.sampled_from(
        ["client", "date", "unit", "bust_girth", "method", "kind", "style", "back_arc", "a.b", '""']
    ),
    st.text(max_size=8),
)
LINE = st.one_of(
    st.tuples(KEY, VALUE).map(" = ".join),
    st.sampled_from(
        ["[measurements]", "[garment]", "[neckline]", "[collar]", "[[measurements]]", "[a.b]"]
    ),
    st.text(max_size=20),
)


@given(st.lists(LINE, max_size=12).map("\n".join))
def test_any_text_gives_a_card_or_its_mistakes(text: str) -> None:
    parses_or_tells(text)


@given(st.data())
def test_a_good_card_spoilt_gives_a_card_or_its_mistakes(data: st.DataObject) -> None:
    """Pieces of the good card cut out, doubled or overwritten."""
    text = GOOD
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(len(text), start + 20)))
        text = text[:start] + data.draw(st.one_of(VALUE, LINE)) + text[end:]
    parses_or_tells(text)


@given(st.dictionaries(KEY, st.one_of(VALUE), max_size=3), st.sampled_from(GOOD.splitlines()))
def test_values_of_every_kind_in_every_place(values: dict[str, str], after: str) -> None:
    lines = GOOD.splitlines()
    lines[lines.index(after) : lines.index(after) + 1] = [
        after.split(" = ")[0] + f" = {value}" for value in values.values()
    ]
    parses_or_tells("\n".join(lines))
