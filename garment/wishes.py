"""What a client card asks for: garment, neckline, collar and what was seen at a fitting, in
centimetres and radians."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from drafting.units import LengthUnit


@dataclass(frozen=True, slots=True)
class GarmentWish:
    """What is to be drafted (cm). ``button_stand`` is beyond centre front; 0: cut on the fold;
    ``None``: what the buttons need.

    ``allowances`` holds only the edges that differ from ``seam_allowance``; ``asked`` what the
    card asks for by table of ``data/garment.toml``.
    """

    method: str
    button_stand: float | None = None
    seam_allowance: float = 1.0
    allowances: Mapping[str, float] = field(default_factory=dict)
    asked: Mapping[str, Mapping[str, float | str]] = field(default_factory=dict)

    def allowance(self, edge: str) -> float:
        """The seam allowance of ``edge`` (cm)."""
        return self.allowances.get(edge, self.seam_allowance)


@dataclass(frozen=True, slots=True)
class NecklineWish:
    """How the neckline is to lie (cm).

    ``fit`` is the correction to apply (``none``, ``front``, ``side``, ``both``); ``ease`` is of the
    whole neckline over the neck base girth. ``style`` holds what the card asks of a style neckline:
    ``shape``, and ``front_lower``, ``side_widen`` and ``back_lower``, which move it away from the
    neck. The arcs are half a neckline taped on a paper block, ``None`` without.
    """

    fit: str = "both"
    ease: float = 0.5
    style: Mapping[str, float | str] = field(default_factory=dict)
    back_arc: float | None = None
    front_arc: float | None = None

    @property
    def from_tape(self) -> bool:
        """Whether the arcs were taped on a paper block, so that no body is needed."""
        return self.back_arc is not None and self.front_arc is not None


@dataclass(frozen=True, slots=True)
class CollarWish:
    """The collar asked for. ``kind`` is ``none`` or a collar's name.

    ``raw`` is what stands in the card, ``values`` the same in centimetres and radians; neither
    holds what was left out.
    """

    kind: str = "none"
    raw: Mapping[str, float | str] = field(default_factory=dict)
    values: Mapping[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ToileWish:
    """What was seen at a fitting: the day, the words of ``data/toile.toml``, and the amount that
    goes with them (cm); the usual one when the card gives none."""

    date: datetime.date
    seen: str
    amount: float


@dataclass(frozen=True, slots=True)
class Commission:
    """One client card without mistakes. ``measurements`` holds what was taken (cm, radians),
    ``toile`` what was seen at her fittings, ``written`` the keys that stand in it
    (``neckline.fit``)."""

    name: str
    client: str
    date: datetime.date
    unit: LengthUnit
    order: str
    notes: str
    measurements: Mapping[str, float]
    garment: GarmentWish
    neckline: NecklineWish
    collar: CollarWish
    toile: tuple[ToileWish, ...] = ()
    written: frozenset[str] = frozenset()
