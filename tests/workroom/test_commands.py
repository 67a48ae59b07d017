"""The command line as a maker meets it: exit status, words, files whole or not at all."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from drafting.library import data_folder
from garment.garment import make_garment
from workroom.card.card import open_card, read_card_text
from workroom.commands import neckarc

TAPE = """
client = "Ines Varga"
date = 2026-03-14
[garment]
button_stand = 3
[neckline]
back_arc = 10
front_arc = 18
[collar]
kind = "two-piece shirt"
stand_back = 3
rise = 2.5
fall_back = 7
"""
PROPORTIONAL = """
client = "Ines Varga"
date = 2026-03-14
[measurements]
bust_girth = 92
waist_girth = 74
back_waist_length = 39
neck_base_girth = 36
[garment]
method = "bust-proportional"
[neckline]
fit = "FIT"
"""


def run(*words: str) -> Result:
    return CliRunner().invoke(neckarc, list(words))


def card(folder: Path, text: str) -> str:
    path = folder / "card.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_the_demo_client_is_drafted_into_a_folder_of_its_own(tmp_path: Path) -> None:
    demo = str(data_folder() / "clients" / "demo.toml")

    first = run("draft", demo, "--into", str(tmp_path), "--dxf", "all")
    second = run("draft", demo, "--into", str(tmp_path))

    assert first.exit_code == 0, first.output
    assert second.exit_code == 0, second.output
    folders = sorted(path.name for path in tmp_path.glob("[!.]*"))
    assert len(folders) == 2
    assert folders[1] == f"{folders[0]}-2"
    names = {path.name for path in (tmp_path / folders[0]).iterdir()}
    assert names == {
        "drawing.dxf",
        "splines.dxf",
        "interchange.dxf",
        "pieces.png",
        "pieces.svg",
        "pages-a4.pdf",
        "one-sheet.pdf",
        "worksheet.pdf",
        "order-of-making.pdf",
        "report.pdf",
        "report.json",
        "cutting-list.txt",
        "lay-140.svg",
        "lay-150.svg",
        "lay-115.svg",
        "lay-interfacing-90.svg",
        "checks.txt",
        "order.json",
    }
    assert "neckline against neck base girth" in first.output


def test_the_same_card_gives_the_same_bytes(tmp_path: Path) -> None:
    demo = str(data_folder() / "clients" / "demo.toml")
    for folder in ("one", "two"):
        assert run("draft", demo, "--into", str(tmp_path / folder), "--dxf", "all").exit_code == 0
    one, two = (
        {file.name: file.read_bytes() for file in next((tmp_path / name).glob("[!.]*")).iterdir()}
        for name in ("one", "two")
    )

    assert one == two


def test_an_order_may_take_the_place_of_its_older_self(tmp_path: Path) -> None:
    path = card(tmp_path, TAPE)
    words = ("draft", path, "--into", str(tmp_path / "out"), "--papers", "checks")
    first = run(*words)
    (folder,) = (tmp_path / "out").glob("[!.]*")
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    card(tmp_path, TAPE.replace("rise = 2.5", "rise = 2"))
    second = run(*words, "--replace")

    assert (first.exit_code, second.exit_code) == (0, 0)
    assert [place.name for place in (tmp_path / "out").glob("[!.]*")] == [folder.name]
    after = {file.name: file.read_bytes() for file in folder.iterdir()}
    assert set(after) == set(before) == {"checks.txt", "report.json", "order.json"}
    assert after != before


def test_papers_to_choose(tmp_path: Path) -> None:
    path = card(tmp_path, TAPE)
    words = ("draft", path, "--into", str(tmp_path / "out"))
    assert run(*words, "--papers", "dxf", "--papers", "booklets").exit_code == 0
    (folder,) = (tmp_path / "out").glob("[!.]*")

    assert {file.name for file in folder.iterdir()} == {
        "drawing.dxf",
        "worksheet.pdf",
        "order-of-making.pdf",
        "report.pdf",
        "checks.txt",
        "report.json",
        "order.json",
    }
    assert run(*words, "--papers", "everything").exit_code == 2


@pytest.mark.parametrize("name", ["demo", "small", "large"])
def test_the_invented_clients_pass_every_check(name: str) -> None:
    order = make_garment(open_card(data_folder() / "clients" / f"{name}.toml"))

    assert order.failed == ()
    assert order.unusual == ()
    assert order.stamp is None


def test_check_writes_nothing(tmp_path: Path) -> None:
    before = sorted(tmp_path.iterdir())
    result = run("check", str(data_folder() / "clients" / "demo.toml"))

    assert result.exit_code == 0
    assert sorted(tmp_path.iterdir()) == before


def test_a_card_with_mistakes_lists_them_all_and_writes_nothing(tmp_path: Path) -> None:
    bad = 'client = 1\nunti = "cm"\n[measurements]\nbust_grith = 90\nwaist_girth = "7x"\n'
    result = run("draft", card(tmp_path, bad), "--into", str(tmp_path / "out"))

    assert result.exit_code == 2
    assert not (tmp_path / "out").exists()
    for said in ("card.toml:1", "Did you mean unit?", "Did you mean bust_girth?", "7x", "date"):
        assert said in result.output
    assert "Traceback" not in result.output


def test_a_neckline_that_is_not_the_neck_fails_and_is_marked_everywhere(tmp_path: Path) -> None:
    """A bust of 92 guesses a neck of 39.8; the client's is 36."""
    unfitted = card(tmp_path, PROPORTIONAL.replace("FIT", "none"))
    result = run("draft", unfitted, "--into", str(tmp_path / "out"))

    assert result.exit_code == 3
    assert "NOT FOR CUTTING" in result.output
    assert re.search(r"front neck point by \d\.\d\d cm", result.output)
    assert re.search(r"narrow at the side neck by \d\.\d\d cm", result.output)
    assert re.search(r"in proportion, \d+\.\d %", result.output)
    (folder,) = (tmp_path / "out").glob("[!.]*")
    for file in ("drawing.dxf", "pieces.svg", "checks.txt"):
        assert "NOT FOR CUTTING" in (folder / file).read_text(encoding="utf-8")


@pytest.mark.parametrize("fit", ["front", "side", "both"])
def test_each_single_correction_makes_it_the_neck(fit: str) -> None:
    order = make_garment(read_card_text(PROPORTIONAL.replace("FIT", fit), "card.toml"))

    assert order.failed == ()
    assert order.bodice is not None
    assert abs(2 * order.neckline.half - 36.5) < 0.001


def test_a_collar_from_tape_measurements_alone(tmp_path: Path) -> None:
    """Common practice: half neck seam 28 cm with the shoulder notch 18 cm from centre front."""
    order = make_garment(read_card_text(TAPE, "card.toml"))

    assert order.bodice is None
    assert [piece.code for piece in order.pieces] == ["STAND", "UPPER", "UNDER"]
    assert order.failed == ()
    assert run("check", card(tmp_path, TAPE)).exit_code == 0


def test_an_impossible_collar_is_refused_in_one_message(tmp_path: Path) -> None:
    wrong = TAPE.replace("fall_back = 7", "fall_back = 2.6").replace(
        "stand_back = 3", "stand_back = 4"
    )
    result = run("draft", card(tmp_path, wrong), "--into", str(tmp_path / "out"))

    assert result.exit_code == 2
    assert not (tmp_path / "out").exists()
    assert "Traceback" not in result.output


def test_the_blank_card_says_what_is_missing_and_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "anna.toml"
    first = run("card", "--into", str(path))
    kept = path.read_bytes()
    second = run("card", "--into", str(path), "--unit", "in")
    checked = run("check", str(path))

    assert first.exit_code == 0
    assert second.exit_code == 1
    assert path.read_bytes() == kept
    assert checked.exit_code == 2
    assert "client" in checked.output
    assert "bust_girth" in checked.output


@pytest.mark.parametrize("words", [("--method", "nobody"), ("--collar", "ruff")])
def test_a_blank_card_for_something_there_is_not(words: tuple[str, str]) -> None:
    result = run("card", *words)

    assert result.exit_code == 2
    assert "accepted" in result.output


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("here first")
    demo = str(data_folder() / "clients" / "demo.toml")
    result = run("draft", demo, "--into", str(in_the_way / "below"))

    assert result.exit_code == 1
    assert "cannot be written" in result.output
    assert in_the_way.read_text() == "here first"


INCHES = """
client = "Ines Varga"
date = 2026-03-14
unit = "in"
[measurements]
bust_girth = "36 1/4"
waist_girth = 29
back_waist_length = "15 1/2"
neck_base_girth = "14 3/8"
[garment]
button_stand = 0
[neckline]
fit = "front"
style = { front_lower = 1.5, side_widen = 0.5, back_lower = 0.25 }
"""


def test_a_card_in_inches_is_answered_in_inches(tmp_path: Path) -> None:
    result = run("check", card(tmp_path, INCHES))

    assert result.exit_code == 0, result.output
    assert not re.search(r"\d cm\b", result.output.replace("residual SD", "").split("neckline:")[1])
    assert "front neck point by 0.02 in" in result.output
    assert "style neckline, longer by design" in result.output


def test_a_refusal_is_in_the_cards_unit_too(tmp_path: Path) -> None:
    wide = INCHES.replace("side_widen = 0.5", "side_widen = 3.5")
    wide = wide.replace("back_lower = 0.25", "back_lower = 5.5")
    result = run("check", card(tmp_path, wide))

    assert result.exit_code == 2
    assert not re.search(r"\d cm\b", result.output)


def test_a_front_without_button_stand_is_on_the_fold(tmp_path: Path) -> None:
    order = make_garment(read_card_text(INCHES, "card.toml"))
    front = order.pieces[1]

    assert front.cut.on_fold
    assert any(edge.on_fold for edge in front.edges)
    assert all(edge.allowance == 0.0 for edge in front.edges if edge.on_fold)
