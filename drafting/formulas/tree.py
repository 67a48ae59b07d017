"""What a formula is once read: a small tree of frozen nodes, and the words it may use.

Sums and products are flat, so a tree is never deeper than its brackets allow.
``at`` is the column (from 1) where a node starts in the text; it does not count for equality.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

#: Named constants: one centimetre (a length), and the circle's number.
CONSTANTS: Mapping[str, float] = MappingProxyType({"cm": 1.0, "pi": math.pi})

#: Every function with the names of its arguments; ``...`` as the last: as many more as wanted.
FUNCTIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "sqrt": ("x",),
        "sin": ("angle",),
        "cos": ("angle",),
        "tan": ("angle",),
        "asin": ("x",),
        "acos": ("x",),
        "atan": ("x",),
        "atan2": ("y", "x"),
        "hypot": ("a", "b"),
        "abs": ("x",),
        "min": ("a", "b", "..."),
        "max": ("a", "b", "..."),
        "deg": ("x",),
        "degrees": ("angle",),
        "choose_below": ("a", "b", "then", "otherwise"),
    }
)

#: Words that no quantity and no measurement may be called.
RESERVED = frozenset(CONSTANTS) | frozenset(FUNCTIONS)


@dataclass(frozen=True, slots=True)
class Number:
    """A number as it was written."""

    text: str
    at: int = field(default=1, compare=False)

    @property
    def value(self) -> float:
        """The number itself."""
        return float(self.text)


@dataclass(frozen=True, slots=True)
class Constant:
    """``cm`` or ``pi``."""

    name: str
    at: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Name:
    """A measurement or another quantity."""

    name: str
    at: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Negative:
    """``-inner``."""

    inner: Tree
    at: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Chain:
    """``first`` and then, from left to right, each of ``rest`` with its sign.

    The signs are all of ``+ -`` (a sum) or all of ``* /`` (a product).
    """

    first: Tree
    rest: tuple[tuple[str, Tree], ...]
    at: int = field(default=1, compare=False)

    @property
    def is_sum(self) -> bool:
        """Whether this is a sum; otherwise it is a product."""
        return self.rest[0][0] in "+-"


@dataclass(frozen=True, slots=True)
class Power:
    """``base ^ exponent``, the exponent from 0 to 4."""

    base: Tree
    exponent: int
    at: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Call:
    """A function of ``FUNCTIONS`` with as many arguments as it takes."""

    function: str
    arguments: tuple[Tree, ...]
    at: int = field(default=1, compare=False)


Tree = Number | Constant | Name | Negative | Chain | Power | Call


def children(tree: Tree) -> tuple[Tree, ...]:
    """The nodes right below ``tree``, from left to right."""
    match tree:
        case Negative(inner=inner):
            return (inner,)
        case Chain(first=first, rest=rest):
            return (first, *(part for _, part in rest))
        case Power(base=base):
            return (base,)
        case Call(arguments=arguments):
            return arguments
        case _:
            return ()


def walk(tree: Tree) -> Iterator[Tree]:
    """Every node, each before its children, from left to right."""
    waiting = [tree]
    while waiting:
        node = waiting.pop()
        yield node
        waiting.extend(reversed(children(node)))
