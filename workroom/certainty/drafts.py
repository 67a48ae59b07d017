"""The whole draft as a pure function of the roots, and what can be read off it as numbers.

Centimetres and radians; the numbers of checks are in the check's own unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from blocks.body import Body, complete, rules_used
from blocks.measures import measurements
from blocks.neckline import Neckline
from collars.drafts import CollarDraft, Ground
from collars.registry import COLLARS
from drafting.checks import Check
from drafting.points import FloatArray
from workroom.certainty.readings import TAPED
from workroom.order import Garment, draft_collar, make_garment
from workroom.wishes import Commission

Numbers = Mapping[str, float]


def moved_body(taken: Mapping[str, float], moves: Mapping[str, float]) -> Body:
    """The body when the roots move: measurements taken by so much, estimated ones away from their
    rules by so much, what is estimated from either going along."""
    body = complete(taken)
    values = {key: value + moves.get(key, 0.0) for key, value in taken.items()}
    for key, rule in rules_used(taken).items():
        values[key] = rule.value(values) + moves.get(key, 0.0)
    ordered = {key: values[key] for key in measurements() if key in values}
    return Body(ordered, body.estimated)


def order_at(card: Commission, moves: Mapping[str, float]) -> Garment:
    """The order drafted anew with its roots moved. Raises :class:`DraftError`."""
    if not card.neckline.from_tape:
        return make_garment(card, moved_body(card.measurements, moves))
    arcs = {key: getattr(card.neckline, key) + moves.get(key, 0.0) for key in TAPED}
    taken = {key: value + moves.get(key, 0.0) for key, value in card.measurements.items()}
    return make_garment(
        replace(card, measurements=taken, neckline=replace(card.neckline, **arcs)), None
    )


def numbers_of(order: Garment) -> dict[str, float]:
    """Every number of the collar, and by how much every check's measure is off its target."""
    found = {
        f"collar.{key}": v for key, v in (order.collar.numbers if order.collar else {}).items()
    }
    return found | {key: check.off for key, check in keyed(order.checks)}


def keyed(checks: Iterable[Check]) -> list[tuple[str, Check]]:
    """Checks with keys that stay when a draft moves a little: name, and which one of that name."""
    counts: dict[str, int] = {}
    found = []
    for check in checks:
        count = counts[check.name] = counts.get(check.name, 0) + 1
        found.append((f"check.{check.name}.{count}", check))
    return found


def collar_alone(order: Garment, neckline: Neckline) -> dict[str, float]:
    """The numbers of an order's collar drafted to another neckline from its arcs alone."""
    collar = draft_collar(order.commission, Ground(neckline))
    assert collar is not None
    return collar_numbers(collar)


def collar_numbers(collar: CollarDraft) -> dict[str, float]:
    """The numbers of a collar, and how far its checks are off, by their keys."""
    found = {f"collar.{key}": value for key, value in collar.numbers.items()}
    return found | {key: check.off for key, check in keyed(collar.checks)}


def from_arcs(order: Garment) -> bool:
    """Whether the order's collar is drafted from the neckline's arcs alone."""
    return order.collar is not None and not COLLARS[order.collar.kind].needs_block


def row(numbers: Numbers, keys: Iterable[str]) -> FloatArray:
    """Numbers in the order of ``keys``, nan where there is none."""
    return np.array([numbers.get(key, np.nan) for key in keys])
