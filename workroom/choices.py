"""The options that several commands have in common."""

from __future__ import annotations

import click

from workroom.paper_kinds import KINDS

DXF = click.option(
    "--dxf",
    "profiles",
    type=click.Choice(["drawing", "splines", "interchange", "all"]),
    default="drawing",
    show_default=True,
    help="drawing: opens in any CAD. splines: true curves, for a CAD that edits them. "
    "interchange: D6673-style, for apparel CAD. all: the three of them.",
)
PAPERS = click.option(
    "--papers",
    "kinds",
    type=click.Choice(tuple(KINDS)),
    multiple=True,
    default=["all"],
    show_default=True,
    help="What an order's folder holds beside the checks; may be given more than once.",
)
