"""The options that several commands have in common."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import NoReturn

import click

from drafting.errors import NeckarcError, SheetError
from workroom.papers.kinds import KINDS

# ---- What a command answers: an exit status, and one clear message for every error


def answer(work: Callable[[], int]) -> NoReturn:
    """Do the work; errors become one clear message and an exit status."""
    try:
        status = work()
    except SheetError as error:
        click.echo(str(error), err=True)
        status = 1
    except NeckarcError as error:
        count = len(error.problems)
        click.echo(f"{count} thing{'s' if count > 1 else ''} to put right:", err=True)
        for problem in error.problems:
            click.echo(f"  {problem}", err=True)
        click.echo("Nothing was written.", err=True)
        status = 2
    sys.exit(status)


DXF = click.option(
    "--dxf",
    "profiles",
    type=click.Choice(["drawing", "splines", "interchange", "all"]),
    default="drawing",
    show_default=True,
    help="drawing: opens in any CAD. splines: true curves, for a CAD that edits them. "
    "interchange: D6673-style, for apparel CAD. all: all three.",
)
PAPERS = click.option(
    "--papers",
    "kinds",
    type=click.Choice(tuple(KINDS)),
    multiple=True,
    default=["all"],
    show_default=True,
    help="Which papers to write besides the checks; may be given more than once.",
)
