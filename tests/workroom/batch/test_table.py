"""Tables as spreadsheets save them: whatever the encoding, delimiter and ends of lines, the same
orders; and whatever the bytes, an answer in plain words."""

from __future__ import annotations

import codecs
import csv
import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting.errors import CardError, Problem
from tests.long import examples
from workroom.batch.rows import Job, jobs
from workroom.batch.table import Row, Table, cell, known_columns, letters, open_table

HEAD = ["Client", "date", "bust girth", "collar", "collar.stand_back", "# telephone"]
ROWS = [
    ["Zoë Ødegård", "2026-03-14", "92.5", "two-piece shirt", "3", "0123"],
    ["", "", "", "", "", ""],
    ['Ida "the tall" Berg, née Å', "2026-03-15", "14 3/8 in", "none", "", ""],
    ["Ana\nMaria", "2026-03-16", "92,5", "", "", "x"],
]


def saved(path: Path, encoding: str, delimiter: str, ends: str, mark: bytes = b"") -> Path:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=ends).writerows([HEAD, *ROWS])
    path.write_bytes(mark + out.getvalue().encode(encoding))
    return path


def read(path: Path, date: str = "") -> list[Job]:
    found = list(jobs(open_table(path), date))
    assert all(isinstance(one, Job) for one in found)
    return [one for one in found if isinstance(one, Job)]


def mistakes(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(CardError) as caught:
        open_table(path)
    return caught.value.problems


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""),
        ("utf-8", codecs.BOM_UTF8),
        ("utf-16-le", codecs.BOM_UTF16_LE),
        ("utf-16-be", codecs.BOM_UTF16_BE),
        ("utf-16-le", b""),
        ("utf-16-be", b""),
    ],
)
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_every_way_of_saving_gives_the_same_orders(
    tmp_path: Path, encoding: str, mark: bytes, delimiter: str, ends: str
) -> None:
    path = saved(tmp_path / "orders.csv", encoding, delimiter, ends, mark)
    table = open_table(path)
    first, second, third = read(path)

    assert (table.delimiter, table.count) == (delimiter, 3)
    assert first.cells == {
        ("client",): ("Zoë Ødegård", "A"),
        ("date",): ("2026-03-14", "B"),
        ("measurements", "bust_girth"): ("92.5", "C"),
        ("collar", "kind"): ("two-piece shirt", "D"),
        ("collar", "stand_back"): ("3", "E"),
    }
    assert second.said("client") == 'Ida "the tall" Berg, née Å'
    assert third.said("measurements", "bust_girth") == "92,5"
    assert [job.line for job in (first, second, third)] == [2, 4, 5]


def test_old_ends_of_lines_and_a_sep_line(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_bytes(b"sep=;\rclient;date\rAnna;2026-03-14\r")

    assert [(job.line, job.said("client")) for job in read(path)] == [(3, "Anna")]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ('="0012"', "0012"),
        ('="a ""b"""', 'a "b"'),
        ("\u00a0 92,5 \u202f", "92,5"),
        ("=1+1", "=1+1"),
        ('="', '="'),
    ],
)
def test_a_cell_as_it_is_meant(written: str, meant: str) -> None:
    assert cell([written], 0) == meant
    assert cell([written], 1) == ""


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("14.03.2026", "2026-03-14"),
        ("4.3.2026", "2026-03-04"),
        ("2026/3/4", "2026-03-04"),
        ("2026-03-14 00:00:00", "2026-03-14"),
        ("3/4/2026", "3/4/2026"),
    ],
)
def test_a_day_is_read_where_only_one_can_be_meant(
    tmp_path: Path, written: str, meant: str
) -> None:
    path = tmp_path / "orders.csv"
    path.write_text(f"client,date\nAnna,{written}\n")

    (job,) = read(path)
    assert job.said("date") == meant


def test_a_date_for_all_stands_in_for_a_missing_one(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_text("client,date\nAnna,2026-03-14\nEva,\n")

    assert [job.said("date") for job in read(path, "2026-05-01")] == ["2026-03-14", "2026-05-01"]


def test_no_two_orders_share_a_folder_and_names_are_always_the_same(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    rows = ["Anna,2026-03-14", "ANNA,2026-03-14", "Анна,2026-03-14", "Яна,2026-03-14"]
    path.write_text("client,date\n" + "\n".join(rows) + "\n", encoding="utf-8")
    names = [job.name for job in read(path)]

    assert names == [
        "Anna-2026-03-14",
        "ANNA-2026-03-14.line-3",
        "Анна-2026-03-14",
        "Яна-2026-03-14",
    ]
    assert len({name.lower() for name in names}) == 4
    assert names == [job.name for job in read(path)]


def test_a_header_with_mistakes_is_told_whole(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_text("client,bust_grith,client,collar.stand_bak\nAnna,92,Eva,3\n")
    found = {problem.place: str(problem) for problem in mistakes(path)}

    assert list(found) == ["orders.csv:1:B", "orders.csv:1:C", "orders.csv:1:D"]
    assert "Did you mean bust_girth" in found["orders.csv:1:B"]
    assert "column A too" in found["orders.csv:1:C"]
    assert "collar.stand_back" in found["orders.csv:1:D"]


def test_a_header_without_client_or_date(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_text("bust_girth\n92\n")

    assert [problem.key for problem in mistakes(path)] == ["client", "date"]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"\n\r\n", "empty"),
        (b"client,date\nAnna\xe9,2026-03-14\n", "not UTF-8 text"),
        (b"client,date\n" + b"a" * 150_000, "far too long"),
    ],
)
def test_a_file_that_is_no_table(tmp_path: Path, data: bytes, said: str) -> None:
    path = tmp_path / "orders.csv"
    path.write_bytes(data)
    (problem,) = mistakes(path)

    assert said in problem.said


def test_bytes_that_are_no_text_are_told_with_their_line(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_bytes(b"client,date\n" + b"Anna,2026-03-14\n" * 300 + b"Ren\xe9e,2026-03-14\n")
    (problem,) = mistakes(path)

    assert problem.place == "orders.csv:302"
    assert "UTF-8" in problem.advice


def test_missing_files_and_folders(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.csv", tmp_path / ("a" * 300)):
        assert len(mistakes(path)) == 1


def test_a_row_that_cannot_be_read_stops_no_other(tmp_path: Path) -> None:
    """A quotation mark that never closes must not swallow the rest; cells beyond the columns are
    refused, a half row is not."""
    path = tmp_path / "orders.csv"
    lines = ["client,date,order", 'Anna,2026-03-14,"6"" wide', "Eva,2026-03-14", 'Ida,"a"b,c']
    lines += ["Lea,2026-03-14,92,5", "Mia,2026-03-14,9"] + [f"C{k},2026-03-14,x" for k in range(60)]
    path.write_text("\n".join(lines) + "\n")
    found = list(open_table(path).rows())
    wrong = {row.line: str(row.problem) for row in found if row.problem}

    assert len(found) == 65
    assert list(wrong) == [2, 4, 5]
    assert "not closed" in wrong[2]
    assert "do not fit" in wrong[4]
    assert "orders.csv:5:D" in wrong[5]
    assert "92,5" in wrong[5]


def test_columns_are_called_as_in_a_card_and_lettered_as_in_a_spreadsheet() -> None:
    known = known_columns()

    assert known["method"] == ("garment", "method")
    assert known["garment.length.to"] == ("garment", "length", "to")
    assert known["collar.stand_back"] == ("collar", "stand_back")
    assert known["bust_girth"] == known["measurements.bust_girth"]
    assert "garment.length" not in known
    assert "measurements" not in known
    assert [letters(at) for at in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]


TEXT = st.one_of(
    st.sampled_from(["client", "date", "bust_girth", "92,5", '"', '""', '="1"', "\r", "\n", "\0"]),
    st.text(max_size=8),
)
LINES = st.lists(st.lists(TEXT, max_size=5), max_size=6)


def table_or_words(path: Path) -> None:
    try:
        table: Table = open_table(path)
        rows: list[Row] = list(table.rows())
        assert len(rows) == table.count
        assert len(list(jobs(table))) == table.count
        assert all(row.problem is None or str(row.problem).isprintable() for row in rows)
    except CardError as error:
        assert all(str(problem).isprintable() for problem in error.problems)


@settings(max_examples=examples(150))
@given(LINES, st.sampled_from([",", ";", "\t"]), st.sampled_from(["utf-8", "utf-16", "utf-16-be"]))
def test_any_text_is_a_table_or_told_why_not(
    tmp_path_factory: pytest.TempPathFactory, lines: list[list[str]], sign: str, encoding: str
) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzz.csv"
    text = "client,date\n".replace(",", sign) + "\n".join(sign.join(line) for line in lines)
    path.write_bytes(text.encode(encoding, errors="replace"))
    table_or_words(path)


@settings(max_examples=examples(150))
@given(st.binary(max_size=200), st.booleans())
def test_any_bytes_are_a_table_or_told_why_not(
    tmp_path_factory: pytest.TempPathFactory, data: bytes, headed: bool
) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzz.csv"
    path.write_bytes((b"client,date\n" if headed else b"") + data)
    table_or_words(path)
