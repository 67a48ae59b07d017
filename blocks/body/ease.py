"""How loose the garment is to hang: ease by name, every number of it open to change.

A named choice (``data/ease.toml``) says how much the whole garment is wider than the body; a
method draws with what it adds to or takes from its own published ease. Without a choice each
method draws exactly as published. Lengths in centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from types import MappingProxyType

from drafting.errors import DraftError, Problem
from drafting.library import read_data
from drafting.parameters import lies_within
from drafting.sentences import SHORT, length, span

#: What a method reads of the ease beside the measurements, all nought without a choice.
EASE_INPUTS = (
    "bust_ease_more",
    "waist_ease_more",
    "back_width_more",
    "front_width_more",
    "scye_lower",
    "shoulder_more",
    "shoulder_lift",
)


_NO_NUMBERS = ("named", "more")


@dataclass(frozen=True, slots=True)
class EaseWish:
    """The ease that is asked for: a ``named`` choice ("" for the method's own) and any number to
    stand in place of that choice's, ``None`` to leave it. The numbers are those of :class:`Ease`;
    ``more`` is added to what they come to, as a fitting asks for it.
    """

    named: str = ""
    bust: float | None = None
    waist: float | None = None
    hip: float | None = None
    scye: float | None = None
    back_width: float | None = None
    front_width: float | None = None
    shoulder: float | None = None
    shoulder_lift: float | None = None
    more: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ease:
    """Settled ease, centimetres.

    ``bust``, ``waist`` and ``hip`` are over the body round the whole garment; ``scye`` is how far
    the underarm point lies below the method's own (negative: above), ``back_width`` and
    ``front_width`` how far the half width lines lie outside the method's own, ``shoulder`` how
    much longer the shoulder is and ``shoulder_lift`` how far its outer end is raised.
    ``published_bust`` and ``published_waist`` are the method's own ease.
    """

    named: str
    bust: float
    waist: float
    hip: float
    scye: float
    back_width: float
    front_width: float
    shoulder: float
    shoulder_lift: float
    published_bust: float
    published_waist: float

    @property
    def inputs(self) -> Mapping[str, float]:
        """What the method's formulas read, by the names of ``EASE_INPUTS``."""
        values = (
            self.bust - self.published_bust,
            self.waist - self.published_waist,
            self.back_width,
            self.front_width,
            self.scye,
            self.shoulder,
            self.shoulder_lift,
        )
        return MappingProxyType(dict(zip(EASE_INPUTS, values, strict=True)))

    @property
    def chosen(self) -> bool:
        """Whether anything differs from what the method publishes."""
        return bool(self.named) or any(self.inputs.values())


def ease_names() -> tuple[str, ...]:
    """The named choices, close to loose."""
    return tuple(read_data("ease").values["named"])


@cache
def named_ease(named: str) -> Mapping[str, float]:
    """The numbers of a named choice. Raises :class:`DraftError` naming the choices there are."""
    table = read_data("ease").values["named"]
    if named not in table:
        raise DraftError(
            Problem(
                "there is no such ease",
                key="garment.ease.named",
                got=repr(named),
                accepted=", ".join(table),
                advice="Choose one of these, or leave it out for the method's own.",
            )
        )
    return MappingProxyType({key: float(row["value"]) for key, row in table[named].items()})


def settle_ease(wish: EaseWish, *, bust: float, waist: float) -> Ease:
    """The ease a wish comes to for a method whose own is ``bust`` and ``waist`` (cm, whole).

    Of what the bust line gains or loses the width lines take the shares of ``data/ease.toml``
    unless the wish says otherwise. Raises :class:`DraftError` listing every number that is out of
    its range.
    """
    data = read_data("ease").values
    known = {"bust": bust, "waist": waist, "hip": float(data["own"]["hip"]["value"])}
    known |= {"scye": 0.0, "shoulder": 0.0, "shoulder_lift": 0.0}
    if wish.named:
        known |= named_ease(wish.named)
    known |= _numbers(wish)
    known["bust"] += wish.more.get("bust", 0.0)
    more = (known["bust"] - bust) / 2.0
    for key in ("back_width", "front_width"):
        known.setdefault(key, float(data["shares"][key]["value"]) * more)
    for key, amount in wish.more.items():
        known[key] += amount if key != "bust" else 0.0
    _check({f"garment.ease.{key}": (key, value) for key, value in _numbers(wish).items()})
    _check({f"toile ({key})": (key, known[key]) for key in wish.more})
    return Ease(
        named=wish.named, published_bust=bust, published_waist=waist, **_only_settled(known)
    )


def _numbers(wish: EaseWish) -> dict[str, float]:
    found = {f.name: getattr(wish, f.name) for f in fields(wish) if f.name not in _NO_NUMBERS}
    return {key: value for key, value in found.items() if value is not None}


def _only_settled(known: Mapping[str, float]) -> dict[str, float]:
    return {f.name: known[f.name] for f in fields(Ease) if f.name in known}


def _check(asked: Mapping[str, tuple[str, float]]) -> None:
    """Numbers by where they were asked for, each with its name, against its limits."""
    limits = read_data("ease").values["limits"]
    problems = []
    for place, (key, value) in asked.items():
        low, high = (float(limits[key][end]) for end in ("least", "most"))
        if not lies_within(value, low, high):
            problems.append(
                Problem(
                    "this is not an ease that can be worn",
                    key=place,
                    got=length(value),
                    accepted=span(low, high, places=SHORT),
                    advice=limits[key]["advice"],
                )
            )
    if problems:
        raise DraftError(problems)
