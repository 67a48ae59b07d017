"""What can go wrong, said so that the maker can mend it.

One root, :class:`NeckarcError`; each leaf also inherits the builtin it resembles.
A draft that merely looks wrong is no error: checks report it (see ``drafting.pieces.checks``).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drafting.sentences import Sentence, keep_values, written
from drafting.units import LengthUnit


@dataclass(frozen=True, slots=True)
class Problem:
    """One mistake in something a person wrote.

    ``place`` is where (``anna.toml:7``), ``key`` what it is called there, ``got`` what stands
    there, ``accepted`` what may stand there, ``advice`` what to do. Any may be empty but ``said``.
    """

    said: str
    place: str = ""
    key: str = ""
    got: str = ""
    accepted: str = ""
    advice: str = ""

    def __post_init__(self) -> None:
        keep_values(self, "said", "got", "accepted", "advice")

    def written(self, unit: LengthUnit) -> Problem:
        """The same problem with every length in ``unit``."""
        return Problem(
            written(self.said, unit),
            self.place,
            self.key,
            written(self.got, unit),
            written(self.accepted, unit),
            written(self.advice, unit),
        )

    @property
    def told(self) -> Sentence:
        """All of it as one sentence."""
        head = ": ".join(part for part in (self.place, self.key) if part)
        text = f"{head}: {self.said}" if head else f"{self.said}"
        if self.got:
            text += f" (found {self.got})"
        if self.accepted:
            text += f"; accepted: {self.accepted}"
        if self.advice:
            text += f". {self.advice}"
        return Sentence(text)

    def __str__(self) -> str:
        return str(self.told)


class NeckarcError(Exception):
    """The root of every error Neckarc raises on purpose. ``problems`` lists all that is wrong."""

    def __init__(self, problems: str | Problem | Iterable[Problem]) -> None:
        if isinstance(problems, str):
            found: tuple[Problem, ...] = (Problem(problems),)
        elif isinstance(problems, Problem):
            found = (problems,)
        else:
            found = tuple(problems)
        self.problems = found
        super().__init__("\n".join(str(problem) for problem in found))

    @property
    def told(self) -> Sentence:
        """All that is wrong, a line each."""
        return Sentence("\n".join(f"{problem.told}" for problem in self.problems))

    def __reduce__(self) -> tuple[type[NeckarcError], tuple[tuple[Problem, ...]]]:
        return (type(self), (self.problems,))


class DataError(NeckarcError, ValueError):
    """A data file that came with Neckarc, or a method file, cannot be used."""


class FormulaError(NeckarcError, ValueError):
    """A formula cannot be read, or its units or names do not fit."""


class CardError(NeckarcError, ValueError):
    """A client card has mistakes; ``problems`` lists every one."""


class DraftError(NeckarcError, ValueError):
    """What was asked cannot be drafted at all; the message says what would."""


class SheetError(NeckarcError, OSError):
    """A file or folder cannot be written; the old state is intact."""
