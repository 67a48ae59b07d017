"""A fit study: every body of a survey drafted by one method, one after the other on all cores, and
where that fails.

Each neckline is looked at as the method draws it, with each single correction, and after the first
correction that reaches the neck; then a collar is drafted to it. Centimetres.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import method_needs
from blocks.body.body import complete
from blocks.body.measures import measurements
from blocks.body.populations import survey_columns
from blocks.neckline.fit import Reach
from collars.drafts import CollarBase
from collars.registry import COLLARS
from drafting.errors import CardError, DraftError, Problem
from drafting.geometry.points import FloatArray
from drafting.parameters import format_range, lies_within, read_quantity
from drafting.pieces.checks import Check, Verdict
from drafting.tolerances import NECKLINE_GOOD
from drafting.units import LengthUnit
from workroom.batch.table import Column, Row, cell, letters, open_table, plain
from workroom.card.file import printable

# ---- A survey read from a table: a body a row

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


BoolArray = NDArray[np.bool_]
#: Corrections in the order in which they are tried: in proportion first, which keeps the neck's
#: shape.
ORDER = ("both", "side", "front")
#: What became of a neckline, beside the corrections of ``ORDER``: it is right as the method draws
#: it, or no single correction reaches the neck.
AS_DRAFTED, UNREACHED = "as drafted", "none reaches"
#: What the checks of one body make of the neckline before its correction is called so.
BEFORE = "neckline as drafted"
#: A neckline farther than this from the neck base girth with its ease is counted as off.
OFF = 1.0
#: The collars that close round the neck, whose room for it a study can tell.
KINDS = tuple(kind for kind, collar in COLLARS.items() if "rise" in collar.parameters)
#: Fewer bodies than this are drafted here, without starting a process a core.
_FEW, _CHUNK = 40, 8


@dataclass(frozen=True, slots=True)
class Looked:
    """What a method makes of one body; ``refused`` why it makes nothing of it, empty when it does.

    ``raised`` and ``narrowed`` say by correction how far it would raise the front neck point and
    narrow the side neck, nan where it does not reach; ``rise`` is that of a stand whose closed top
    edge would be exactly the neck with its ease, nan where none would.
    """

    refused: str = ""
    drafted: float = np.nan
    target: float = np.nan
    fitted: float = np.nan
    taken: str = ""
    raised: Mapping[str, float] = field(default_factory=dict)
    narrowed: Mapping[str, float] = field(default_factory=dict)
    reach: Mapping[str, Reach] = field(default_factory=dict)
    rise: float = np.nan
    checks: tuple[Check, ...] = ()


@dataclass(frozen=True, slots=True)
class Tally:
    """A check over all bodies, an entry a body: what was measured and wanted (nan for a body that
    was refused or has no such check), and whether it ``failed`` or is to be looked at."""

    name: str
    measured: FloatArray
    target: FloatArray
    failed: BoolArray
    noted: BoolArray

    @property
    def off(self) -> FloatArray:
        """Measured minus target."""
        return self.measured - self.target


@dataclass(frozen=True, slots=True)
class Study:
    """What a method makes of a population; every array has an entry a body (n,), nan where that
    body was refused. ``reasons`` say by the place of a body why it was; the rest is as in
    :class:`Looked`."""

    method: str
    collar: str
    neck_ease: float
    survey: Surveyed
    bodies: tuple[Looked, ...]
    checks: tuple[Tally, ...]

    @property
    def reasons(self) -> Mapping[int, str]:
        """Why bodies were refused, by their places."""
        return {k: one.refused for k, one in enumerate(self.bodies) if one.refused}

    @property
    def refused(self) -> BoolArray:
        """Who was refused."""
        return np.array([bool(one.refused) for one in self.bodies])

    def taken_of(self, key: str) -> FloatArray:
        """A measurement of every body (cm, radians), nan where it was not taken."""
        return np.array([taken.get(key, np.nan) for taken in self.survey.bodies])

    @property
    def bust(self) -> FloatArray:
        """The bust girths."""
        return self.taken_of("bust_girth")

    @property
    def neck_base(self) -> FloatArray:
        """The neck base girths."""
        return self.taken_of("neck_base_girth")

    @property
    def drafted(self) -> FloatArray:
        """Whole necklines as the method draws them."""
        return np.array([one.drafted for one in self.bodies])

    @property
    def target(self) -> FloatArray:
        """What they should be."""
        return np.array([one.target for one in self.bodies])

    @property
    def fitted(self) -> FloatArray:
        """Whole necklines after the correction ``taken``."""
        return np.array([one.fitted for one in self.bodies])

    @property
    def off(self) -> FloatArray:
        """The whole neckline as drafted minus what it should be."""
        return self.drafted - self.target

    @property
    def taken(self) -> NDArray[np.str_]:
        """The correction that was made; empty for those refused."""
        return np.array([one.taken for one in self.bodies], dtype=np.str_)

    @property
    def rise(self) -> FloatArray:
        """Rises that would close the top edge exactly."""
        return np.array([one.rise for one in self.bodies])

    def raised(self, key: str) -> FloatArray:
        """How far a correction would raise the front neck point."""
        return np.array([one.raised.get(key, np.nan) for one in self.bodies])

    def narrowed(self, key: str) -> FloatArray:
        """How far a correction would narrow the side neck."""
        return np.array([one.narrowed.get(key, np.nan) for one in self.bodies])

    def reaches(self, key: str, reach: Reach) -> BoolArray:
        """Of whom this is so of a correction."""
        return np.array([one.reach.get(key) is reach for one in self.bodies])

    @property
    def fails(self) -> BoolArray:
        """Who cannot have what was asked: refused, no correction reaches, or a check failed."""
        failing = self.refused | (self.taken == UNREACHED)
        for check in self.checks:
            failing |= check.failed
        return np.asarray(failing)


def study(
    survey: Surveyed,
    method: str,
    collar: str = "none",
    neck_ease: float = 0.5,
    progress: Callable[[int], None] | None = None,
) -> Study:
    """Draft every body of a survey by a method (cm over the neck base girth: ``neck_ease``), with
    the collar ``collar`` of ``KINDS`` or none, as it stands by default. ``progress`` is told after
    every body how many are done."""
    look = partial(look_at, method=method, collar=collar, neck_ease=neck_ease)
    found = []
    for one in _each(look, survey.bodies):
        found.append(one)
        if progress is not None:
            progress(len(found))
    return Study(method, collar, neck_ease, survey, tuple(found), _tallied(found))


def _each(
    look: Callable[[Mapping[str, float]], Looked], bodies: tuple[Mapping[str, float], ...]
) -> Iterator[Looked]:
    if len(bodies) < _FEW:
        yield from map(look, bodies)
        return
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        yield from pool.map(look, bodies, chunksize=_CHUNK)


def look_at(taken: Mapping[str, float], method: str, collar: str, neck_ease: float) -> Looked:
    """One body (measurements by key, centimetres and radians) by a method."""
    needed = method_needs(method) | {"neck_base_girth"}
    if lacking := [m.name for key, m in measurements().items() if key in needed - set(taken)]:
        # a neckline held against a guess of the neck would tell nothing
        return Looked(f"not measured: {', '.join(lacking)}")
    wish = partial(BlockWish, method, neck_ease=neck_ease)
    try:
        body = complete(taken)
        plain = draft_bodice(body, wish())
        corrections = {one.key: one for one in plain.fit.corrections}
        chosen = next((key for key in ORDER if corrections[key].change is not None), UNREACHED)
        chosen = AS_DRAFTED if abs(plain.fit.off) <= NECKLINE_GOOD else chosen
        draft = draft_bodice(body, wish(fit=chosen)) if chosen in ORDER else plain
        back, front = make_up(draft)
        checks = (_before(plain.fit.drafted, plain.fit.target), *check_bodice(draft, back, front))
    except DraftError as error:
        return Looked(error.told)
    rise = np.nan
    if collar != "none":
        try:
            sewn = COLLARS[collar].draft(CollarBase(draft.neckline, back, front), {})
        except DraftError as error:
            return Looked(f"the collar: {error}")
        checks += sewn.checks
        rise = sewn.numbers.get("rise_for_neck", sewn.numbers.get("rise", np.nan))
    moves = {key: one.change for key, one in corrections.items() if one.change is not None}
    return Looked(
        drafted=plain.fit.drafted,
        target=plain.fit.target,
        fitted=draft.fit.fitted,
        taken=chosen,
        raised={key: change.front_raise for key, change in moves.items()},
        narrowed={key: 0.0 - change.side_shift for key, change in moves.items()},
        reach={key: one.reach for key, one in corrections.items()},
        rise=rise,
        checks=checks,
    )


def _before(drafted: float, target: float) -> Check:
    """The neckline before any correction, which is never what stops cutting."""
    good = abs(drafted - target) <= NECKLINE_GOOD
    verdict = Verdict.PASS if good else Verdict.NOTE
    return Check(BEFORE, drafted, target, NECKLINE_GOOD, verdict)


def _tallied(bodies: list[Looked]) -> tuple[Tally, ...]:
    tallies: dict[str, Tally] = {}
    for k, one in enumerate(bodies):
        for check in one.checks:
            if check.name not in tallies:
                measured, target = np.full((2, len(bodies)), np.nan)
                failed, noted = np.zeros((2, len(bodies)), dtype=np.bool_)
                tallies[check.name] = Tally(check.name, measured, target, failed, noted)
            tally = tallies[check.name]
            # two of a name (back and front): the worse one is told
            worse = abs(check.off) > abs(tally.off[k]) or not np.isfinite(tally.measured[k])
            if worse:
                tally.measured[k], tally.target[k] = check.measured, check.target
            tally.failed[k] |= check.verdict is Verdict.FAIL
            tally.noted[k] |= check.verdict is Verdict.NOTE
    return tuple(tallies.values())
