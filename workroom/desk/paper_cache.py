"""The papers of orders as they were last saved: made once, then lying ready."""

from __future__ import annotations

import io
import re
import zipfile
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePath
from threading import Lock

from drafting.errors import Problem
from workroom.book.book import Book
from workroom.book.errors import NotInBookError
from workroom.folder.names import folder_name

#: Papers of so many orders lie ready.
_KEPT = 4
_EPOCH = (1980, 1, 1, 0, 0, 0)
_TYPES = {
    ".pdf": "application/pdf",
    ".dxf": "image/vnd.dxf",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".json": "application/json",
    ".txt": "text/plain; charset=utf-8",
    ".zip": "application/zip",
}
#: What papers are for; one that is not here goes by its name.
_SAID = {
    "worksheet.pdf": "Worksheet: the draft by hand",
    "order-of-making.pdf": "Order of making",
    "report.pdf": "Report for her file",
    "pieces.svg": "The pieces at true size",
    "pieces.png": "A picture of the pieces",
    "drawing.dxf": "The pieces for any CAD",
    "splines.dxf": "The pieces for a CAD that edits true curves",
    "interchange.dxf": "The pieces for apparel CAD, one block each",
    "one-sheet.pdf": "The pieces on one sheet, for a copy shop",
    "cutting-list.txt": "Cutting list, and how much cloth to buy",
    "checks.txt": "Every check",
    "report.json": "Every number, for other programs",
}
_SIZED = (
    (re.compile(r"pages-a4\.pdf"), "The pieces on pages of A4, to be joined"),
    (re.compile(r"pages-(\w+)\.pdf"), "The pieces on pages of {0} paper, to be joined"),
    (re.compile(r"lay-(\d+)in\.svg"), "Lay plan on cloth {0} in wide"),
    (re.compile(r"lay-(.+)-(\d+)in\.svg"), "Lay plan on {0} {1} in wide"),
    (re.compile(r"lay-(\d+)\.svg"), "Lay plan on cloth {0} cm wide"),
    (re.compile(r"lay-(.+)-(\d+)\.svg"), "Lay plan on {0} {1} cm wide"),
)


@dataclass(frozen=True, slots=True)
class Papers:
    """The papers of one order: bytes by file name, the name of their folder, and why they must not
    be cut from, if so."""

    files: Mapping[str, bytes]
    folder: str
    stamp: str

    def listed(self) -> list[dict[str, str]]:
        """Name, what it is for, kind and size of each, papers to print first."""
        order = (".pdf", ".dxf", ".svg", ".png", ".txt", ".json")
        rank = {kind: k for k, kind in enumerate(order)}
        return [
            {
                "name": name,
                "said": _SAID.get(name, _plain(name)),
                "kind": PurePath(name).suffix[1:].upper(),
                "size": f"{max(1, round(len(data) / 1000))} kB",
            }
            for name, data in sorted(
                self.files.items(), key=lambda item: rank.get(PurePath(item[0]).suffix, len(rank))
            )
        ]

    def one(self, name: str) -> bytes:
        """One paper. Raises :class:`NotInBookError`."""
        if name not in self.files:
            raise NotInBookError(
                Problem("there is no such paper", got=name[:60], accepted=", ".join(self.files))
            )
        return self.files[name]

    def zipped(self) -> bytes:
        """All of them in one file."""
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in self.files.items():
                entry = zipfile.ZipInfo(f"{self.folder}/{name}", _EPOCH)
                entry.compress_type = zipfile.ZIP_DEFLATED
                archive.writestr(entry, data)
        return stream.getvalue()


class Shelf:
    """Makes papers and keeps the last few, in memory only."""

    def __init__(self, book: Path) -> None:
        self._book = book
        self._lock = Lock()
        self._kept: OrderedDict[str, Papers] = OrderedDict()

    def papers(self, number: int) -> Papers:
        """The papers of an order as it stands in the book. Raises :class:`NeckarcError`."""
        from workroom.book.cards import export_card

        with Book(self._book) as book:
            text = export_card(book, book.order(number))
        with self._lock:  # one at a time: they are drawn with one pen
            found = self._kept.get(text)
            if found is None:
                found = _made(text)
                self._kept[text] = found
            self._kept.move_to_end(text)
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
            return found

    def clear(self) -> None:
        """Keep nothing."""
        with self._lock:
            self._kept.clear()


def media_type(name: str) -> str:
    """The kind of a file by its name."""
    return _TYPES.get(PurePath(name).suffix, "application/octet-stream")


def _made(text: str) -> Papers:
    from garment.garment import make_garment
    from workroom.card.card import read_card_text
    from workroom.papers.papers import papers

    order = make_garment(read_card_text(text, "card"))
    card = order.commission
    folder = folder_name(card.client, card.date.isoformat(), card.order)
    if order.failed:
        folder += "-not-for-cutting"
    return Papers(papers(order, "all"), folder, order.stamp or "")


def _plain(name: str) -> str:
    """What a paper is, from a name that tells its size as well."""
    for pattern, said in _SIZED:
        if found := pattern.fullmatch(name):
            return said.format(*(part.replace("-", " ") for part in found.groups()))
    return PurePath(name).stem.replace("-", " ").replace("_", " ").capitalize()
