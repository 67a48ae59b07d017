"""Checks: every one a measured value against a target, with a verdict and advice. One list, one
shape, used on screen, on paper, in files and in tests."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from drafting.sentences import keep_values


class Verdict(StrEnum):
    """What a check says. Only ``FAIL`` stops cutting."""

    PASS = "pass"
    NOTE = "note"
    FAIL = "fail"


@dataclass(frozen=True, slots=True)
class Check:
    """One check. ``measured``, ``target`` and ``tolerance`` share ``unit`` (``cm`` or ``deg``,
    degrees for people); ``least`` says that more than the target is as good. ``where`` names piece
    and edge, ``advice`` what to do."""

    name: str
    measured: float
    target: float
    tolerance: float
    verdict: Verdict
    advice: str = ""
    where: str = ""
    unit: str = "cm"
    source: str = ""
    least: bool = False

    def __post_init__(self) -> None:
        keep_values(self, "name", "advice", "where", "source")

    @property
    def off(self) -> float:
        """Measured minus target."""
        return self.measured - self.target


def within(
    name: str,
    measured: float,
    target: float,
    tolerance: float,
    *,
    advice: str = "",
    where: str = "",
    unit: str = "cm",
    source: str = "",
) -> Check:
    """A check that passes when ``measured`` is within ``tolerance`` of ``target``."""
    good = abs(measured - target) <= tolerance
    verdict = Verdict.PASS if good else Verdict.FAIL
    return Check(
        name, measured, target, tolerance, verdict, "" if good else advice, where, unit, source
    )


def at_least(
    name: str,
    measured: float,
    least: float,
    *,
    advice: str = "",
    where: str = "",
    unit: str = "cm",
    source: str = "",
) -> Check:
    """A check that passes when ``measured`` is ``least`` or more (tolerance 0)."""
    good = measured >= least
    verdict = Verdict.PASS if good else Verdict.FAIL
    advice = "" if good else advice
    return Check(name, measured, least, 0.0, verdict, advice, where, unit, source, least=True)


def heaviest_first(checks: Iterable[Check]) -> list[Check]:
    """Failed ones first, then those to look at, then the rest."""
    rank = {Verdict.FAIL: 0, Verdict.NOTE: 1, Verdict.PASS: 2}
    return sorted(checks, key=lambda check: rank[check.verdict])


def failed(checks: tuple[Check, ...]) -> tuple[Check, ...]:
    """Those that failed."""
    return tuple(check for check in checks if check.verdict is Verdict.FAIL)
