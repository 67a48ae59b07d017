"""What can go wrong at the desk itself."""

from __future__ import annotations

from drafting.errors import NeckarcError


class DeskError(NeckarcError, ValueError):
    """What the page sent cannot be used."""
