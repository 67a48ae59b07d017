"""The front edge and the hem: the figures of the trade, the width of a button stand, the depth of
a hem. Centimetres."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from drafting.errors import DraftError, Problem
from drafting.library import read_data
from drafting.parameters import lies_within
from drafting.sentences import length, span

#: Rules for the width of a button stand; see ``data/front_edge.toml``.
STAND_RULES = "three quarters", "half"


@cache
def figures(part: str) -> Mapping[str, float]:
    """The usual figures of a part: ``button_stand``, ``button``, ``buttonholes``, ``facing``,
    ``hem``; see ``data/front_edge.toml``."""
    rows = read_data("front_edge").values[part]
    return MappingProxyType({key: float(row["value"]) for key, row in rows.items()})


def check_button(button: float) -> tuple[Problem, ...]:
    """What is wrong with a button's diameter."""
    least, most = figures("button")["least"], figures("button")["most"]
    if lies_within(button, least, most):
        return ()
    return (
        Problem(
            "this button size is not made",
            key="button",
            got=f"{length(button, places=2)} across",
            accepted=span(least, most),
        ),
    )


def button_stand_for(button: float, rule: str = "three quarters") -> float:
    """Width of the button stand beyond centre front for a button of this diameter.

    ``three quarters``: three quarters of the diameter and 0.75 (studopedia.ru/26_91401, 0.5 to 1);
    ``half``: half of it and 1.27 (sewdaily.com, sailor collar). Raises :class:`DraftError` for a
    button of no usual size or an unknown rule.
    """
    problems = list(check_button(button))
    if rule not in STAND_RULES:
        problems.append(
            Problem(
                "there is no such rule for a button stand",
                got=rule,
                accepted=" or ".join(STAND_RULES),
            )
        )
    if problems:
        raise DraftError(problems)
    known = figures("button_stand")
    key = rule.replace(" ", "_")
    return button * known[f"{key}_share"] + known[f"{key}_more"]


def hem_depth(depth: float | None = None) -> tuple[float, tuple[str, ...]]:
    """The allowance to turn up at a hem, the usual one when none is asked for, with notes.

    It is meant for :func:`blocks.bodice.making_up.with_allowances`, for the ``HEM`` edge. Raises
    :class:`DraftError` for a depth no hem has.
    """
    known = figures("hem")
    if depth is None:
        return known["usual"], ()
    if not lies_within(depth, 0.0, known["most"]):
        raise DraftError(
            Problem(
                "a hem is not turned up by this",
                key="hem",
                got=length(depth),
                accepted=span(0.0, known["most"], places=0),
                advice="Face a deeper hem with a strip of its own.",
            )
        )
    low, high = known["usual_least"], known["usual_most"]
    if low <= depth <= high:
        return depth, ()
    return depth, (
        f"A hem of {length(depth)} is {'narrow' if depth < low else 'deep'} for a blouse: "
        f"{span(low, high, places=0)} is usual.",
    )
