"""What every collar gives back, whatever its kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from drafting.checks import Check
from drafting.pieces import Piece, Seam


@dataclass(frozen=True, slots=True)
class CollarDraft:
    """A drafted collar. ``numbers`` names the lengths and angles a maker may want to know (cm, and
    radians where the name ends in ``angle``); ``seams`` pairs its own edges and the neckline."""

    kind: str
    title: str
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    checks: tuple[Check, ...]
    numbers: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
