"""A fit study: what it says is what the drafts one by one say; bad tables get one clear message."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from collars.falls import two_piece_shirt
from collars.stands.from_neck import ON_NECK
from collars.stands.neck_room import ROOM
from drafting.errors import DraftError
from drafting.units import LengthUnit
from tests.populations import population
from workroom.commands import neckarc
from workroom.survey.study import (
    AS_DRAFTED,
    KINDS,
    OFF,
    ORDER,
    UNREACHED,
    look_at,
    read_survey,
    study,
)
from workroom.survey.words import by_thirds, study_lines

HEAD = "client,bust_girth,waist_girth,back_waist_length,neck_base_girth,neck_girth"
WOMAN = "Invented,92,74,39.5,37,33"


def written(path: Path, *rows: str, head: str = HEAD) -> Path:
    path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
    return path


def table(path: Path, count: int, spread: float = 1.0) -> Path:
    """A table of a population."""
    taken = population(count, seed=11, spread=spread)
    rows = (",".join(f"{v:.1f}" for v in row) for row in zip(*taken.values(), strict=True))
    return written(path, *rows, head=",".join(taken))


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(neckarc, ["survey", *map(str, arguments)])


@pytest.mark.parametrize("method", method_names())
def test_every_body_is_told_as_its_own_draft_tells_it(tmp_path: Path, method: str) -> None:
    survey = read_survey(table(tmp_path / "women.csv", 24, spread=1.8))
    found = study(survey, method, "two-piece shirt", neck_ease=1.0)
    room = next(check for check in found.checks if check.name == ON_NECK)

    for k in range(24):
        try:
            plain = draft_bodice(complete(survey.bodies[k]), BlockWish(method, neck_ease=1.0))
        except DraftError as error:
            assert found.reasons[k] == str(error)
            continue
        assert found.off[k] == pytest.approx(plain.fit.off, abs=1e-9)
        reaching = [c.key for c in plain.fit.corrections if c.change is not None]
        taken = next((key for key in ORDER if key in reaching), UNREACHED)
        taken = AS_DRAFTED if abs(plain.fit.off) <= 0.3 else taken
        assert found.taken[k] == taken
        if taken in ORDER:
            plain = draft_bodice(
                complete(survey.bodies[k]), BlockWish(method, fit=taken, neck_ease=1.0)
            )
        assert found.fitted[k] == pytest.approx(plain.fit.fitted, abs=1e-9)
        collar = two_piece_shirt.draft(plain.neckline, {})
        if "neck_at_top" not in collar.numbers:
            continue  # by rule, which is another check
        assert room.measured[k] == pytest.approx(collar.numbers["closed_top_girth"], abs=1e-9)


def test_lines_tell_what_was_counted(tmp_path: Path) -> None:
    found = study(read_survey(table(tmp_path / "women.csv", 60)), "bust-proportional", "band")
    lines = study_lines(found)
    far = int((np.abs(found.off) > OFF).sum())

    assert lines[0].startswith("women.csv: 60 bodies, bust-proportional block, band collar")
    assert f"  more than 1.00 cm off: {100 * far / 60:5.1f} % ({far})" in lines
    assert f"off by {np.quantile(found.off, 0.5):+.2f} cm median" in "\n".join(lines)
    cells = [int(these.sum()) for _, _, these in by_thirds(found)]
    assert len(cells) == 9
    assert sum(cells) == 60
    inches = "\n".join(study_lines(found, LengthUnit.INCH))
    assert f"off by {np.quantile(found.off, 0.5) / 2.54:+.2f} in median" in inches


def test_the_surveys_own_columns_are_read_in_millimetres(tmp_path: Path) -> None:
    head = "subjectid,stature,chestcircumference,waistcircumference,waistbacklength"
    head += ",neckcircumferencebase,NeckCircumference"
    path = written(tmp_path / "s.csv", "1,1650,920,800,430,370,331", head=head)
    body = complete(read_survey(path).bodies[0])

    assert body["stature"] == pytest.approx(165.0)
    assert body["neck_base_girth"] == pytest.approx(37.0)
    assert body["neck_girth"] == pytest.approx(33.1)
    assert body["waist_girth"] == pytest.approx(5.668 + 0.88954 * 80.0)
    assert body["back_waist_length"] == pytest.approx(43.0 - 4.584)


def test_cells_may_be_left_out_and_inches_and_commas_are_read(tmp_path: Path) -> None:
    rows = ("A;36 1/2;29;15 1/2;14,5;13", "B;36;29;15.5;14.5;", "C;36,5;29;15,5;14,5;13")
    path = written(tmp_path / "in.csv", *rows, head=HEAD.replace(",", ";"))
    survey = read_survey(path, LengthUnit.INCH)
    found = study(survey, "direct-measure")

    assert [len(taken) for taken in survey.bodies] == [5, 4, 5]
    assert found.bust == pytest.approx([36.5 * 2.54, 36 * 2.54, 36.5 * 2.54])
    assert not found.refused.any()
    one = draft_bodice(
        complete(dict(zip(HEAD.split(",")[1:5], (91.44, 73.66, 39.37, 36.83), strict=True))),
        BlockWish("direct-measure"),
    )
    assert found.drafted[1] == pytest.approx(one.fit.drafted, abs=1e-9)


def test_rows_that_cannot_be_read_or_drafted_stop_no_other(tmp_path: Path) -> None:
    rows = (
        WOMAN,
        "X,92,74,39.5,37,wide",
        "Y,920,74,39.5,37,33",
        "Z,92,74,39.5,,33",
        ",,,,,",
        WOMAN,
    )
    path = written(tmp_path / "some.csv", *rows)
    result = run(path)

    assert result.exit_code == 0, result.output
    assert "no measurements, left out: client\n" in result.output
    assert "5 bodies" in result.output
    assert "drafted 2, refused 1, rows that cannot be read 2" in result.output
    assert "some.csv:3:F: neck_girth" in result.output
    assert "found 920" in result.output
    assert "not measured: neck base girth" in result.output


def test_everything_is_written_whole_and_only_when_asked(tmp_path: Path) -> None:
    path = table(tmp_path / "women.csv", 12)
    assert run(path).exit_code == 0
    assert [p.name for p in tmp_path.iterdir()] == ["women.csv"]

    result = run(path, "--into", tmp_path / "studies", "--collar", "band")
    again = run(path, "--into", tmp_path / "studies", "--collar", "band")
    place = tmp_path / "studies" / "survey-women-bust-proportional"

    assert result.exit_code == again.exit_code == 0
    assert f"Written to {place}" in result.output
    assert sorted(p.name for p in place.iterdir()) == ["survey.csv", "survey.png", "survey.txt"]
    twin = place.with_name(f"{place.name}-2")
    for name in ("survey.csv", "survey.png", "survey.txt"):
        assert (place / name).read_bytes() == (twin / name).read_bytes()
    rows = list(csv.DictReader(io.StringIO((place / "survey.csv").read_text("utf-8-sig"))))
    assert [int(row["line"]) for row in rows] == list(range(2, 14))
    found = study(read_survey(path), "bust-proportional", "band")
    assert [float(row["off"]) for row in rows] == pytest.approx(found.off.tolist(), abs=1e-4)
    with Image.open(place / "survey.png") as picture:
        assert picture.size[0] > 1200
        assert np.asarray(picture.convert("L")).std() > 20.0  # something is drawn


def test_a_table_without_one_neck_is_told_so(tmp_path: Path) -> None:
    path = written(tmp_path / "w.csv", "92,70,39", "95,72,40", head=",".join(HEAD.split(",")[1:4]))
    result = run(path, "--collar", "band", "--into", tmp_path / "out")

    assert result.exit_code == 0, result.output
    assert "drafted 0, refused 2" in result.output
    assert "2 x, as in line 2: not measured: neck base girth" in result.output
    assert "Written to" in result.output


def test_names_of_clients_are_told_nowhere(tmp_path: Path) -> None:
    path = written(tmp_path / "w.csv", WOMAN, WOMAN.replace("92", "9999"))
    result = run(path, "--into", tmp_path / "out")

    assert result.exit_code == 0
    texts = [p.read_bytes() for p in (tmp_path / "out").rglob("survey.*")]
    assert len(texts) == 3
    assert all(b"Invented" not in text for text in (*texts, result.output.encode()))


@pytest.mark.parametrize(
    ("rows", "head", "options", "said"),
    [
        ((WOMAN,), HEAD, ("--method", "guess"), "there is no such method"),
        ((WOMAN,), HEAD, ("--collar", "sailor"), "a collar with a stand only"),
        ((WOMAN,), HEAD, ("--ease", "much"), "--ease"),
        ((WOMAN,), HEAD, ("--ease", "30"), "this is not a neckline ease"),
        (("1,2",), "a,b", (), "no column of this table is a measurement"),
        (("92,93",), "bust_girth,Bust Girth", (), "stands in two columns"),
        ((), HEAD, (), "there is no row below the header"),
        (("X,much,,,,",), HEAD, (), "no body can be read from this table"),
    ],
)
def test_mistakes_get_one_clear_message_and_nothing_is_written(
    tmp_path: Path, rows: tuple[str, ...], head: str, options: tuple[str, ...], said: str
) -> None:
    path = written(tmp_path / "t.csv", *rows, head=head)
    result = run(path, *options, "--into", tmp_path / "out")

    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output
    assert not (tmp_path / "out").exists()


def test_a_table_that_is_not_there_and_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    assert "no such file" in run(tmp_path / "none.csv").output
    path = table(tmp_path / "women.csv", 4)
    result = run(path, "--into", path)

    assert result.exit_code in (1, 2)
    assert not isinstance(result.exception, OSError)


def test_every_kind_that_is_offered_can_be_studied(tmp_path: Path) -> None:
    survey = read_survey(table(tmp_path / "women.csv", 6))
    for kind in KINDS:
        found = study(survey, "direct-measure", kind)
        told = {ROOM, ON_NECK} & {check.name for check in found.checks}
        assert told
        assert not found.refused.any()


def test_many_bodies_on_all_cores_are_told_in_their_order(tmp_path: Path) -> None:
    survey = read_survey(table(tmp_path / "women.csv", 48))
    done: list[int] = []
    found = study(survey, "direct-measure", "none", progress=done.append)

    assert done == list(range(1, 49))
    alone = [look_at(taken, "direct-measure", "none", 0.5) for taken in survey.bodies[::12]]
    assert repr(list(found.bodies[::12])) == repr(alone)  # nan is not nan
