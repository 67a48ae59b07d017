"""What the fittings of a card change in its next draft, and the notes that say so.

Several things seen may turn the same knob; they add up, within what the knob allows. Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any

from blocks.neckline.neckline import Neckline
from blocks.neckline.on_block import NeckChange
from collars.drafts import CollarBase
from collars.falls.from_shoulders import fall_rise_by
from collars.lapels.roll_line import swing_of
from collars.parameters import collar_sheet, resolve_parameters
from collars.registry import COLLARS
from collars.stands.from_neck import chosen_rise
from drafting.errors import DataError, DraftError, Problem
from drafting.library import TomlText, read_data
from drafting.sentences import DOWN, Sentence, keep_values, length
from garment.wishes import Commission, ToileWish

# ---- What is seen at a fitting, in the trade's words: the table ``data/toile.toml``


@dataclass(frozen=True, slots=True)
class Knob:
    """Something of the draft that a fitting may turn: ``up`` and ``down`` say what more and less
    of it does, ``most`` is how far all fittings together may turn it (cm)."""

    key: str
    up: str
    down: str
    most: float

    @property
    def collar(self) -> str:
        """The collar's parameter it is; empty when it is of the bodice."""
        room, _, name = self.key.partition(".")
        return name if room == "collar" else ""

    def said(self, amount: float) -> str:
        """A turn of it in words (cm)."""
        return f"{self.up if amount >= 0.0 else self.down} {length(abs(amount), places=2)}"


@dataclass(frozen=True, slots=True)
class Seen:
    """Words for something seen at a fitting.

    ``amount`` says what the number with them means, ``usual`` (cm) stands when none is given,
    ``most`` is the largest. ``changes`` holds, for each change, knobs and how far each is turned
    for one centimetre; of one change only the first knob that the order has is turned.
    """

    words: str
    amount: str
    usual: float
    most: float
    changes: tuple[Mapping[str, float], ...]
    source: str


@dataclass(frozen=True, slots=True)
class FittingWords:
    """The whole table."""

    knobs: Mapping[str, Knob]
    seen: Mapping[str, Seen]


@cache
def fitting_words() -> FittingWords:
    """The table that came with Neckarc. Raises :class:`DataError`."""
    return read_words(read_data("toile"))


def plain_words(text: str) -> str:
    """Words as the table has them: small letters, single blanks, no full stop, armhole for scye."""
    return " ".join(text.casefold().split()).rstrip(".!").replace("scye", "armhole")


def read_words(toml: TomlText) -> FittingWords:
    """The table from its text. Raises :class:`DataError` listing all that is wrong with it."""
    problems: list[Problem] = []
    knobs: dict[str, Knob] = {}
    seen: dict[str, Seen] = {}
    for key, row in toml.values.get("knob", {}).items():
        try:
            knobs[key] = Knob(key, row["up"], row["down"], float(row["most"]))
        except (KeyError, TypeError, ValueError) as error:
            problems.append(_wrong(error, toml.place("knob", key), key))
    for words, row in toml.values.get("seen", {}).items():
        try:
            seen[words] = _seen(words, row, knobs)
        except (KeyError, TypeError, ValueError) as error:
            problems.append(_wrong(error, toml.place("seen", words), words))
    if problems:
        raise DataError(problems)
    return FittingWords(MappingProxyType(knobs), MappingProxyType(seen))


def _seen(words: str, row: Any, knobs: Mapping[str, Knob]) -> Seen:
    usual, most = float(row["usual"]), float(row["most"])
    if not 0.0 < usual <= most:
        raise ValueError("usual lies above 0 and not over most")
    if words != plain_words(words):
        raise ValueError("the words are written small, with single blanks")
    for change in row["changes"]:
        if strange := [key for key in change if key not in knobs]:
            raise ValueError(f"there is no such knob: {', '.join(strange)}")
        if len(change) > 1 and not all(knobs[key].collar for key in change):
            raise ValueError("only knobs of the collar stand in for each other")
    changes = tuple(
        MappingProxyType({key: float(per) for key, per in change.items()})
        for change in row["changes"]
    )
    return Seen(words, Sentence(row["amount"]), usual, most, changes, Sentence(row["source"]))


def _wrong(error: Exception, place: str, key: str) -> Problem:
    said = f"{error} is missing" if isinstance(error, KeyError) else str(error)
    return Problem(said, place, key)


_NONE: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Observation:
    """What one thing seen turns in an order: each knob and how far (cm), none when the order has
    nothing to turn for it; ``said`` tells it in words."""

    seen: ToileWish
    turns: tuple[tuple[Knob, float], ...]
    said: str


@dataclass(frozen=True, slots=True)
class Fitted:
    """Every knob the fittings turn and by how much in all (cm), and what is to be said of it."""

    turned: Mapping[str, float] = field(default_factory=lambda: _NONE)
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        keep_values(self, "notes")

    @property
    def neck(self) -> NeckChange:
        """The move of the fitted neckline."""
        return NeckChange(
            self.turned.get("neck.front_raise", 0.0),
            self.turned.get("neck.side_shift", 0.0),
            self.turned.get("neck.back_lower", 0.0),
        )

    @property
    def neck_ease(self) -> float:
        """How much longer the whole neckline is to be."""
        return self.turned.get("neck.ease", 0.0)

    @property
    def ease(self) -> Mapping[str, float]:
        """What is added to the ease, by the names of ``blocks.body.ease.Ease``."""
        return self._room("ease")

    @property
    def collar(self) -> Mapping[str, float]:
        """What is added to the collar's parameters."""
        return self._room("collar")

    def _room(self, name: str) -> Mapping[str, float]:
        return {
            key.removeprefix(f"{name}."): amount
            for key, amount in self.turned.items()
            if key.startswith(f"{name}.")
        }


def fitted(card: Commission) -> Fitted:
    """What the fittings of a card come to. Raises :class:`DraftError` when they turn a knob
    farther than it goes."""
    if not card.toile:
        return Fitted()
    all_heard = heard(card)
    shares = _shares(all_heard)
    notes = [
        f"Fitting of {one.seen.date.isoformat()}, {one.seen.seen}: {one.said}." for one in all_heard
    ]
    turned = {key: sum(amounts) for key, amounts in shares.items()}
    _check(fitting_words(), turned)
    return Fitted(MappingProxyType(turned), (*notes, *together(all_heard)))


def heard(card: Commission) -> tuple[Observation, ...]:
    """What each thing seen at the fittings of a card turns, however far."""
    return tuple(_heard(card, one) for one in card.toile)


def inapplicable_words(card: Commission) -> tuple[str, ...]:
    """The words for which the order of a card has nothing to turn."""
    return tuple(
        words
        for words, seen in fitting_words().seen.items()
        if not any(_knob(card, change) for change in seen.changes)
    )


def together(all_heard: Iterable[Observation]) -> tuple[str, ...]:
    """What several things seen come to where they turn the same knob, and where they pull against
    each other, in sentences."""
    return tuple(_together(fitting_words(), _shares(all_heard)))


def fitted_collar(
    kind: str, wishes: Mapping[str, float | str], more: Mapping[str, float], neckline: Neckline
) -> dict[str, float | str]:
    """The wishes of a collar with what the fittings add to what stands there.

    Raises :class:`DraftError` where that is more or less than the parameter may be.
    """
    found = dict(wishes)
    if "rise" in more and "rise_by" in collar_sheet(kind).parameters:
        found = _written_rise(kind, found, neckline)
    values, _ = resolve_parameters(kind, found)
    # points that were seen to spread did so with the rise as it was: a new one would undo the lean
    if more.keys() & {"fall_rise", "point_lean"} and "fall_rise_by" in values.given:
        found = _written_fall(kind, found, neckline)
        values, _ = resolve_parameters(kind, found)
    problems = []
    for key, amount in more.items():
        stands = values.number(key)
        if key == "swing":
            stands = swing_of(neckline, values)
        rule = collar_sheet(kind).rules[key]
        found[key] = stands + amount
        if not rule.low - 1e-9 <= stands + amount <= rule.high + 1e-9:
            problems.append(
                Problem(
                    f"the fittings would turn {key} from {length(stands, places=2)} to "
                    f"{length(stands + amount, places=2)}",
                    key="toile",
                    accepted=rule.allowed,
                    advice="Give a smaller amount, or write another "
                    f"{key} under [collar] and take the fitting away.",
                )
            )
    if problems:
        raise DraftError(problems)
    return found


def _written_rise(
    kind: str, wishes: dict[str, float | str], neckline: Neckline
) -> dict[str, float | str]:
    """The wishes with the rise they come to written as a number, so that a fitting can turn it:
    what was seen outranks what was reckoned."""
    values, _ = resolve_parameters(kind, wishes)
    ends_short = "gap" in values.given and values.word("ends") == "short"
    chosen = chosen_rise(kind, neckline, wishes, values.number("gap") if ends_short else 0.0)
    if chosen.problems:
        return wishes  # refused by the draft itself, with the reason
    return {**chosen.wishes, "rise_by": "number"}


def _written_fall(
    kind: str, wishes: dict[str, float | str], neckline: Neckline
) -> dict[str, float | str]:
    """The same with the rise of the fall."""
    kept = {key: value for key, value in wishes.items() if key != "fall_rise"}
    values, _ = resolve_parameters(kind, wishes)
    by = fall_rise_by(neckline, values)
    if by == "number":
        return {**wishes, "fall_rise_by": by}
    if by == "shoulders":
        try:
            kept["fall_rise"] = (
                COLLARS[kind].draft(CollarBase(neckline), wishes).numbers["fall_rise"]
            )
        except DraftError:
            return wishes  # refused by the draft itself, with the reason
    return {**kept, "fall_rise_by": "number"}


def _heard(card: Commission, one: ToileWish) -> Observation:
    words = fitting_words()
    turns = []
    for change in words.seen[one.seen].changes:
        key = _knob(card, change)
        if key:
            turns.append((words.knobs[key], change[key] * one.amount))
    said = ", and ".join(knob.said(amount) for knob, amount in turns)
    return Observation(one, tuple(turns), said or _idle(card, one))


def _knob(card: Commission, change: Mapping[str, float]) -> str:
    """The first knob of a change that this order has; empty when it has none."""
    knobs = fitting_words().knobs
    return next((key for key in change if _has(card, knobs[key])), "")


def _shares(all_heard: Iterable[Observation]) -> Mapping[str, list[float]]:
    """By how much each knob is turned by each thing seen (cm)."""
    shares: dict[str, list[float]] = {}
    for one in all_heard:
        for knob, amount in one.turns:
            shares.setdefault(knob.key, []).append(amount)
    return shares


def _has(card: Commission, knob: Knob) -> bool:
    if knob.collar:
        kind = card.collar.kind
        return kind != "none" and knob.collar in collar_sheet(kind).parameters
    if card.neckline.from_tape:
        return False
    return knob.key != "neck.ease" or card.neckline.fit != "none"


def _idle(card: Commission, one: ToileWish) -> str:
    """Why nothing was changed for something seen."""
    words = fitting_words()
    of_collar = any(
        words.knobs[key].collar for change in words.seen[one.seen].changes for key in change
    )
    if of_collar and card.collar.kind != "none":
        return f"nothing is changed: the {card.collar.kind} collar has nothing to change for it"
    if of_collar:
        return "nothing is changed: this order has no collar"
    if card.neckline.from_tape:
        return "nothing is changed: the neckline was taped; change the paper block"
    return "nothing is changed: the neckline is not fitted to the neck, write another fit"


def _together(words: FittingWords, shares: Mapping[str, list[float]]) -> Iterator[str]:
    for key, amounts in shares.items():
        if len(amounts) < 2:
            continue
        against = min(amounts) < 0.0 < max(amounts)
        total = sum(amounts)
        said = words.knobs[key].said(total)
        if abs(total) < 0.005:
            said = said.rpartition(" by ")[0].replace(" is ", " is not ") + ": they cancel out"
        head = "These fittings pull against each other; together" if against else "Together"
        yield f"{head}: {said}."


def _check(words: FittingWords, turned: Mapping[str, float]) -> None:
    problems = [
        Problem(
            f"the fittings go too far: {words.knobs[key].said(amount)}",
            key="toile",
            accepted=f"up to {length(words.knobs[key].most, places=2, rounding=DOWN)} in all",
            advice="Measure her again; then remove the old fittings.",
        )
        for key, amount in turned.items()
        if abs(amount) > words.knobs[key].most + 1e-9
    ]
    if problems:
        raise DraftError(problems)
