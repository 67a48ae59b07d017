"""What may be asked of a collar: its rules in ``data/collars``, and the values resolved by them."""

from __future__ import annotations

from collections.abc import Mapping

from blocks.component_parameters import (
    ComponentSheet,
    Values,
    component_sheet,
    idle_wishes,
    refuse,
    resolve,
)
from drafting.errors import Problem

__all__ = [
    "Values",
    "collar_sheet",
    "idle_parameters",
    "refuse",
    "resolve_parameters",
]


def collar_sheet(kind: str) -> ComponentSheet:
    """The data file of a kind of collar (``two-piece shirt``). Raises :class:`DataError`."""
    return component_sheet("collar", kind)


def resolve_parameters(
    kind: str, wishes: Mapping[str, float | str]
) -> tuple[Values, list[Problem]]:
    """All parameters of a collar, and what cannot stand of the wishes; see
    :func:`blocks.component_parameters.resolve`."""
    return resolve(collar_sheet(kind), wishes)


def idle_parameters(kind: str, wishes: Mapping[str, float | str]) -> Mapping[str, str]:
    """Which wishes of a collar change nothing beside its others, each with why."""
    return idle_wishes(collar_sheet(kind), wishes)
