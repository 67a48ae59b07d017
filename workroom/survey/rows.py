"""A survey read from a table: a body a row.

Columns are called as measurements are on a client card (centimetres, or inches when asked), or as
in the public file of the survey ANSUR II (millimetres). Others are left out. A row that cannot be
read is told and stops no other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from blocks.measures import measurements
from blocks.survey import survey_columns
from drafting.errors import CardError, Problem
from drafting.parameters import format_range, lies_within, read_quantity
from drafting.units import LengthUnit
from workroom.batch.columns import Column, letters, plain
from workroom.batch.table import Row, cell, open_table
from workroom.card_file import printable

_MEASURED, _SURVEYED = "measurements", "survey"


@dataclass(frozen=True, slots=True)
class Surveyed:
    """The bodies of a table. ``lines`` are those of the file, one a body; ``bodies`` what was
    measured of each, by key (centimetres, radians); ``unread`` the rows that cannot be read, by
    their lines, with the reasons; ``left_out`` the columns that are no measurement."""

    name: str
    lines: tuple[int, ...]
    bodies: tuple[Mapping[str, float], ...]
    unread: Mapping[int, str]
    left_out: tuple[str, ...] = ()


def read_survey(path: Path, unit: LengthUnit = LengthUnit.CM) -> Surveyed:
    """The bodies of a table. Raises :class:`CardError` when it cannot be opened, when no column is
    a measurement or one stands twice, and when it has no row that can be read."""
    left_out: list[str] = []
    table = open_table(path, partial(_read_columns, left_out), _names())
    lines: list[int] = []
    unread: dict[int, str] = {}
    bodies: list[Mapping[str, float]] = []
    for row in table.rows():
        values, problems = _values(row, table.columns, table.name, unit)
        if problems:
            unread[row.line] = "; ".join(str(problem) for problem in problems)
        else:
            bodies.append(values)
            lines.append(row.line)
    if not lines:
        first = next(iter(unread.values()), "there is no row below the header")
        raise CardError(Problem(f"no body can be read from this table: {first}", table.name))
    return Surveyed(table.name, tuple(lines), tuple(bodies), unread, tuple(left_out))


def _names() -> frozenset[str]:
    return frozenset(measurements()) | frozenset(survey_columns())


def _read_columns(
    left_out: list[str], header: Sequence[str], place: str
) -> tuple[tuple[Column, ...], tuple[Problem, ...]]:
    """The columns that are measurements; a name that both have is the survey's where another column
    is. Names of all others go to ``left_out``."""
    names = {plain(written) for written in header}
    surveyed = bool(names & (set(survey_columns()) - set(measurements())))
    found: dict[str, Column] = {}
    problems = []
    for at, written in enumerate(header):
        name = plain(written)
        if name in measurements() and not (surveyed and name in survey_columns()):
            column, key = Column((_MEASURED, name), at), name
        elif name in survey_columns():
            column, key = Column((_SURVEYED, name), at), survey_columns()[name].measurement
        else:
            left_out += [printable(written.strip()[:40])] if name else []
            continue
        if key in found:
            problems.append(
                Problem(
                    f"the {measurements()[key].name} stands in two columns",
                    f"{place}:{letters(at)}",
                    name,
                    advice=f"It is column {found[key].letter} too. Put # in front of one name.",
                )
            )
        found.setdefault(key, column)
    if not found:
        problems.append(
            Problem(
                "no column of this table is a measurement",
                place,
                accepted=", ".join(measurements()),
                advice="Call the columns as on a client card: neckarc card shows one.",
            )
        )
    return tuple(found.values()), tuple(problems)


def _values(
    row: Row, columns: Sequence[Column], table: str, unit: LengthUnit
) -> tuple[dict[str, float], list[Problem]]:
    """The measurements of a row (centimetres, radians), and what is wrong with it."""
    if row.problem is not None:
        return {}, [row.problem]
    values: dict[str, float] = {}
    problems = []
    for column in columns:
        text = cell(row.cells, column.at)
        if not text:
            continue
        key = _measurement(column)
        try:
            values[key] = _read(column, text, unit)
        except ValueError as error:
            problems.append(
                Problem(
                    str(error),
                    f"{table}:{row.line}:{column.letter}",
                    column.key[1],
                    printable(text[:40]),
                    format_range(*measurements()[key].hard, measurements()[key].unit, unit),
                )
            )
    if not values and not problems:
        problems.append(Problem("nothing was measured in this row", f"{table}:{row.line}"))
    return values, problems


def _measurement(column: Column) -> str:
    kind, name = column.key
    return name if kind == _MEASURED else survey_columns()[name].measurement


def _read(column: Column, text: str, unit: LengthUnit) -> float:
    """A cell as used inside. Raises ``ValueError`` with the reason."""
    kind, name = column.key
    key = _measurement(column)
    known = measurements()[key]
    if kind == _MEASURED:
        value = read_quantity(text, known.unit, unit)
    else:
        value = survey_columns()[name].value(float(read_quantity(text, "number")))
    if not lies_within(known.shown(value), *known.hard):
        raise ValueError("no body measures that")
    return value
