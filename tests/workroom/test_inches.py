"""A maker in inches reads inches everywhere, one in centimetres centimetres; and what an advice in
inches says, done, is enough."""

from __future__ import annotations

import io
import json
import re
import tomllib
from collections.abc import Iterator
from typing import Any

import ezdxf
import pypdfium2
import pytest

from blocks.bodice.checks import BACK, FRONT
from blocks.bodice.methods import method, method_names
from blocks.body.measures import measurements
from collars.drafts import CollarBase, CollarDraft
from collars.registry import COLLARS
from drafting.errors import CardError, DraftError
from drafting.library import data_folder
from drafting.pieces.checks import Verdict
from drafting.sentences import written
from drafting.units import LengthUnit, parse_length
from garment.garment import Garment, make_garment
from garment.options import options
from tests.units_said import bare_lengths, inch_twin, wrong_units
from workroom.card.blank import blank_card
from workroom.card.card import known_collars, known_methods, read_card_text
from workroom.console.explaining import explain
from workroom.desk.forms import form
from workroom.desk.preview import look_at
from workroom.making import order_of_making
from workroom.papers.booklets.console_text import plain_lines
from workroom.papers.papers import papers
from workroom.worksheet.making import make_worksheet, worksheet_lines

CARDS = {path.stem: path.read_text("utf-8") for path in (data_folder() / "clients").glob("*.toml")}
CM, INCH = LengthUnit.CM, LengthUnit.INCH
DEMO = CARDS["demo"]


def card_of(name: str, unit: LengthUnit) -> str:
    return CARDS[name] if unit is CM else inch_twin(CARDS[name])


def assert_said(lines: Iterator[str] | list[str], unit: LengthUnit, *, but: str = "") -> None:
    """Sentences in one unit, no length without it; formulas (they have an ``=``) may have numbers
    only, in that unit as well."""
    for line in lines:
        said = line.replace(but, "") if but else line
        assert not wrong_units(said, unit), line
        if " = " not in said and "Source: " not in said:
            assert not bare_lengths(said, unit), line


def texts(told: Any, leave: frozenset[str] = frozenset({"unit", "svg", "words_in"})) -> list[str]:
    """Every text in plain data."""
    if isinstance(told, dict):
        return [t for key, one in told.items() if key not in leave for t in texts(one, leave)]
    if isinstance(told, list | tuple):
        return [t for one in told for t in texts(one, leave)]
    return [told] if isinstance(told, str) else []


def words_of(name: str, data: bytes) -> list[str]:
    """The texts of one paper."""
    if name.endswith(".pdf"):
        pdf = pypdfium2.PdfDocument(data)
        return "\n".join(page.get_textpage().get_text_range() for page in pdf).splitlines()
    if name.endswith(".dxf"):
        drawing = ezdxf.read(io.StringIO(data.decode("utf-8")))
        kinds = ("TEXT", "ATTRIB", "ATTDEF", "MTEXT")
        return [e.dxf.text for e in drawing.entitydb.values() if e.dxftype() in kinds]
    if name.endswith(".svg"):
        return re.sub(r"<[^>]*>", "\n", data.decode("utf-8")).splitlines()
    if name.endswith(".json"):
        return texts(json.loads(data))
    return data.decode("utf-8").splitlines()


# ---- everything that is read --------------------------------------------------------------------


@pytest.mark.parametrize("unit", LengthUnit)
@pytest.mark.parametrize("name", sorted(CARDS))
def test_every_sentence_of_an_order_has_its_unit(name: str, unit: LengthUnit) -> None:
    order = make_garment(read_card_text(card_of(name, unit), name))
    title = order.commission.order
    assert_said(plain_lines(order), unit, but=title)
    assert_said(order_of_making(order).lines(), unit)
    for line in worksheet_lines(make_worksheet(order)):
        assert not wrong_units(line, unit), line


@pytest.mark.parametrize("unit", LengthUnit)
@pytest.mark.parametrize("name", ["demo", "notched", "sailor", "large"])
def test_every_paper_is_in_the_cards_unit(name: str, unit: LengthUnit) -> None:
    order = make_garment(read_card_text(card_of(name, unit), name))
    for paper, data in papers(order, "all").items():
        if paper.endswith(".png"):
            continue
        lines = words_of(paper, data)
        assert lines, paper
        for line in lines:
            assert not wrong_units(line, unit), (paper, line)
        if paper.endswith(".txt"):
            assert_said(lines, unit, but=order.commission.order)


@pytest.mark.parametrize("unit", LengthUnit)
@pytest.mark.parametrize("asked", ["", "half neckline", "front neck width", "neck base girth"])
def test_explanations_are_in_the_cards_unit(asked: str, unit: LengthUnit) -> None:
    order = make_garment(read_card_text(card_of("demo", unit), "demo"))
    assert_said(explain(order, asked), unit, but=order.commission.order)


@pytest.mark.parametrize("unit", LengthUnit)
@pytest.mark.parametrize("name", sorted(CARDS))
def test_the_desk_answers_in_the_cards_unit(name: str, unit: LengthUnit) -> None:
    content = tomllib.loads(card_of(name, unit))
    content["date"] = content["date"].isoformat()
    for said in texts(look_at(content).told):
        assert not wrong_units(said, unit), said


@pytest.mark.parametrize("unit", LengthUnit)
def test_the_desks_fields_are_in_the_cards_unit(unit: LengthUnit) -> None:
    for said in texts(form(unit.value), frozenset({"unit", "silhouette", "pictures", "path"})):
        assert not wrong_units(said, unit), said


@pytest.mark.parametrize("unit", LengthUnit)
@pytest.mark.parametrize("kind", ["none", *COLLARS])
def test_a_blank_card_is_in_one_unit(kind: str, unit: LengthUnit) -> None:
    card = blank_card(collars=known_collars(), methods=known_methods(), unit=unit, collar=kind)
    said = re.sub(r"\n# (?!\w+ ?=|\[| )", " ", card)  # a remark runs over several lines
    for line in said.splitlines():
        if line.startswith("# ") and " = " not in line:
            assert_said([line], unit)
        assert not wrong_units(line, unit), line


# ---- what is refused ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def grounds() -> tuple[CollarBase, ...]:
    """A body with a round neckline, a wide one and a V."""
    found = []
    for style in (
        "",
        "style = { front_lower = 9.0, side_widen = 2.0, back_lower = 1.0 }",
        'style = { shape = "v", front_lower = 12.0, side_widen = 1.0 }',
    ):
        text = DEMO.replace("[neckline]", f"[neckline]\n{style}")
        card = read_card_text(re.sub(r"\[collar\][\s\S]*", "", text), "demo")
        order = make_garment(card)
        pieces = {piece.code: piece for piece in order.pieces}
        found.append(CollarBase(order.neckline, pieces[BACK], pieces[FRONT]))
    return tuple(found)


def extremes(kind: str) -> Iterator[dict[str, float | str]]:
    """Every parameter of a collar at either end of its range, and every choice."""
    yield {}
    for key, rule in COLLARS[kind].parameters.items():
        if rule.choices:
            yield from ({key: choice} for choice in rule.choices)
            continue
        scale = 3.141592653589793 / 180.0 if rule.unit == "deg" else 1.0
        middle = (rule.low + rule.high) / 2.0
        yield from ({key: end * scale} for end in (rule.low, middle, rule.high))


@pytest.mark.parametrize("kind", COLLARS)
def test_whatever_a_collar_says_it_says_in_one_unit(
    kind: str, grounds: tuple[CollarBase, ...]
) -> None:
    said: set[str] = set()
    for ground in grounds:
        for wishes in extremes(kind):
            try:
                draft = COLLARS[kind].draft(ground, wishes)
            except DraftError as error:
                for problem in error.problems:
                    parts = (problem.said, problem.got, problem.accepted, problem.advice)
                    said.update(f"{part}" for part in parts)
            else:
                said.update(f"{note}" for note in draft.notes)
                for check in draft.checks:
                    said.update(f"{part}" for part in (check.name, check.where, check.advice))
    assert len(said) > 10
    for text in said:
        for unit in LengthUnit:
            assert_said([written(text, unit)], unit)


def garment_extremes() -> Iterator[str]:
    for name, rows in options().items():
        for key, option in rows.items():
            rule = option.rule
            ends = rule.choices or (rule.low, (rule.low + rule.high) / 2, rule.high)
            for end in ends:
                told = f'"{end}"' if isinstance(end, str) else f"{end:g}"
                yield f"[garment.{name}]\n{key} = {told}\n"
    yield "[neckline.style]\nfront_lower = 29.0\nside_widen = 11.0\n"
    yield '[neckline.style]\nshape = "boat"\nside_widen = 1.0\n'
    yield '[neckline.style]\nshape = "v"\nfront_lower = 29.0\n'


def test_whatever_a_garment_says_it_says_in_one_unit() -> None:
    head = re.sub(r"\[(?:collar|garment|neckline)[\s\S]*", "", DEMO)
    said: set[str] = set()
    for wish in garment_extremes():
        start = "[garment]\nbutton_stand = 1.5\n" if "[neckline" in wish else ""
        try:
            order = make_garment(read_card_text(f"{head}\n{start}{wish}", "card"))
        except DraftError as error:
            for problem in error.problems:
                parts = (problem.said, problem.got, problem.accepted, problem.advice)
                said.update(f"{part}" for part in parts)
        else:
            said.update(f"{note}" for note in order.notes)
            for check in order.checks:
                said.update(f"{part}" for part in (check.name, check.where, check.advice))
    assert len(said) > 30
    for text in said:
        for unit in LengthUnit:
            assert_said([written(text, unit)], unit)


def test_a_refused_measurement_is_told_in_the_cards_unit() -> None:
    for unit in LengthUnit:
        for key, measurement in measurements().items():
            if measurement.unit != "cm":
                continue
            head = f'client = "A"\ndate = 2026-01-02\nunit = "{unit}"\n'
            with pytest.raises(CardError, match=key) as caught:
                read_card_text(f"{head}[measurements]\n{key} = 3000", "card")
            for line in str(caught.value).splitlines():
                assert not wrong_units(line, unit), line


# ---- an advice in inches, done ------------------------------------------------------------------

#: An advice that names a number for a parameter: its words, and how to find the check again.
_REMEDIES = (
    (r"Take a fall of ([\d /.]+ in) or more", "fall_back"),
    (r"A rise of ([\d /.]+ in) instead of", "rise"),
    (r"A fall rise of ([\d /.]+ in) instead of", "fall_rise"),
    (r"An overlap of ([\d /.]+ in) would do", "overlap"),
    (r"A raise of ([\d /.]+ in) gives the stand asked for", "raise_back"),
)


def remedies(draft: CollarDraft) -> Iterator[tuple[str, str, float]]:
    """The name of every check whose advice names a number, the parameter and the number (cm)."""
    for check in draft.checks:
        advice = written(check.advice, INCH)
        for words, key in _REMEDIES:
            for found in re.findall(words, advice):
                yield check.name, key, parse_length(found, INCH)


@pytest.mark.parametrize("kind", COLLARS)
def test_what_an_advice_in_inches_says_mends_its_check(
    kind: str, grounds: tuple[CollarBase, ...]
) -> None:
    """A sixteenth is enough: the check passes, or is left within its tolerance."""
    rules = COLLARS[kind].parameters
    for ground in grounds:
        for wishes in extremes(kind):
            try:
                draft = COLLARS[kind].draft(ground, wishes)
            except DraftError:
                continue
            for name, key, value in remedies(draft):
                by_number = {f"{key}_by": "number"} if f"{key}_by" in rules else {}
                mended = COLLARS[kind].draft(ground, {**wishes, **by_number, key: value})
                for check in (one for one in mended.checks if one.name == name):
                    left = check.target - check.measured
                    short = left if check.least else abs(left)
                    assert check.verdict is Verdict.PASS or short <= check.tolerance, (
                        name,
                        wishes,
                        value,
                        check,
                    )


def test_every_method_is_told_in_one_unit() -> None:
    for name in method_names():
        for unit in LengthUnit:
            assert not bare_lengths(written(method(name).made_for, unit), unit)


def test_a_check_that_fails_never_reads_as_if_it_held() -> None:
    """Measured and wanted may be the same sixteenth: then the difference stands there as well."""
    order: Garment = make_garment(read_card_text(inch_twin(CARDS["demo"]), "demo"))
    for line in plain_lines(order):
        found = re.match(r"(?:fail|note): .*: (.* in), wanted (?:at least )?(.*? in)\b(.*)", line)
        if found and found[1] == found[2]:
            assert "off by" in found[3] or "Not checked" in found[3], line
