"""What may be asked of the darts, and the places where they may open (``data/darts.toml``)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from math import inf
from types import MappingProxyType

from blocks.edges import EdgeName
from drafting.errors import DraftError, Problem
from drafting.library import read_data
from drafting.parameters import lies_within
from drafting.pieces.piece import Piece
from drafting.sentences import keep_values, length, span

#: The bust dart as a method drafts it.
DRAFTED = "scye"
BACKS = ("shoulder", "neckline", "scye", "ease")
WAISTS = ("taken in", "left open")


@dataclass(frozen=True, slots=True)
class DartWish:
    """Where the darts are wanted.

    ``bust`` is the seam of the bust dart (see :func:`front_places`), ``second`` another one that
    takes what ``share`` leaves (empty for none); ``at`` the place in the first, as a share of the
    sewn seam from the end that ``data/darts.toml`` names, ``None`` for the usual one; ``held_back``
    (cm) how far before the bust point they end. ``back`` is the seam of the back shoulder dart or
    ``ease``, ``waist`` whether the waist darts are ``taken in`` or ``left open``.
    """

    bust: str = DRAFTED
    second: str = ""
    share: float = 1.0
    at: float | None = None
    held_back: float = 2.0
    back: str = "shoulder"
    waist: str = "taken in"

    @property
    def moves_bust_dart(self) -> bool:
        """Whether anything is asked of the bust dart."""
        return replace(DartWish(), back=self.back, waist=self.waist) != self


@dataclass(frozen=True, slots=True)
class Arranged:
    """Back and front with their darts as wished. ``shoulder_ease`` (cm) is what the back shoulder
    has more than before, to be eased on to the front one."""

    back: Piece
    front: Piece
    shoulder_ease: float
    notes: tuple[str, ...]
    wish: DartWish = DartWish()

    def __post_init__(self) -> None:
        keep_values(self, "notes")


@dataclass(frozen=True, slots=True)
class SeamPlace:
    """Where on a seam a dart may open; ``usual`` is a share of it, 0 where the draft decides, and
    ``most`` how far (cm) from the named end the usual place lies at most."""

    edge: EdgeName
    counted_from: str
    against: bool
    usual: float
    most: float = inf

    def usually(self, piece: Piece) -> float:
        """Arc length (cm) along the sewn seam, in ring order, of the usual place."""
        whole = piece.length(self.edge)
        return self.along(piece, min(self.usual, self.most / whole))

    def along(self, piece: Piece, share: float) -> float:
        """Arc length (cm) along the sewn seam, in ring order, of a share from its named end."""
        whole = piece.length(self.edge)
        return whole * ((1.0 - share) if self.against else share)

    def said(self, piece: Piece, along: float) -> str:
        """The place in words: ``side seam, 5.4 cm from the underarm point``."""
        whole = piece.length(self.edge)
        distance = whole - along if self.against else along
        return f"{self.edge}, {length(distance)} from {self.counted_from}"


@cache
def front_places() -> Mapping[str, SeamPlace]:
    """The seams in which a bust dart may open, by the words a card uses."""
    return _places("front")


@cache
def back_places() -> Mapping[str, SeamPlace]:
    """The seams to which the back shoulder dart may be moved."""
    return _places("back")


@cache
def limits() -> Mapping[str, float]:
    """How far darts may be moved and held back."""
    rows = read_data("darts").values["limits"]
    return MappingProxyType({key: float(row["value"]) for key, row in rows.items()})


def _places(half: str) -> Mapping[str, SeamPlace]:
    rows = read_data("darts").values[half]
    return MappingProxyType(
        {
            word: SeamPlace(
                EdgeName(row["edge"]),
                row["from"],
                row["against"],
                float(row["usual"]["value"]),
                float(row["most"]["value"]) if "most" in row else inf,
            )
            for word, row in rows.items()
        }
    )


def check_wish(wish: DartWish) -> None:
    """Raises :class:`DraftError` with everything in a wish that no piece could fulfil."""
    known, places = limits(), tuple(front_places())
    problems = []
    for key, word, accepted in (
        ("bust", wish.bust, places),
        ("second", wish.second, ("", *places)),
        ("back", wish.back, BACKS),
        ("waist", wish.waist, WAISTS),
    ):
        if word not in accepted:
            problems.append(
                Problem(
                    "this is not one of the choices",
                    key=f"garment.darts.{key}",
                    got=f'"{word}"',
                    accepted=", ".join(f'"{choice}"' for choice in accepted if choice),
                )
            )
    least, most = known["held_back_least"], known["held_back_most"]
    if not lies_within(wish.held_back, least, most):
        problems.append(
            Problem(
                "the bust dart ends too near the bust point, or too far from it",
                key="garment.darts.held_back",
                got=length(wish.held_back),
                accepted=span(least, most),
            )
        )
    if wish.second and wish.second == wish.bust:
        problems.append(
            Problem(
                "both darts would open in one seam",
                key="garment.darts.second",
                got=f'"{wish.second}"',
                advice="Choose another seam for the second, or leave it out.",
            )
        )
    low, high = known["share_least"], known["share_most"]
    if wish.second and not lies_within(wish.share, low, high):
        problems.append(
            Problem(
                "with a second seam the first takes a share of the bust dart",
                key="garment.darts.share",
                got=f"{wish.share:g}",
                accepted=f"{low:g} to {high:g}",
            )
        )
    if not wish.second and wish.share != 1.0:
        problems.append(
            Problem(
                "a share of the bust dart is left without a seam",
                key="garment.darts.share",
                got=f"{wish.share:g}",
                accepted="1",
                advice="Name a second seam for the rest.",
            )
        )
    if wish.at is not None and not 0.0 < wish.at < 1.0:
        problems.append(
            Problem(
                "the place of the dart is a share of its seam",
                key="garment.darts.at",
                got=f"{wish.at:g}",
                accepted="between 0 and 1",
            )
        )
    if problems:
        raise DraftError(problems)
