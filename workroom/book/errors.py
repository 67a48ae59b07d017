"""What can go wrong with the client book."""

from __future__ import annotations

from drafting.errors import NeckarcError


class BookError(NeckarcError, OSError):
    """The book cannot be opened, read or written; what was in it is still there."""


class BookConflictError(NeckarcError, ValueError):
    """Another window saved meanwhile; nothing was overwritten."""


class NotInBookError(NeckarcError, LookupError):
    """There is no such client, order or measurement set in the book."""
