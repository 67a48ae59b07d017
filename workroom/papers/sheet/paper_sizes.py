"""Sizes of paper, read from ``data/papers.toml``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from drafting.errors import DataError, DraftError, Problem
from drafting.library import TomlText, read_data
from drafting.units import MM_PER_CM, LengthUnit, to_cm


@dataclass(frozen=True, slots=True)
class PaperSize:
    """A size of paper, upright: ``width`` and ``height`` in centimetres."""

    key: str
    title: str
    width: float
    height: float
    source: str


@cache
def paper_sizes() -> dict[str, PaperSize]:
    """All sizes by key. Raises :class:`DataError`."""
    return read_papers(read_data("papers"))


def paper_size(name: str) -> PaperSize:
    """A size by its key or title, in small or capital letters: ``A4``, ``letter``.

    Raises :class:`DraftError` for a size there is not.
    """
    wanted = name.strip().casefold()
    for size in paper_sizes().values():
        if wanted in (size.key, size.title.casefold()):
            return size
    raise DraftError(
        Problem(
            "there is no such size of paper",
            key="paper",
            got=name,
            accepted=", ".join(size.title for size in paper_sizes().values()),
        )
    )


def read_papers(text: TomlText) -> dict[str, PaperSize]:
    """A table of sizes from its text. Raises :class:`DataError` with every mistake in it."""
    problems: list[Problem] = []
    found: dict[str, PaperSize] = {}
    for key, row in text.values.items():
        sides = row.get("size_mm", row.get("size_in"))
        good = (
            isinstance(sides, list) and len(sides) == 2 and ("size_mm" in row) != ("size_in" in row)
        )
        if not good or not all(isinstance(side, int | float) and side > 0 for side in sides):
            said = "size_mm or size_in is two lengths above 0"
        elif sides[0] > sides[1]:
            said = "the short side comes first"
        elif not all(isinstance(row.get(word), str) and row[word] for word in ("title", "source")):
            said = "a size has a title and a source"
        else:
            width, height = (
                side / MM_PER_CM if "size_mm" in row else to_cm(side, LengthUnit.INCH)
                for side in sides
            )
            found[key] = PaperSize(key, row["title"], width, height, row["source"])
            continue
        problems.append(Problem(said, place=text.place(key), key=key))
    if problems:
        raise DataError(problems)
    return found
