"""Whatever a row, a card or a method file holds: an order, or the reasons why there is none. Never
a fault of ours, never a hang, never a file outside the folder. And neither clock nor locale change
a byte. NECKARC_LONG=N tries N times as many, anew every time."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from blocks.bodice.methods import method_names, quantities, read_method
from blocks.body.body import complete
from blocks.body.measures import measurements
from collars.registry import COLLARS
from drafting.errors import NeckarcError
from drafting.library import data_folder, read_toml
from drafting.parameters import ParameterRule
from garment.garment import make_garment
from garment.options import options
from tests.long import examples, times
from workroom.batch.rows import Job, Outcome, Setting, draft_row
from workroom.batch.table import CARD, known_columns
from workroom.card.card import open_card
from workroom.papers.papers import papers

ROOT = Path(__file__).resolve().parents[2]
#: Seconds within which any answer must come, on a slow machine.
PATIENCE = 60.0
FUZZ = settings(
    max_examples=examples(30),
    derandomize=times() == 1,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
BODY = {
    "client": "Anna Berg",
    "date": "2026-03-14",
    "bust_girth": "92.5",
    "waist_girth": "74",
    "hip_girth": "99",
    "back_waist_length": "39.5",
    "neck_base_girth": "36.5",
}
TAPE = {
    "client": "Anna Berg",
    "date": "2026-03-14",
    "neckline.back_arc": "9",
    "neckline.front_arc": "13",
}
JUNK = st.one_of(
    st.sampled_from(
        ["", "-1", "0", "nan", "inf", "1e400", "9" * 400, "92,5", "14 3/8", "1/0", "92 cm", "36 in"]
    ),
    st.sampled_from(["../../x", "/etc/passwd", "a/b", "..", "CON", "\0", "\u202e", "𝟗𝟐", "%s%n"]),
    st.text(max_size=12),
    st.floats().map(str),
)
RULES: Mapping[str, ParameterRule] = {
    **{
        f"garment.{table}.{key}": option.rule
        for table, rows in options().items()
        for key, option in rows.items()
    },
    **{
        f"collar.{key}": rule
        for collar in COLLARS.values()
        for key, rule in collar.parameters.items()
    },
}


def ruled(rule: ParameterRule) -> st.SearchStrategy[str]:
    """A value that a rule accepts."""
    if rule.choices:
        return st.sampled_from(rule.choices)
    return st.floats(rule.low, rule.high).map(lambda x: f"{x:.2f}")


def measured(key: str) -> st.SearchStrategy[str]:
    """A measurement that a card accepts, mostly a usual one."""
    one = measurements()[key]
    return st.one_of(st.floats(*one.usual), st.floats(*one.hard)).map(lambda x: f"{x:.1f}")


@st.composite
def rows(draw: st.DrawFn, base: Mapping[str, str], junk: bool) -> dict[str, str]:
    """A row with some of its cells filled in at random, with what may stand there or with junk."""
    row = dict(base)
    kind = draw(st.sampled_from(["none", *COLLARS]))
    row["collar"] = kind
    parameters = [f"collar.{key}" for key in COLLARS[kind].parameters] if kind != "none" else []
    wishes = [*parameters, *(key for key in RULES if key.startswith("garment."))]
    for key in draw(st.lists(st.sampled_from(wishes), max_size=4)):
        row[key] = draw(ruled(RULES[key]))
    if base is BODY:
        row["method"] = draw(st.sampled_from(method_names()))
        for key in draw(st.lists(st.sampled_from(sorted(measurements())), max_size=3)):
            row[key] = draw(measured(key))
        row["neckline.fit"] = draw(st.sampled_from(["none", "front", "side", "both"]))
        row["garment.button_stand"] = draw(st.sampled_from(["", "0", "2"]))
    if junk:
        names = sorted(name for name in known_columns() if name != "card")
        for key in draw(st.lists(st.sampled_from(names), min_size=1, max_size=3)):
            row[key] = draw(JUNK)
    return row


def answered(tmp_path: Path, row: Mapping[str, str], kinds: tuple[str, ...]) -> Outcome:
    """The outcome of a row; it is no fault, comes in time, and only its folder is written."""
    into = tmp_path / "deep" / "out"
    cells = {known_columns()[key]: (text, "A") for key, text in row.items() if text.strip()}
    assert CARD not in cells
    begun = time.monotonic()
    outcome = draft_row(
        Job("orders.csv", 2, "order", cells), Setting(into, tmp_path / "orders.csv", kinds)
    )
    assert time.monotonic() - begun < PATIENCE
    assert not outcome.fault, outcome.reasons
    assert (outcome.account is None) == bool(outcome.reasons)
    assert all(reason.isprintable() for reason in outcome.reasons)
    written = {path.parent for path in tmp_path.rglob("[!.]*") if path.is_file()}
    if outcome.account is not None:
        assert {path.name for path in written} <= {"order", *(f"order.{k}" for k in range(2, 9999))}
    for path in written:
        assert path.parent == into
        for file in path.iterdir():
            file.unlink()
        path.rmdir()
    return outcome


@FUZZ
@given(rows(BODY, junk=False))
def test_any_body_and_wish_is_drafted_or_refused(tmp_path: Path, row: dict[str, str]) -> None:
    answered(tmp_path, row, ("checks",))


@FUZZ
@given(rows(BODY, junk=True))
def test_any_junk_is_refused_in_words(tmp_path: Path, row: dict[str, str]) -> None:
    answered(tmp_path, row, ("checks",))


@FUZZ
@given(rows(TAPE, junk=True))
def test_a_taped_neckline_with_junk(tmp_path: Path, row: dict[str, str]) -> None:
    answered(tmp_path, row, ("checks", "dxf"))


def test_the_rows_that_are_spoilt_are_good_at_first(tmp_path: Path) -> None:
    """So that spoiling them means something."""
    assert answered(tmp_path, {**BODY, "method": "direct-measure"}, ("checks",)).account
    assert answered(tmp_path, {**TAPE, "collar": "two-piece shirt"}, ("checks",)).account


METHODS = {
    name: (data_folder() / "methods" / f"{name}.toml").read_text(encoding="utf-8")
    for name in method_names()
}
SNIPPETS = st.one_of(
    st.sampled_from(
        ["", "[]", "1", '"x"', "{}", "[quantities]", "[method]", "needs = 3", "bust_made_for = 7"]
    ),
    st.sampled_from(["bust_girth", "/ 0", "^ 99", "sqrt(0 - 1)", "(", "°", "waist_depth", "1e9"]),
    st.text(max_size=10),
)


@FUZZ
@given(st.data(), st.sampled_from(sorted(METHODS)))
def test_a_spoilt_method_file_is_read_or_refused(data: st.DataObject, name: str) -> None:
    """Pieces of a method that works cut out, doubled or overwritten; what can still be read is
    tried on a body."""
    text = METHODS[name]
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(len(text), start + 30)))
        text = text[:start] + data.draw(SNIPPETS) + text[end:]
    begun = time.monotonic()
    try:
        method = read_method(read_toml(text, "mine.toml"), "mine")
        found = quantities(method, complete(dict.fromkeys(measurements(), 92.0)), neck_ease=0.5)
        assert all(isinstance(value, float) for value in found.values())
    except NeckarcError as error:
        assert all(problem.said for problem in error.problems)
    assert time.monotonic() - begun < PATIENCE


@pytest.mark.parametrize(
    "head",
    [
        "method = 3",
        'method = { title = "", needs = 1, source = "", made_for = "", bust_made_for = [1, 2] }',
        'method = { title = "", needs = [[]], source = "", made_for = "", bust_made_for = [1, 2] }',
        'method = { title = "", needs = [], source = "", made_for = "", bust_made_for = [2] }',
        'method = { title = "", needs = [], source = "", made_for = "", bust_made_for = ["a", 2] }',
        'quantities = 3\nmethod = { title = "", needs = [], source = "", made_for = "", '
        "bust_made_for = [1, 2] }",
    ],
)
def test_heads_of_methods_that_once_ended_in_a_fault(head: str) -> None:
    with pytest.raises(NeckarcError):
        read_method(read_toml(head, "mine.toml"), "mine")


ELSEWHERE = """
import locale, sys, time
from pathlib import Path
there = dict(locale.localeconv(), decimal_point=",", thousands_sep=".")
locale.localeconv = lambda: there
later, late = time.time, time.localtime
time.time = lambda: later() + 4e8
time.time_ns = lambda: int(time.time() * 1e9)
time.localtime = lambda *given: late(*(given or (time.time(),)))
from garment.garment import make_garment
from workroom.card.card import open_card
from workroom.papers.papers import papers
for name, data in papers(make_garment(open_card(Path(sys.argv[1]))), "all").items():
    (Path(sys.argv[2]) / name).write_bytes(data)
"""


def test_neither_clock_nor_locale_change_a_byte(tmp_path: Path) -> None:
    """Every paper made anew in a process whose clock is twelve years ahead, in another time zone,
    and whose locale writes decimal commas."""
    demo = data_folder() / "clients" / "demo.toml"
    asked = {**os.environ, "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8", "TZ": "Asia/Tokyo"}
    asked["PYTHONHASHSEED"] = "4711"  # sets and their order are another run's too
    subprocess.run(
        [sys.executable, "-c", ELSEWHERE, str(demo), str(tmp_path)], cwd=ROOT, env=asked, check=True
    )

    wanted = papers(make_garment(open_card(demo)), "all")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == wanted


@pytest.mark.parametrize("ends", ["\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_card_saved_in_other_ways_is_the_same_card(
    tmp_path: Path, encoding: str, ends: str
) -> None:
    text = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
    path = tmp_path / "demo.toml"
    path.write_bytes(text.replace("\n", ends).encode(encoding))

    assert open_card(path) == open_card(data_folder() / "clients" / "demo.toml")
    assert np.isclose(open_card(path).measurements["bust_girth"], 94.0)
