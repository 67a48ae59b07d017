"""Where the book lies: in the user's own data folder, or where ``NECKARC_BOOK`` says."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_path

#: Names another file for the book.
VARIABLE = "NECKARC_BOOK"


def book_path() -> Path:
    """The book of this user."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else user_data_path("neckarc", appauthor=False) / "clients.db"
