"""What is seen at a fitting, in the trade's words: the table ``data/toile.toml``.

Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from drafting.errors import DataError, Problem
from drafting.library import TomlText, read_data
from drafting.sentences import Sentence, length


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
    """Words as the table has them: small letters, single blanks, no full stop."""
    return " ".join(text.casefold().split()).rstrip(".!")


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
        raise ValueError("usual lies above nought and not over most")
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
