"""What a worksheet is made of: steps that work out quantities and plot points.

Centimetres and radians; what is shown to the maker is in the ``shown`` texts.
"""

from __future__ import annotations

from dataclasses import dataclass

from drafting.geometry.points import Point
from drafting.pieces.piece import Piece


@dataclass(frozen=True, slots=True)
class Worked:
    """A quantity worked out: its name, its formula in words (empty when it is plain), the same with
    this client's numbers, its value (cm, radians) and how that is written. ``asides`` say why a
    choice fell so and how a slope is laid off; ``key`` is the quantity's own name,
    ``uses`` are those the formula speaks of."""

    name: str
    meaning: str
    formula: str
    numbers: str
    value: float
    shown: str
    asides: tuple[str, ...] = ()
    key: str = ""
    uses: frozenset[str] = frozenset()

    @property
    def working(self) -> str:
        """The formula in words and in numbers: ``bust girth ÷ 24 + 3.4 = 92 ÷ 24 + 3.4``."""
        return " = ".join(part for part in (self.formula, self.numbers) if part)


@dataclass(frozen=True, slots=True)
class Plotted:
    """A point to plot: across and up from the step's origin, centimetres; ``how`` says by which
    formulas, empty when it is read off the drawn line."""

    name: str
    at: Point
    across: str
    up: str
    how: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """An edge to draw: straight or as a fair curve through its ``points``, and its length."""

    name: str
    straight: bool
    points: tuple[Plotted, ...]
    length: float
    shown: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the draft. ``piece`` is set where the step draws a whole piece."""

    title: str
    said: str
    worked: tuple[Worked, ...] = ()
    plotted: tuple[Plotted, ...] = ()
    lines: tuple[Line, ...] = ()
    piece: Piece | None = None


@dataclass(frozen=True, slots=True)
class Worksheet:
    """The steps of one order, in the order of drawing."""

    title: str
    steps: tuple[Step, ...]
