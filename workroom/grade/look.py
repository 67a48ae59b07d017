"""How sizes look in a nest and where they lie on each other, read from ``data/nest.toml``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from drafting.errors import DataError, DraftError, Problem
from drafting.library import TomlText, read_data
from drafting.pieces import EdgeName, Piece
from drafting.points import Point
from drafting.sentences import Sentence
from drafting.signs import Ink
from workroom.sheets.layers import DXF_WIDTHS, LINETYPES, READABLE, Layer, layers


@dataclass(frozen=True, slots=True)
class Look:
    """Colour and dash of a size, and what the dash is called in a DXF file."""

    colour: int
    rgb: str
    dash_mm: tuple[float, ...]
    linetype: str


@dataclass(frozen=True, slots=True)
class Align:
    """The corner of two edges by which sizes are laid together, and what it is called."""

    edges: frozenset[EdgeName]
    said: str


@dataclass(frozen=True, slots=True)
class NestLook:
    """The whole file."""

    looks: tuple[Look, ...]
    widths: dict[Ink, float]
    aligns: tuple[Align, ...]

    def of(self, number: int) -> Look:
        """The look of a size by its place in the range, from 0."""
        return self.looks[number]

    def layer(self, number: int) -> Callable[[str], Layer]:
        """The lines of a size: each ink of its own width, all in the size's colour and dash."""
        look = self.of(number)

        def of(ink: str) -> Layer:
            plain = layers()[Ink(ink)]
            width = self.widths.get(plain.key, plain.width_mm)
            return replace(
                plain,
                width_mm=width,
                colour=look.colour,
                rgb=look.rgb,
                dash_mm=look.dash_mm,
                linetype=look.linetype,
            )

        return of


@cache
def nest_look() -> NestLook:
    """Looks, widths and corners. Raises :class:`DataError`."""
    return read_nest(read_data("nest"))


def read_nest(text: TomlText) -> NestLook:
    """The same from its text. Raises :class:`DataError` with what is wrong with it."""
    try:
        looks = tuple(_look(row) for row in text.values["look"])
        widths = {Ink(key): float(width) for key, width in text.values["width"].items()}
        aligns = tuple(
            Align(frozenset(map(EdgeName, row["edges"])), Sentence(row["said"]))
            for row in text.values["align"]
        )
    except (KeyError, TypeError, ValueError) as error:
        raise DataError(Problem(f"this cannot be read: {error}", text.name)) from error
    problems = [
        *(
            f"no width that DXF allows: {w}"
            for w in widths.values()
            if round(w * 100) not in DXF_WIDTHS
        ),
        *(f"a colour that cannot be read: {x.colour}" for x in looks if x.colour not in READABLE),
    ]
    problems += [
        f"a dash without a name that programs know: {x.dash_mm}"
        for x in looks
        if x.linetype not in (LINETYPES if x.dash_mm else {""})
    ]
    if len({look.linetype for look in looks}) < len(looks):
        problems.append("two sizes have the same linetype")
    if len({look.dash_mm for look in looks}) < len(looks):
        problems.append("two sizes have the same dash")
    if problems:
        raise DataError([Problem(said, text.name) for said in problems])
    return NestLook(looks, widths, aligns)


def refuse_too_many(count: int) -> None:
    """Raises :class:`DraftError` when there are more sizes than looks."""
    most = len(nest_look().looks)
    if count > most:
        raise DraftError(
            Problem(
                "there are more sizes than can be told apart in one nest",
                key="--only",
                got=str(count),
                accepted=f"up to {most}",
                advice="Choose some of them with --only.",
            )
        )


def corner_of(piece: Piece) -> tuple[Point, str]:
    """The point of a piece by which its sizes are laid together, and what it is called."""
    edges = piece.edges
    for align in nest_look().aligns:
        for edge, after in zip(edges, (*edges[1:], edges[0]), strict=True):
            if frozenset((edge.name, after.name)) == align.edges:
                return edge.curve.end, align.said
    return piece.grain[0], "at the end of the grain line"


def _look(row: dict[str, Any]) -> Look:
    dash = tuple(float(d) for d in row["dash_mm"])
    return Look(int(row["colour"]), str(row["rgb"]), dash, str(row["linetype"]))
