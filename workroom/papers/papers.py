"""What goes into an order's folder, as bytes by file name."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from drafting.drawing.drawing import Labels
from drafting.errors import DraftError, Problem
from drafting.units import LengthUnit
from garment.garment import Garment
from workroom.papers.booklets.console_text import plain_lines
from workroom.papers.kinds import KINDS
from workroom.papers.sheet.content import SheetContent

#: The DXF profiles and their files.
PROFILES: Mapping[str, str] = {
    "drawing": "drawing.dxf",
    "splines": "splines.dxf",
    "interchange": "interchange.dxf",
}

#: The widest paper of copy shops' rolls, 60 inches (cm); common practice.
WIDEST_ROLL = 152.4

CAUTION = """\
Before you cut: measure the square of 10 cm on the drawing, and make a toile in calico first.
A collar must never be closed tighter than the neck; check again after the first wash. Children's
wear: cords, ties, buttons and other small parts at the neck fall under local safety rules. Blades,
needles, irons and steam hurt: guard them, and follow the makers' instructions for cloth, fusible
and machines. This draft assumes an even figure; where local rules or a qualified cutter say
otherwise, follow them.
"""


def sheet_content(order: Garment) -> SheetContent:
    """The order as the drawings show it."""
    card = order.commission
    return SheetContent(
        title=card.order or "Pattern pieces",
        pieces=order.pieces,
        labels=Labels(
            client=card.client,
            date=card.date.isoformat(),
            order=card.order,
            method=_method(order),
            stamp=order.stamp,
        ),
    )


def papers(
    order: Garment, profiles: str = "drawing", kinds: Collection[str] = ("all",)
) -> dict[str, bytes]:
    """The files of the order's folder: the ``kinds`` of :data:`workroom.papers.kinds.KINDS` asked
    for, the checks always among them, and its DXF in the profile ``profiles`` or in ``all``.

    Raises :class:`DraftError` for a profile or a kind there is not.
    """
    if profiles != "all":
        _known_profile(profiles)
    strange = [kind for kind in kinds if kind not in KINDS]
    if strange:
        raise DraftError(
            Problem("there are no such papers", got=", ".join(strange), accepted=", ".join(KINDS))
        )
    wanted = set(kinds) | (KINDS.keys() - {"projector"} if "all" in kinds else set())
    content = sheet_content(order)
    files: dict[str, bytes] = {}
    if "pictures" in wanted:
        files |= _pictures(content)
    if "dxf" in wanted:
        files |= _drawings(content, profiles)
    if "booklets" in wanted:
        files |= _booklets(order)
    if "print" in wanted:
        files |= _prints(content, order)
    if "projector" in wanted:
        files["projector.pdf"] = _one_sheet(content, order.commission.unit, grid=True)
    return files | _checks(order)


def drawing(order: Garment, profile: str = "drawing") -> bytes:
    """The order as DXF in one profile. Raises :class:`DraftError` for one there is not."""
    _known_profile(profile)
    return _dxf(sheet_content(order), profile)


def _known_profile(profile: str) -> None:
    if profile not in PROFILES:
        raise DraftError(
            Problem("there is no such DXF profile", got=profile, accepted=", ".join(PROFILES))
        )


def _pictures(content: SheetContent) -> dict[str, bytes]:
    from workroom.papers.pictures.picture import png_bytes, svg_bytes

    return {"pieces.png": png_bytes(content), "pieces.svg": svg_bytes(content)}


def _drawings(content: SheetContent, profiles: str) -> dict[str, bytes]:
    chosen = PROFILES if profiles == "all" else (profiles,)
    return {PROFILES[profile]: _dxf(content, profile) for profile in chosen}


def _dxf(content: SheetContent, profile: str) -> bytes:
    if profile == "interchange":
        from workroom.papers.dxf.interchange import interchange_bytes

        return interchange_bytes(content)
    from workroom.papers.dxf.drawing import DxfProfile, drawing_bytes

    return drawing_bytes(content, DxfProfile(profile))


def _booklets(order: Garment) -> dict[str, bytes]:
    from workroom.papers.booklets.report_pdf import making_bytes, report_pdf_bytes
    from workroom.papers.booklets.worksheet_pdf import worksheet_bytes

    return {
        "worksheet.pdf": worksheet_bytes(order),
        "order-of-making.pdf": making_bytes(order),
        "report.pdf": report_pdf_bytes(order),
    }


def _prints(content: SheetContent, order: Garment) -> dict[str, bytes]:
    from workroom.papers.pages.tiled import home_paper, tiled_bytes

    unit = order.commission.unit
    return {
        f"pages-{home_paper(unit).lower()}.pdf": tiled_bytes(content, unit=unit),
        "one-sheet.pdf": _one_sheet(content, unit),
        **lay_papers(order),
    }


def _checks(order: Garment) -> dict[str, bytes]:
    from workroom.papers.booklets.report import report_bytes

    return {
        "report.json": report_bytes(order),
        "checks.txt": "\n".join((*plain_lines(order), "", CAUTION)).encode("utf-8"),
    }


def lay_papers(order: Garment) -> dict[str, bytes]:
    """The cutting list, and the pictures of the lays. A draft that must not be cut has no lays."""
    from workroom.papers.cloth.cutting_list import (
        cutting_list,
        cutting_list_lines,
        facing_strips,
        lay_file_name,
    )
    from workroom.papers.cloth.lay import all_lays
    from workroom.papers.cloth.lay_picture import lay_svg

    labels, unit = sheet_content(order).labels, order.commission.unit
    if order.stamp:
        lines = [order.stamp, "", "There is no cutting list for it: see checks.txt."]
        return {"cutting-list.txt": "\n".join((*lines, "")).encode("utf-8")}
    pieces = (*order.pieces, *facing_strips(order.pieces))
    lays, one_way = (all_lays(pieces, one_way=way, unit=unit) for way in (False, True))
    lines = cutting_list_lines(cutting_list(pieces), labels, unit, lays, one_way)
    files = {"cutting-list.txt": "\n".join((*lines, "", CAUTION)).encode("utf-8")}
    return files | {
        f"{lay_file_name(one, unit)}.svg": lay_svg(one, labels, unit) for one in lays.lays
    }


def _one_sheet(content: SheetContent, unit: LengthUnit, *, grid: bool = False) -> bytes:
    """The large sheet; a roll of the widest kind for pieces that A0 does not hold."""
    from workroom.papers.pages.one_sheet import sheet_bytes

    try:
        return sheet_bytes(content, unit=unit, grid=grid)
    except DraftError:
        return sheet_bytes(content, roll=WIDEST_ROLL, unit=unit, grid=grid)


def _method(order: Garment) -> str:
    if order.bodice is None:
        return "taped neckline"
    return order.bodice.quantities.method.title
