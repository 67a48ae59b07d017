"""Small tables of orders, and what a batch left in its folder."""

from __future__ import annotations

from pathlib import Path

from workroom.folder.locks import LOCKS
from workroom.folder.record import FILE

HEAD = "client;date;order;bust_girth;waist_girth;back_waist_length;neck_base_girth;method;collar"
GOOD = "Anna Berg;2026-03-14;Blouse 1;92,5;74;39,5;36;direct-measure;two-piece shirt"
#: A neck that the method does not fit: drafted, and failed (its column ``neckline.fit`` is none).
UNFIT = "Eva Lind;2026-03-14;;92;74;39;36;bust-proportional;none"
#: Two mistakes in two columns.
WRONG = "Ida Falk;2026-03-14;;925;74;39,5;36;direct-measure;ruff"


def table(path: Path, *rows: str, head: str = HEAD) -> Path:
    """A table in a file."""
    path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
    return path


def many(path: Path, count: int) -> Path:
    """A table of good orders, all different."""
    rows = [
        f"Client {k};2026-03-14;;{90 + k % 9};7{k % 5};39;36;bust-proportional;none"
        for k in range(count)
    ]
    return table(path, *rows)


def left(into: Path) -> dict[str, bytes]:
    """Every file below a folder, hidden ones too, but locks."""
    return {
        str(path.relative_to(into)): path.read_bytes()
        for path in sorted(into.rglob("*"))
        if path.is_file() and path.name not in LOCKS
    }


def finished_in(into: Path) -> int:
    """How many orders are finished in a folder."""
    return len(list(into.glob(f"[!.]*/{FILE}")))
