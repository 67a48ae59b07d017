"""What every collar is drafted on, and what it gives back, whatever its kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from blocks.component import ComponentDraft
from blocks.neckline.neckline import Neckline
from drafting.geometry.points import Point
from drafting.pieces.piece import Piece


@dataclass(frozen=True, slots=True)
class CollarBase:
    """What lies on the table when a collar is drafted: the neckline, and the back and front piece
    (no seam allowances, darts where the card wants them), ``None`` when the neckline was taped."""

    neckline: Neckline
    back: Piece | None = None
    front: Piece | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """A collar whose first piece stands on the neckline: ``winged`` when it folds down at the
    front, ``fall`` the place among its pieces of the one that turns down over it, if any."""

    winged: bool = False
    fall: int | None = None


@dataclass(frozen=True, slots=True)
class CollarDraft(ComponentDraft):
    """A drafted collar.

    ``bodice`` holds the bodice pieces that it changes, by code, to take the place of those it was
    drafted on. ``first_button`` is where the topmost button of the front sits when the collar says
    so (a lapel), on the centre front line; ``button_in_stand`` tells that the collar has one
    itself. ``laid_on`` tells that it is laid on the neckline and its seam wants a facing or a strip
    over it; ``facing`` is how the front edge is faced when the card leaves that open; ``standing``
    how it stands on the neck, ``None`` for one that lies.
    """

    bodice: Mapping[str, Piece] = field(default_factory=dict)
    first_button: Point | None = None
    button_in_stand: bool = False
    laid_on: bool = False
    facing: str = "cut on"
    standing: Standing | None = None
