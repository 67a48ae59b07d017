"""Neckarc for programmers: measurements and wishes in, a garment out, written as files.

>>> import neckarc
>>> measured = {"bust_girth": 92, "waist_girth": 74, "back_waist_length": 40.5}
>>> blouse = neckarc.draft(measured, garment={"method": "bust-proportional"},
...                        collar={"kind": "band", "stand_back": 3.5})
>>> [piece.code for piece in blouse.pieces][:3]
['BACK', 'FRONT', 'BAND']
>>> blouse.stamp is None  # nothing that must not be cut
True
>>> round(2 * blouse.neckline.half, 1)  # the whole neckline, cm
37.2
>>> neckarc.dxf(blouse)[:5]
b'  0\\nS'

Lengths are centimetres and angles radians in all that comes out. What goes in is what a client card
may hold (``neckarc card`` prints one), in the unit that is asked for. Whatever is wrong is told at
once, in one :class:`CardError` or :class:`DraftError`.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from drafting.errors import CardError, DraftError, NeckarcError, Problem, SheetError
from drafting.library import TomlText
from drafting.pieces.checks import Check, Verdict
from drafting.pieces.piece import Piece, Seam
from garment.garment import Garment, make_garment
from garment.wishes import Commission
from workroom.card.card import card_from, known_collars, known_methods, open_card

__all__ = [
    "CardError",
    "Check",
    "Commission",
    "DraftError",
    "Garment",
    "NeckarcError",
    "Piece",
    "Problem",
    "Seam",
    "SheetError",
    "Verdict",
    "collars",
    "draft",
    "draft_card",
    "dxf",
    "files",
    "measurements",
    "methods",
    "png",
    "svg",
    "write",
]

Table = Mapping[str, Any]


def measurements() -> dict[str, str]:
    """Every measurement by its key, with how it is taken.

    >>> "neck_girth" in measurements()
    True
    """
    from blocks.body.measures import measurements as known
    from drafting.sentences import written
    from drafting.units import LengthUnit

    return {key: written(one.how, LengthUnit.CM) for key, one in known().items()}


def methods() -> dict[str, frozenset[str]]:
    """Every method of drafting by its key, with the measurements it cannot do without.

    >>> sorted(methods()["bust-proportional"])
    ['back_waist_length', 'bust_girth', 'waist_girth']
    """
    return dict(known_methods())


def collars() -> dict[str, tuple[str, ...]]:
    """Every kind of collar, with what may be asked of it.

    >>> "stand_back" in collars()["band"]
    True
    """
    return {kind: tuple(rules) for kind, rules in known_collars().items()}


def draft(
    measured: Mapping[str, float | str],
    *,
    garment: Table | None = None,
    neckline: Table | None = None,
    collar: Table | None = None,
    client: str = "Unnamed",
    order: str = "",
    unit: str = "cm",
    date: datetime.date | None = None,
) -> Garment:
    """The garment to a body's measurements (lengths in ``unit``, angles in degrees), as wished:
    ``garment``, ``neckline`` and ``collar`` are the tables of a client card.

    Raises :class:`CardError` listing everything in it that cannot stand, with what may, and
    :class:`DraftError` when it cannot be drafted at all. A garment that fails a check comes back:
    look at :attr:`Garment.stamp`.

    >>> draft({"bust_girth": 92, "waist_girth": 74}, neckline={"fit": "Beside"})
    Traceback (most recent call last):
        ...
    drafting.errors.CardError: ...
    """
    wished = {"garment": garment, "neckline": neckline, "collar": collar}
    values: dict[str, Any] = {
        "client": client,
        "date": date or datetime.date.today(),
        "unit": unit,
        "order": order,
        "measurements": dict(measured),
        **{key: _plain(table) for key, table in wished.items() if table},
    }
    toml = TomlText("the wishes", values, "")
    return make_garment(card_from(toml, collars=known_collars(), methods=known_methods()))


def draft_card(path: str | Path) -> Garment:
    """The garment of a client card on the disk. Raises like :func:`draft`."""
    return make_garment(open_card(Path(path)))


def dxf(garment: Garment, profile: str = "drawing") -> bytes:
    """A garment as DXF: ``drawing``, ``splines`` or ``interchange``. One that must not be cut is
    stamped. Raises :class:`DraftError` for a profile there is not."""
    from workroom.papers.papers import drawing

    return drawing(garment, profile)


def svg(garment: Garment) -> bytes:
    """A garment as SVG at true size, in layers. One that must not be cut is stamped."""
    from workroom.papers.papers import sheet_content
    from workroom.papers.pictures.picture import svg_bytes

    return svg_bytes(sheet_content(garment))


def png(garment: Garment, pixels: int = 1600) -> bytes:
    """A garment as a picture, ``pixels`` wide. One that must not be cut is stamped."""
    from workroom.papers.papers import sheet_content
    from workroom.papers.pictures.picture import png_bytes

    return png_bytes(sheet_content(garment), pixels=pixels)


def files(
    garment: Garment, papers: Collection[str] = ("all",), profile: str = "drawing"
) -> dict[str, bytes]:
    """Everything that goes into an order's folder, as bytes by file name: ``papers`` are words of
    ``neckarc draft --papers``. Raises :class:`DraftError` for a word there is not."""
    from workroom.papers.papers import papers as made

    return made(garment, profile, tuple(papers))


def write(
    garment: Garment, into: str | Path, papers: Collection[str] = ("all",), profile: str = "drawing"
) -> Path:
    """Write a new folder with :func:`files` into the folder ``into``, whole or not at all, and say
    where it lies. Nothing that is there is touched. Raises :class:`SheetError`."""
    from workroom.folder.folder import write_folder
    from workroom.folder.names import folder_name

    asked = garment.commission
    name = folder_name(asked.client, asked.date.isoformat(), asked.order)
    return write_folder(Path(into), name, files(garment, papers, profile)).place


def _plain(table: Table) -> dict[str, Any]:
    return {
        key: _plain(value) if isinstance(value, Mapping) else value for key, value in table.items()
    }
