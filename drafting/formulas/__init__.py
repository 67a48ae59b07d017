"""Formulas as a maker writes them: ``bust_girth / 24 + 3.4``.

The language is arithmetic (``+ - * /``, ``^`` with a whole number from 0 to 4, brackets), names
of measurements and quantities, ``cm`` (one centimetre), ``pi``, and a few functions: ``sqrt sin
cos tan asin acos atan atan2(y, x) hypot(a, b) abs min max``, ``deg(22)`` for an angle of 22
degrees, ``degrees(angle)`` for its number of degrees, and ``choose_below(a, b, then, otherwise)``:
``then`` where a is less than b. Nothing else can run.

Lengths are in centimetres and angles in radians. Units are checked before any number is known: a
bare number may stand for centimetres, never for an angle.
"""

from drafting.formulas.formula import Formula, parse
from drafting.formulas.kinds import Kind, Measure, check_kind, measure_of
from drafting.formulas.numbers import FloatArray
from drafting.formulas.sheet import Entry, Sheet

__all__ = [
    "Entry",
    "FloatArray",
    "Formula",
    "Kind",
    "Measure",
    "Sheet",
    "check_kind",
    "measure_of",
    "parse",
]
