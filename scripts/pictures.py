"""Draw the pictures of the docs: the demo order and its lay, three bodies side by side, every
collar.

Usage: python scripts/pictures.py
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np
import pypdfium2
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from collars.registry import COLLARS
from drafting.library import data_folder
from drafting.pieces.piece import Piece
from drafting.sentences import written
from drafting.units import LengthUnit
from garment.garment import Garment, make_garment
from workroom.card.card import open_card
from workroom.papers.cloth.cloth import Material
from workroom.papers.cloth.lay import lay
from workroom.papers.cloth.lay_picture import lay_png
from workroom.papers.papers import papers, sheet_content
from workroom.papers.pictures.picture import png_bytes


def order_of(name: str) -> Garment:
    """The order of one of the invented clients."""
    return make_garment(open_card(data_folder() / "clients" / f"{name}.toml"))


def sketch(axes: Axes, piece: Piece, left: float) -> None:
    """One piece: sew line, darts, centre front, its points marked."""
    ring = piece.outline()
    closed = np.vstack((ring, ring[:1]))
    axes.plot(closed[:, 0] + left, closed[:, 1], color="black", linewidth=1.4)
    for dart in piece.darts:
        legs = (dart.first, dart.tip, dart.second)
        axes.plot([p.x + left for p in legs], [p.y for p in legs], color="black", linewidth=0.7)
    for mark in piece.marks:
        line = mark.curve.flatten()
        axes.plot(
            line[:, 0] + left, line[:, 1], color="black", linewidth=0.7, linestyle=(0, (6, 3))
        )


def three_bodies() -> Figure:
    """Small, middle and large, to one scale: blocks above, collar below."""
    figure = Figure(figsize=(15, 6.2), layout="constrained")
    FigureCanvasAgg(figure)
    for axes, name in zip(figure.subplots(1, 3), ("small", "demo", "large"), strict=True):
        order = order_of(name)
        assert order.body is not None
        for piece in order.pieces[:2]:
            sketch(axes, piece, 0.0)
        stand_and_fall = [piece for piece in order.pieces if piece.code in ("STAND", "UPPER")]
        for piece, drop in zip(stand_and_fall, (-33.0, -45.0), strict=True):
            lift = [np.array([0.0, drop])]
            ring = piece.outline() + lift[0]
            closed = np.vstack((ring, ring[:1]))
            axes.plot(closed[:, 0], closed[:, 1], color="black", linewidth=1.4)
        bust, neck = order.body["bust_girth"], order.body["neck_base_girth"]
        axes.set_title(
            f"bust {bust:.0f}, neck base {neck:.1f}, neckline {2 * order.neckline.half:.2f} cm",
            fontsize=11,
        )
        axes.set_aspect("equal")
        axes.set_xlim(-2, 74)
        axes.set_ylim(-47, 29)
        axes.set_axis_off()
    return figure


def collars(docs: Path) -> None:
    """A page with the pieces of every collar, from the cards in data/clients."""
    folder = docs / "collars"
    folder.mkdir(exist_ok=True)
    lines = [
        "# The collars",
        "",
        "Each picture is what `neckarc draft` makes of the card named below it, all pieces laid "
        "out. Written by `scripts/pictures.py`.",
    ]
    cards = {}
    for path in sorted((data_folder() / "clients").glob("*.toml")):
        card = open_card(path)
        cards.setdefault(card.collar.kind, path)
    cards["two-piece shirt"] = data_folder() / "clients" / "demo.toml"
    for kind in (*COLLARS, "none"):
        order = make_garment(open_card(cards[kind]))
        name = kind.replace(" ", "-")
        (folder / f"{name}.png").write_bytes(png_bytes(sheet_content(order), pixels=1100))
        title = COLLARS[kind].title if kind in COLLARS else "No collar: the neckline faced"
        lines += [
            "",
            f"## {title}",
            "",
            f"![{title}: {', '.join(piece.title for piece in order.pieces)}](collars/{name}.png)",
            "",
            f"`data/clients/{cards[kind].name}`",
        ]
        if kind in COLLARS:
            lines += ["", *parameters(kind)]
    (docs / "collars.md").write_text("\n".join(lines) + "\n", encoding="utf-8")


def parameters(kind: str) -> list[str]:
    """A table of what may be asked of a collar."""
    collar = COLLARS[kind]
    rows = ["| key | usual | accepted | meaning |", "| --- | --- | --- | --- |"]
    for key, rule in collar.parameters.items():
        usual = f"{rule.default:g}" if isinstance(rule.default, float) else rule.default
        meaning = written(rule.meaning, LengthUnit.CM)
        rows.append(f"| `{key}` | {usual} | {rule.accepted(LengthUnit.CM)} | {meaning} |")
    need = "It needs the block." if collar.needs_block else "A taped neckline is enough for it."
    return [need, "", *rows]


def paper_pages() -> Image.Image:
    """Six pages of the demo order's papers, side by side, as a reader of PDFs draws them."""
    files = papers(order_of("demo"))
    shown = (
        ("pages-a4.pdf", 0),
        ("pages-a4.pdf", 2),
        ("worksheet.pdf", 2),
        ("worksheet.pdf", 7),
        ("order-of-making.pdf", 0),
        ("report.pdf", 0),
    )
    pages = [pypdfium2.PdfDocument(files[name])[k].render(scale=1.0).to_pil() for name, k in shown]
    wide, tall = pages[0].size
    gap = 12
    whole = Image.new("RGB", (3 * wide + 4 * gap, 2 * tall + 3 * gap), "#9a9a9a")
    for k, page in enumerate(pages):
        whole.paste(page, (gap + k % 3 * (wide + gap), gap + k // 3 * (tall + gap)))
    return whole


def main() -> None:
    """Write all pictures into docs/."""
    docs = ROOT / "docs"
    docs.mkdir(exist_ok=True)
    (docs / "demo.png").write_bytes(png_bytes(sheet_content(order_of("demo"))))
    demo = order_of("demo")
    lay_140 = lay(demo.pieces, Material.CLOTH, 140.0)
    (docs / "lay-140.png").write_bytes(lay_png(lay_140, sheet_content(demo).labels))
    three_bodies().savefig(docs / "three-bodies.png", dpi=90, metadata={"Software": None})
    paper_pages().save(docs / "papers.png", optimize=True)
    collars(docs)
    print(f"Written to {docs}")


if __name__ == "__main__":
    main()
