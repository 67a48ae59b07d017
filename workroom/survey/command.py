"""``neckarc survey``: a fit study from the command line."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from workroom.console.cli import answer


@click.command(name="survey", short_help="Try a method on a table of bodies: where does it fail?")
@click.argument("bodies", metavar="SURVEY", type=click.Path(path_type=Path))
@click.option("--method", default="bust-proportional", show_default=True)
@click.option("--collar", default="none", show_default=True, help="A stand to try on each neck.")
@click.option(
    "--ease",
    default="0.5 cm",
    show_default=True,
    help="How much longer the neckline is than the neck base girth.",
)
@click.option("--unit", type=click.Choice(["cm", "in"]), default="cm", show_default=True)
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    help="The folder in which the study's own folder is made; without it nothing is written.",
)
def survey(bodies: Path, method: str, collar: str, ease: str, unit: str, into: Path | None) -> None:
    """Draft every body of SURVEY, a CSV table, by one method, and say where that fails.

    Columns are called as measurements on a client card (bust_girth, neck_base_girth, ...) or as in
    the public file of the survey ANSUR II (millimetres); others are left out. Told are how far the
    necklines are from the necks, which corrections it takes, the checks, and for which bodies the
    method does not do. With --into also survey.csv, a row a body, and survey.png.

    Exit status: 0 the study was made; 1 its folder could not be written; 2 the table or what was
    asked for has mistakes.
    """
    answer(lambda: _survey(bodies, method, collar, ease, unit, into))


def _survey(
    path: Path, method: str, collar: str, ease: str, written: str, into: Path | None
) -> int:
    from drafting.units import LengthUnit
    from workroom.survey.study import read_survey, study
    from workroom.survey.words import study_csv, study_lines

    unit = LengthUnit(written)
    asked_ease = _checked(method, collar, ease, unit)
    bodies = read_survey(path, unit)
    with _progress(len(bodies.bodies)) as progress:
        found = study(bodies, method, collar, asked_ease, progress)
    lines = study_lines(found, unit)
    click.echo("\n".join(lines))
    if into is not None:
        from workroom.folder.folder import write_folder
        from workroom.folder.names import folder_name
        from workroom.survey.picture import study_png

        files = {
            "survey.csv": study_csv(found),
            "survey.png": study_png(found, unit),
            "survey.txt": ("\n".join(lines) + "\n").encode("utf-8"),
        }
        place = write_folder(into, folder_name("survey", path.stem, method), files).place
        click.echo(f"Written to {place}")
    return 0


@contextmanager
def _progress(count: int) -> Iterator[Callable[[int], None]]:
    """How many bodies are done and how long the rest will take, on a terminal."""
    with click.progressbar(length=count, label="Drafting", file=sys.stderr) as bar:
        yield lambda done: bar.update(done - bar.pos)


def _checked(method: str, collar: str, ease: str, unit: object) -> float:
    """The ease (cm). Raises :class:`CardError` with all that is wrong with what was asked."""
    from blocks.bodice.methods import method_names
    from drafting.errors import CardError, Problem
    from drafting.parameters import format_range, lies_within, read_quantity
    from drafting.units import LengthUnit
    from garment.options import card_fields
    from workroom.survey.study import KINDS

    assert isinstance(unit, LengthUnit)
    problems = []
    if method not in method_names():
        accepted = ", ".join(method_names())
        problems.append(Problem("there is no such method", "", "--method", method, accepted))
    kinds = ("none", *KINDS)
    if collar not in kinds:
        said = "a study can be made of a collar with a stand only"
        problems.append(Problem(said, "", "--collar", collar, ", ".join(kinds)))
    value, rule = 0.0, card_fields()["neckline"]["ease"].rule
    try:
        value = read_quantity(ease, "cm", unit)
        if not lies_within(value, rule.low, rule.high):
            raise ValueError("this is not a neckline ease")
    except ValueError as error:
        accepted = format_range(rule.low, rule.high, "cm", unit)
        problems.append(Problem(str(error), "", "--ease", ease, accepted))
    if problems:
        raise CardError(problems)
    return value
