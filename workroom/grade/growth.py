"""How the pieces of a range grow from size to size, measured on the pieces that are cut.

Every seam must walk in every size. An edge should grow, or shrink, in one direction; and no size
should stand out: its edges should be as long as the sizes beside it lead one to expect, the bust
growing as the table has it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from blocks.edges import EdgeName
from drafting.pieces.checks import Check, Verdict, within
from drafting.pieces.piece import EdgeKind, seam_mismatch
from drafting.sentences import length
from drafting.tolerances import GRADE_BACK, GRADE_EVEN, SEAM
from workroom.grade.sizes import SizeRange

_SMALL = (EdgeName.DART_MOUTH, EdgeName.BUTTON_STAND_END)


@dataclass(frozen=True, slots=True)
class Growth:
    """One edge of one piece in every size that has it (cm), with the bust of each size."""

    piece: str
    edge: EdgeKind
    lengths: Mapping[str, float]
    busts: Mapping[str, float]

    @property
    def steps(self) -> tuple[float, ...]:
        """How much longer each size is than the one before."""
        return tuple(b - a for a, b in pairwise(self.lengths.values()))

    @property
    def against(self) -> tuple[str, str, float]:
        """The step that goes farthest against the rest: from which size to which, and by how much
        (negative where it does)."""
        whole = sum(self.steps)
        sign = -1.0 if whole < 0 else 1.0
        names = list(self.lengths)
        at = int(np.argmin([sign * step for step in self.steps]))
        return names[at], names[at + 1], sign * self.steps[at]

    @property
    def uneven(self) -> tuple[str, float]:
        """The size that stands out most from those beside it, and by how much."""
        names = list(self.lengths)
        worst = (names[0], 0.0)
        for before, name, after in zip(names, names[1:], names[2:], strict=False):
            low, here, high = (self.busts[n] for n in (before, name, after))
            share = (here - low) / (high - low)
            lead = self.lengths[before] * (1 - share) + self.lengths[after] * share
            out = self.lengths[name] - lead
            if abs(out) > abs(worst[1]):
                worst = (name, out)
        return worst


def growths(drafted: SizeRange) -> tuple[Growth, ...]:
    """Every edge of every piece that stands in two sizes or more."""
    found = []
    for code in drafted.codes:
        graded = drafted.graded(code)
        for edge in dict.fromkeys(e.name for piece in graded.values() for e in piece.edges):
            lengths = {n: p.length(edge) for n, p in graded.items() if p.named(edge)}
            if edge not in _SMALL and len(lengths) > 1:
                busts = {
                    n: drafted.orders[n].commission.measurements["bust_girth"] for n in lengths
                }
                title = next(iter(graded.values())).title
                found.append(Growth(title, edge, lengths, busts))
    return tuple(found)


def grade_checks(drafted: SizeRange) -> tuple[Check, ...]:
    """Seams and growth of a range. Only a seam that does not walk stops cutting."""
    return (
        *_seams(drafted),
        *_missing(drafted),
        *(check for growth in growths(drafted) for check in _growing(growth)),
    )


def _seams(drafted: SizeRange) -> Iterator[Check]:
    for name, order in drafted.orders.items():
        off = {s.name: abs(seam_mismatch(order.pieces, s)) for s in order.seams}
        worst = max(off, key=lambda seam: off[seam])
        yield within(
            f"size {name}: all seams walked, largest difference",
            off[worst],
            0.0,
            SEAM,
            where=worst,
            advice="Do not cut: this seam does not walk.",
            source="common practice",
        )


def _missing(drafted: SizeRange) -> Iterator[Check]:
    """Pieces that not every size has, and pieces whose edges or darts differ between sizes."""
    for code in drafted.codes:
        graded = drafted.graded(code)
        title = next(iter(graded.values())).title
        without = [name for name in drafted.sizes if name not in graded]
        if without:
            yield _count(
                f"{title}: sizes that have this piece",
                len(graded),
                len(drafted.sizes),
                f"There is none in size {', '.join(without)}.",
            )
        shapes = {name: tuple(e.name for e in piece.edges) for name, piece in graded.items()}
        alike = [tuple(shapes.values()).count(shape) for shape in shapes.values()]
        usual = list(shapes.values())[int(np.argmax(alike))]
        other = [name for name, shape in shapes.items() if shape != usual]
        if other:
            yield _count(
                f"{title}: sizes with the same edges and darts",
                len(graded) - len(other),
                len(graded),
                f"Size {', '.join(other)} has others: the method or the figure asks for it.",
            )


def _count(name: str, measured: int, target: int, advice: str) -> Check:
    return Check(name, measured, target, 0.0, Verdict.NOTE, advice, unit="", source="computed")


def _growing(growth: Growth) -> Iterator[Check]:
    before, after, step = growth.against
    well = step >= -GRADE_BACK
    yield Check(
        f"{growth.piece}, {growth.edge}: smallest step from size to size",
        step,
        0.0,
        GRADE_BACK,
        Verdict.PASS if well else Verdict.NOTE,
        "" if well else f"From size {before} to {after} it goes back by {length(-step, places=2)}.",
        unit="cm",
        source="computed",
        least=True,
    )
    if len(growth.lengths) < 3:
        return
    name, out = growth.uneven
    even = abs(out) <= GRADE_EVEN
    more = "longer" if out > 0 else "shorter"
    yield Check(
        f"{growth.piece}, {growth.edge}: out of line with the sizes beside it",
        abs(out),
        0.0,
        GRADE_EVEN,
        Verdict.PASS if even else Verdict.NOTE,
        ""
        if even
        else f"Size {name} is {length(abs(out), places=2)} {more} than the sizes beside it lead "
        "one to expect. Check whether the table or an estimate jumps there.",
        unit="cm",
        source="computed",
    )
