"""``neckarc grade``: a range of sizes from the command line."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import click

from workroom.console.cli import answer


@click.command(name="grade", short_help="Draft a size table's range as one nest.")
@click.argument("card", type=click.Path(path_type=Path))
@click.option("--sizes", "table", required=True, help="The table: one of those in data/sizes.")
@click.option("--only", default="", help='Some sizes of it: "8 10 12".')
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("orders"),
    show_default=True,
    help="The folder in which the range's own folder is made.",
)
@click.option("--replace", is_flag=True, help="Replace this range's folder.")
def grade(card: Path, table: str, only: str, into: Path, replace: bool) -> None:
    """Draft the garment on CARD in every size of a published table, and check how it grows.

    Garment, neckline and collar are the card's, measurements the table's. Exit status as for
    neckarc draft.
    """
    answer(lambda: _grade(card, table, only, into, replace))


def _grade(path: Path, table: str, only: str, into: Path, replace: bool) -> int:
    from workroom.folder.folder import next_number, swap_own, write_folder
    from workroom.folder.names import folder_name
    from workroom.folder.record import FILE, owned_by, owner_of, record_bytes
    from workroom.grade.papers import grade_lines, range_failed, range_papers
    from workroom.grade.sizes import draft_range, open_range_card

    card = open_range_card(path)
    drafted = draft_range(card, table, only.replace(",", " ").split())
    files = range_papers(drafted)
    told = [line for line in grade_lines(drafted) if not line.startswith("pass:")]
    click.echo("\n".join(told))
    name = folder_name(card.order or "range", card.date.isoformat(), drafted.table.key)
    kind = f"range {drafted.table.key}"
    day = card.date.isoformat()
    owner = owner_of(path, into, client="", date=day, order=card.order, kind=kind)
    owner = dataclasses.replace(owner, source="")  # a range is a style's and names no client
    files = {**files, FILE: record_bytes(owner, files)}
    taken = swap_own(owned_by(owner)) if replace else next_number
    written = write_folder(into, name, files, taken=taken)
    click.echo("\n".join((f"Written to {written.place}", *written.said)))
    if range_failed(drafted):
        click.echo("A check failed: NOT FOR CUTTING. See above.", err=True)
        return 3
    return 0
