"""The figures of ``data/in_space.toml``, in centimetres, radians and shares."""

from __future__ import annotations

from collections.abc import Mapping

from drafting.library import read_figures


def space_figures() -> Mapping[str, float]:
    """Every figure by its name."""
    return read_figures("in_space")
