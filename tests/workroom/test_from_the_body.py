"""Collars reckoned from neck and shoulders, asked for on a card: what the order says of it."""

from __future__ import annotations

import csv
import datetime
import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from blocks.edges import EdgeName
from drafting.errors import CardError, DraftError
from drafting.library import data_folder
from garment.garment import Garment, make_garment
from garment.wishes import Commission, ToileWish
from workroom.card.card import read_card_text
from workroom.certainty.drafts import order_at
from workroom.certainty.sure import certainty, room_chance
from workroom.papers.booklets.console_text import estimated_lines

DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
SCRIPTS = Path(__file__).parents[2] / "scripts"
TOP = "closed top edge at its height on the neck"


def card(*lines: str, without: tuple[str, ...] = ()) -> Commission:
    kept = [line for line in DEMO.splitlines() if line.split(" ")[0] not in without]
    return read_card_text("\n".join([*kept, *lines]), "card")


def ordered(*lines: str, without: tuple[str, ...] = ()) -> Garment:
    return make_garment(card(*lines, without=without))


def test_a_card_can_ask_for_both() -> None:
    order = ordered('rise_by = "neck"', 'fall_rise_by = "shoulders"')
    assert order.collar is not None
    (check,) = [one for one in order.checks if one.name == TOP]
    assert check.measured == pytest.approx(check.target, abs=0.01)
    assert any("from her neck" in note for note in order.notes)
    assert any("lies on the shoulders" in note for note in order.notes)
    assert estimated_lines(order) == []


def test_a_girth_at_the_top_that_was_not_taken_is_said_only_where_it_is_used() -> None:
    left_out = ("collar_top_girth", "collar_top_height", "neck_lean")
    order = ordered('rise_by = "neck"', without=left_out)
    lines = estimated_lines(order)
    assert [line.partition(" ")[0] for line in lines] == ["neck", "neck"]
    assert lines[0].startswith("neck girth at the collar's top 34.1 cm, estimated from neck girth")
    assert estimated_lines(ordered('rise_by = "rule"', without=left_out)) == []


def test_the_room_is_that_at_the_height_of_the_collar_and_how_sure_it_is() -> None:
    """A stand of 3 and 2.5, her neck taped 2.8 above the chain: the closed top edge is longer by as
    much as the girth there. It moves with the height of that tape too, and with the neck girth not
    at all; told without a draft for any."""
    asked = card('rise_by = "neck"')
    order = make_garment(asked)
    found = certainty(order)
    told = found.numbers["collar.closed_top_girth"].slopes
    chance = room_chance(found)
    assert chance is not None
    assert 0.9 < chance < 1.0

    def top(root: str, more: float) -> float:
        moved = order_at(asked, {root: more}).collar
        assert moved is not None
        return moved.numbers["closed_top_girth"]

    key, height = "collar_top_girth", "collar_top_height"
    by_girth = (top(key, 0.1) - top(key, -0.1)) / 0.2
    assert by_girth == pytest.approx(1.0, abs=0.1)
    assert told[key] == pytest.approx(by_girth, abs=0.01)
    by_height = (top(height, 0.1) - top(height, -0.1)) / 0.2
    assert 0.2 < by_height < 0.5
    assert told[height] == pytest.approx(by_height, rel=0.1)
    assert "neck_girth" not in told


def test_the_chance_of_room_knows_how_far_the_tape_lay_from_the_collar() -> None:
    """Taped a centimetre lower the neck is known less well at the collar's top; not taped, least.
    With the least room asked for besides, half of all would be too tight, and more room helps."""

    def room(*lines: str) -> float:
        without = ("collar_top_girth", "collar_top_height")
        kept = [line for line in DEMO.splitlines() if line.split(" ")[0] not in without]
        at = kept.index("[garment]")
        text = "\n".join([*kept[:at], *lines, *kept[at:], 'rise_by = "neck"'])
        chance = room_chance(certainty(make_garment(read_card_text(text, "card"))))
        assert chance is not None
        return chance

    there = room("collar_top_girth = 34.3", "collar_top_height = 2.75")
    lower = room("collar_top_girth = 34.9", "collar_top_height = 1.75")
    assert there > 0.97
    assert room() < lower < there - 0.03


def test_a_card_with_the_old_neck_height_is_read_and_told_that_it_changes_nothing() -> None:
    at = DEMO.index("collar_top_girth")
    old = read_card_text(DEMO[:at] + "neck_height = 4.6\n" + DEMO[at:], "card")
    order, plain = make_garment(old), make_garment(read_card_text(DEMO, "card"))
    for one, other in zip(order.pieces, plain.pieces, strict=True):
        assert np.array_equal(one.outline(), other.outline())
    (told,) = [note for note in order.notes if "neck_height" in note]
    assert "collar_top_girth" in told
    assert not any("neck_height" in note for note in plain.notes)
    assert order.unusual == plain.unusual


@pytest.mark.parametrize(
    ("there", "missing"),
    [("collar_top_girth", "collar_top_height"), ("collar_top_height", "collar_top_girth")],
)
def test_the_girth_at_the_top_and_its_height_come_together(there: str, missing: str) -> None:
    with pytest.raises(CardError) as caught:
        card(without=(missing,))
    (problem,) = caught.value.problems
    assert problem.key == f"measurements.{missing}"
    assert "means nothing without it" in problem.said
    assert problem.advice
    assert there in DEMO


def test_a_fitting_turns_what_was_reckoned_by_its_amount() -> None:
    """And a rise that is written besides is as little used as without the fitting."""
    plain = card('rise_by = "neck"', 'fall_rise_by = "shoulders"', "fall_back = 5.5")
    day = datetime.date(2026, 3, 20)

    def rises(words: str) -> tuple[float, float]:
        toile = (ToileWish(day, words, 0.5),) if words else ()
        order = make_garment(replace(plain, toile=toile))
        stand, upper = (p for p in order.pieces if p.code in ("STAND", "UPPER"))
        neck = stand.named(EdgeName.NECK_SEAM)[1].curve.end.y
        seam = upper.named(EdgeName.STAND_SEAM)[0].curve
        return neck, seam.start.y - seam.end.y

    neck, fall = rises("")
    assert neck > 1.0
    assert rises("collar stands away from the neck")[0] == pytest.approx(neck + 0.5, abs=1e-6)
    assert rises("collar presses on the neck")[0] == pytest.approx(neck - 0.5, abs=1e-6)
    assert rises("collar rides up") == pytest.approx((neck, fall + 0.5), abs=1e-6)


def test_a_taped_neckline_has_neither_neck_nor_shoulders() -> None:
    taped = (
        'client = "A"\ndate = 2026-03-14\nunit = "cm"\n[neckline]\nback_arc = 7.6\n'
        'front_arc = 11.0\n[collar]\nkind = "two-piece shirt"\n'
    )
    with pytest.raises(DraftError) as caught:
        make_garment(read_card_text(taped + 'rise_by = "neck"\nfall_rise_by = "shoulders"\n', "a"))
    said = {problem.key: problem.said for problem in caught.value.problems}
    assert "tape" in said["collar.rise_by"]
    assert "needs the block" in said["collar.fall_rise_by"]
    assert any("needs the block" in note for note in make_garment(read_card_text(taped, "a")).notes)


def test_the_study_runs_over_a_survey(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Five invented women, in the survey's columns and millimetres."""
    women = tmp_path / "women.csv"
    columns = {
        "stature": 1630, "neckcircumference": 330, "neckcircumferencebase": 371,
        "chestcircumference": 940, "buttockcircumference": 1020, "shoulderlength": 135,
        "interscyeii": 360, "wristcircumference": 153, "waistcircumference": 860,
        "waistbacklength": 425,
    }  # fmt: skip
    with women.open("w", newline="", encoding="utf-8") as file:
        table = csv.DictWriter(file, list(columns))
        table.writeheader()
        for k in range(5):
            table.writerow({**columns, "neckcircumference": 324 + 3 * k})
    picture = tmp_path / "rise.png"
    monkeypatch.setattr(sys, "argv", ["neck_study.py", str(women), "--to", str(picture)])
    monkeypatch.syspath_prepend(str(SCRIPTS))
    spec = importlib.util.spec_from_file_location("neck_study", SCRIPTS / "neck_study.py")
    assert spec is not None
    assert spec.loader is not None
    study = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "neck_study", study)
    spec.loader.exec_module(study)
    assert study.main() == 0
    told = capsys.readouterr().out
    assert "reckoned for 5, refused with a reason 0" in told
    assert "a rise of 2.5 for all 5" in told
    assert picture.read_bytes()[:4] == b"\x89PNG"
