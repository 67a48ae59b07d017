"""What every collar is drafted on, and what it gives back, whatever its kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from blocks.neckline.neckline import Neckline
from drafting.geometry.points import Point
from drafting.pieces.checks import Check
from drafting.pieces.piece import Piece, Seam
from drafting.sentences import keep_values


@dataclass(frozen=True, slots=True)
class Ground:
    """What lies on the table when a collar is drafted: the neckline, and the back and front piece
    (no seam allowances, darts where the card wants them), ``None`` when the neckline was taped."""

    neckline: Neckline
    back: Piece | None = None
    front: Piece | None = None


class OnBody(Protocol):
    """What a check of the cut pieces is compared with on her real body."""

    @property
    def reads(self) -> frozenset[str]:
        """The measurements it is worked out from."""

    @property
    def ease(self) -> float:
        """What the target has over the body (cm), as was asked."""

    def target(self, body: Mapping[str, float]) -> float:
        """The check's target (cm) on a body (cm, radians). Raises :class:`DraftError` where there
        is no such body."""


@dataclass(frozen=True, slots=True)
class CollarDraft:
    """A drafted collar. ``numbers`` names the lengths and angles a maker may want to know (cm, and
    radians where the name ends in ``angle``); ``seams`` pairs its own edges and the neckline.

    ``bodice`` holds the bodice pieces that it changes, by code, to take the place of those it was
    drafted on. ``first_button`` is where the topmost button of the front sits when the collar says
    so (a lapel), on the centre front line; ``button_in_stand`` tells that the collar has one
    itself. ``laid_on`` tells that it is laid on the neckline and its seam wants a facing or a strip
    over it; ``facing`` is how the front edge is faced when the card leaves that open.
    ``leans_on`` are the measurements it was worked out from besides the neckline, ``on_body`` what
    its checks are compared with on another body, by their names.
    """

    kind: str
    title: str
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    checks: tuple[Check, ...]
    numbers: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    bodice: Mapping[str, Piece] = field(default_factory=dict)
    first_button: Point | None = None
    button_in_stand: bool = False
    leans_on: frozenset[str] = frozenset()
    laid_on: bool = False
    facing: str = "cut on"
    on_body: Mapping[str, OnBody] = field(default_factory=dict)

    def __post_init__(self) -> None:
        keep_values(self, "notes")
