"""What `neckarc explain` says: to be read by a maker, true to the draft, in her own unit."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from blocks.body.measures import asked_for
from drafting.errors import DraftError
from drafting.library import data_folder
from drafting.units import format_inches
from garment.garment import Garment, make_garment
from workroom.card.card import open_card, read_card_text
from workroom.certainty.sure import certainty
from workroom.certainty.words import odds, part, sure_line
from workroom.commands import neckarc
from workroom.console import explaining
from workroom.console.explaining import before_and_after, explain
from workroom.papers.booklets.report import report, report_bytes

DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
#: The same with its collar by the usual rules, whatever her neck and shoulders ask.
BY_RULE = DEMO + 'rise_by = "rule"\nfall_rise_by = "rule"\n'
SEEN = '\n[[toile]]\ndate = 2026-03-20\nseen = "front neck 0.8 too deep"\n'
SEEN += '[[toile]]\ndate = 2026-03-20\nseen = "collar rides up"\n'


def order_of(text: str = BY_RULE) -> Garment:
    return make_garment(read_card_text(text, "a"))


def client(name: str) -> Garment:
    return make_garment(open_card(data_folder() / "clients" / f"{name}.toml"))


def run(*words: str) -> Result:
    return CliRunner().invoke(neckarc, ["explain", *words])


def written(folder: Path, text: str) -> str:
    path = folder / "card.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


@pytest.fixture(autouse=True)
def _only_near(monkeypatch: pytest.MonkeyPatch) -> None:
    """Flips are tried elsewhere; here one distance is enough."""
    monkeypatch.setattr("workroom.certainty.tipping_points.TRIED", (2.0,))


def test_the_summary_says_how_sure_and_what_to_take_again() -> None:
    lines = explain(order_of())
    assert (
        "  half neckline 18.95 ± 0.14 cm; all of that is the neck base girth: measure it twice"
        in (lines)
    )
    assert any(line.startswith("  closed top girth 36.79 ± 0.30 cm") for line in lines)
    (first,) = [line for line in lines if line.startswith("  1. ")]
    assert (
        "neck base girth: measure it once more; its uncertainty falls from 0.29 cm to 0.20 cm"
        in first
    )
    assert first.endswith("passes on her 99 times in 100, not 96")
    assert any("neckline against neck base girth" in line and "96 times" in line for line in lines)
    assert not [line for line in lines if line.startswith("  bust line")]
    assert not [line for line in lines if "_" in line]


def test_a_quantity_is_derived_down_to_its_number() -> None:
    order = order_of()
    lines = explain(order, "front neck width")
    assert order.bodice is not None
    value = order.bodice.quantities["front_neck_width"]
    assert lines[2].startswith(f"front neck width {value:.2f} ± 0.06 cm")
    assert any("= 37.4 + 0.5 = 37.9 cm" in line for line in lines)
    assert any(line.endswith(f"= {value:.2f} cm") for line in lines)
    assert any("1 cm more makes it 0.200 cm more" in line for line in lines)
    assert any("1.73 cm less and “closed top edge" in line for line in lines)


@pytest.mark.parametrize("asked", ["side_x", "underarm point across"])
def test_a_quantity_answers_to_its_key_and_to_what_the_worksheet_calls_it(asked: str) -> None:
    lines = explain(order_of(), asked)
    assert any(line.startswith("  in one line: underarm point across = ") for line in lines)


@pytest.mark.parametrize("asked", ["front_neck_width", "Front  Neck Width", "front-neck-width"])
def test_names_may_be_written_in_any_way(asked: str) -> None:
    assert explain(order_of(), asked)[2].startswith("front neck width 6.88")


def test_a_check_is_found_by_how_it_begins_and_told_with_its_chance() -> None:
    lines = explain(order_of(), "closed top edge")
    assert lines[2].startswith("closed top edge round the neck (Collar stand, top edge): 36.79 cm")
    assert any("neck girth 33.20 cm: 1 cm more makes it 1.000 cm less" in line for line in lines)
    assert any(
        re.search(r"1\.(79|80) cm more and the check passes; a smaller one changes nothing", line)
        for line in lines
    )


def test_a_check_that_holds_on_any_body_says_so() -> None:
    lines = explain(order_of(), "shoulder notch from centre back")
    assert any("it is the same on any body" in line for line in lines)
    order = client("shawl")  # with a back as wide as her shoulder does not allow
    wide = {**order.commission.measurements, "across_back_width": 40.9}
    shawl = explain(make_garment(replace(order.commission, measurements=wide)), "half across back")
    assert any("compares the pieces with each other" in line for line in shawl)


def test_a_measurement_tells_what_hangs_on_it() -> None:
    lines = explain(order_of(DEMO.replace("scye_depth = 19.4", "")), "scye depth")
    assert any(line.startswith("  estimated from bust girth") for line in lines)
    assert any("rather too much than too little" in line for line in lines)
    assert any("block armhole depth: 1 cm more makes it 1.000 cm more" in line for line in lines)
    assert "  nothing in this draft" in explain(order_of(), "wrist girth")


def test_a_number_of_the_collar_says_what_it_was_drafted_from() -> None:
    lines = explain(order_of(DEMO + "rise = 1.5\n"), "closed top girth")
    assert any("on the card: rise = 1.5" in line for line in lines)
    assert any("redrafting the collar, carried on from the neckline" in line for line in lines)


@pytest.mark.parametrize(
    ("asked", "meant"),
    [
        ("fron neck width", "front neck width"),
        ("closed top grith", "closed top girth"),
        ("halve neckline", "half neckline"),
        ("nek base girth", "neck base girth"),
        ("bust line darts", "bust line, darts sewn: ease left"),
    ],
)
def test_a_misspelt_name_is_refused_with_what_was_meant(asked: str, meant: str) -> None:
    with pytest.raises(DraftError) as caught:
        explain(order_of(), asked + " x" * (asked == "bust line darts"))
    assert meant in caught.value.problems[0].advice


def test_nonsense_is_refused_without_a_guess() -> None:
    with pytest.raises(DraftError, match="nothing of this name"):
        explain(order_of(), "zzzz")


@pytest.mark.parametrize("name", ["flat", "notched", "none", "one-piece-shirt", "sailor"])
def test_every_collar_can_be_explained(name: str) -> None:
    order = client(name)
    lines = explain(order)
    assert not [line for line in lines if "not worked out" in line]
    assert any(line.startswith("  half neckline") for line in lines)


def test_everything_that_has_a_name_can_be_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    order = order_of()
    monkeypatch.setattr(explaining, "flips", lambda *_: (None, None))
    found = certainty(order)
    monkeypatch.setattr(explaining, "certainty", lambda *_, **__: found)
    names = [one.name for one in found.numbers.values()]
    names += [one.check.name for one in found.checks] + list(asked_for()) + ["neckline"]
    for name in names:
        assert len(explain(order, name)) > 3


def test_an_inch_card_is_told_in_inches() -> None:
    inches = DEMO.replace('unit = "cm"', 'unit = "in"')
    for key, value in read_card_text(DEMO, "a").measurements.items():
        inches = re.sub(rf"(?m)^{key} = .*$", f'{key} = "{value:.4f} cm"', inches)
    inches = inches.replace('"0.3665 cm"', "21").replace('"0.2443 cm"', "14")
    inches = inches.replace("button_stand = 1.5", "button_stand = 0.6")
    order = order_of(inches)
    lines = explain(order)
    said = f"  half neckline {format_inches(order.neckline.half)} ± 1/16 in"
    assert any(line.startswith(said) for line in lines)
    assert not [line for line in lines if re.search(r"\d\.\d+ in\b", line)]
    assert not [line for line in lines if re.search(r"\d cm", line)]
    told = explain(order, "front neck depth")
    assert any("1 in more makes it 3/16 in more" in line for line in told)


def test_a_taped_neckline_is_explained_too() -> None:
    text = 'client = "Ines"\ndate = 2026-03-14\n[neckline]\nback_arc = 8\nfront_arc = 11\n'
    order = order_of(text + '[collar]\nkind = "band"\n')
    assert any("half neckline 19.00 ± 0.14 cm" in line for line in explain(order))
    assert any("taped back arc" in line for line in explain(order, "back arc"))


def test_fittings_are_told_before_and_after() -> None:
    order, plain = order_of(BY_RULE + SEEN), order_of()
    told = before_and_after(order)
    assert before_and_after(plain) == []
    was, now = (2 * one.neckline.half for one in (plain, order))
    assert f"whole neckline: {was:.2f} cm, now {now:.2f} cm" in told
    assert any(line.startswith("fall turning angle: ") for line in told)
    lines = explain(order)
    assert "Fittings" in lines
    assert "  2026-03-20, front neck too deep" in lines


def test_the_report_says_how_sure() -> None:
    told = report(order_of())["how_sure"]
    assert json.loads(report_bytes(order_of()))["how_sure"] == told
    half = told["numbers"][0]
    assert (half["name"], half["shares"]) == ("half neckline", {"neck_base_girth": 1.0})
    assert half["standard_deviation"] == pytest.approx(0.1444, abs=1e-3)
    assert told["take_again"][0] == "neck_base_girth"
    assert told["chance_of_room_for_the_neck"] == 1.0
    chances = {row["name"]: row["chance"] for row in told["checks"]}
    assert chances["neckline against neck base girth"] == pytest.approx(0.96, abs=0.01)
    exact = {row["name"]: row["chance_within_tolerance"] for row in told["checks"]}
    assert exact["neckline against neck base girth"] == pytest.approx(0.70, abs=0.01)
    assert report(client("flat"))["how_sure"]["chance_of_room_for_the_neck"] is None


def test_shares_and_chances_in_words() -> None:
    assert [part(share) for share in (0.99, 0.91, 0.74, 0.51, 0.34, 0.03)] == [
        "all",
        "nine tenths",
        "three quarters",
        "half",
        "a third",
        "a tenth",
    ]
    assert odds(0.7) == "70 times in 100"
    assert odds(0.999) == "almost certain"


def test_what_is_estimated_is_to_be_taken() -> None:
    guessed = DEMO.replace("neck_base_girth = 37.4", "")
    order = order_of(guessed.replace('"direct-measure"', '"bust-proportional"'))
    found = certainty(order)
    line = sure_line(found.numbers["neckline.half"], found)
    assert "the neck base girth, only estimated: measure it" in line


def test_the_command_says_it_all_and_writes_nothing(tmp_path: Path) -> None:
    card = written(tmp_path, DEMO)
    found = run(card, "front", "neck", "width")
    assert found.exit_code == 0, found.output
    assert "front neck width 6.88 ± 0.06 cm" in found.output
    assert [path.name for path in tmp_path.iterdir()] == ["card.toml"]
    wrong = run(card, "fron neck width")
    assert wrong.exit_code == 2
    assert "Did you mean front neck width" in wrong.output
    assert run(card).exit_code == 0
    assert run(written(tmp_path, DEMO.replace("bust_girth", "bost_girth"))).exit_code == 2
