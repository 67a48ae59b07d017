"""One formula: read once, then worked out for bodies, written for makers, or made symbolic."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from drafting.formulas import numbers
from drafting.formulas import numbers as slopes
from drafting.formulas.numbers import FloatArray, Run, settle, spread
from drafting.formulas.reading import read
from drafting.formulas.symbols import symbol_of
from drafting.formulas.tree import Name, Tree, walk
from drafting.formulas.writing import pretty, write

if TYPE_CHECKING:
    import sympy


@dataclass(frozen=True)
class Formula:
    """A formula that could be read; make it with :func:`parse`.

    ``text`` is as written, ``place`` where (``method.toml:12``), ``names`` the measurements and
    quantities it speaks of, ``tree`` what was read.
    """

    text: str
    place: str
    names: frozenset[str]
    tree: Tree

    def evaluate(self, values: Mapping[str, float | FloatArray]) -> float | FloatArray:
        """The value for one body (floats) or an array of bodies (arrays, broadcast together).

        Lengths in centimetres, angles in radians; names it does not speak of are ignored. What
        has no answer is nan. The result is a float if all values are, else an array of the
        shape they share. Raises :class:`FormulaError` where a value is missing or no number.
        """
        settled, shape = settle(values, self.names, self.place)
        if not shape:
            return self.one(settled)
        with np.errstate(all="ignore"):
            return spread(self.many(settled), shape)

    def pretty(self) -> str:
        """The formula on one line, names as words: ``bust girth ÷ 24 + 3.4``."""
        return pretty(self.tree)

    def with_numbers(self, values: Mapping[str, float], *, places: int = 2) -> str:
        """The same with numbers for the names: ``92.00 ÷ 24 + 3.4``; angles in radians.

        Raises :class:`FormulaError` where a value is missing or no number.
        """
        settled, _ = settle({**values}, self.names, self.place)
        return write(self.tree, lambda name: f"{settled[name]:.{places}f}")

    def symbol(self) -> sympy.Expr:
        """The formula in sympy, numbers exact, each name a real symbol.

        Raises :class:`FormulaError` where that would be too large or has no answer at all.
        """
        return symbol_of([("", self.tree)], place=self.place)

    @cached_property
    def one(self) -> Run[float]:
        """Compiled for one body: every name's float in, a float out; nothing is checked."""
        return numbers.for_one(self.tree)

    @cached_property
    def many(self) -> Run[Any]:
        """Compiled for arrays; run it under ``numpy.errstate(all="ignore")``."""
        return numbers.for_many(self.tree)

    @cached_property
    def sloping(self) -> Run[slopes.Slope]:
        """Compiled to carry slopes along with values, for one body."""
        return slopes.for_slopes(self.tree)

    def __getstate__(self) -> dict[str, Any]:
        return {field.name: getattr(self, field.name) for field in fields(self)}


def parse(text: str, *, place: str = "") -> Formula:
    """Read a formula.

    Raises :class:`FormulaError` with ``place``, the column, what was found and what may stand
    there.
    """
    tree = read(text, place)
    names = frozenset(node.name for node in walk(tree) if isinstance(node, Name))
    return Formula(text, place, names, tree)
