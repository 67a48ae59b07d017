"""A pen that writes SVG 1.1 (W3C Recommendation) in true millimetres, y turned down."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import degrees
from xml.sax.saxutils import escape, quoteattr

from drafting.drawing.lettering import one_line
from drafting.drawing.signs import Ink
from drafting.geometry.curves import Curve
from drafting.geometry.points import Point
from drafting.units import mm
from workroom.papers.sheet.layers import Layer, layers

#: Height of a capital as a share of the type size, on plain sans serif letters.
CAPITAL = 0.72
#: Editors of SVG show groups with these attributes as layers, by name (a convention of theirs).
_EDITOR = "http://www.inkscape.org/namespaces/inkscape"
_FONT = "'DejaVu Sans', Arial, Helvetica, sans-serif"
#: Characters that XML 1.0 (W3C Recommendation, production 2) does not allow at all.
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class SvgPen:
    """Collects strokes; :meth:`text_of` makes the file.

    Each piece is a group, and in it each layer is one, named as in the table of layers and in its
    order; editors show both as layers. What belongs to no piece stands in a group of the sheet's
    own, laid out alike. Ids are unique: ``piece-FRONT`` and ``piece-FRONT-SEW_LINE``; classes are
    ``piece`` and the layer's name.
    """

    def __init__(self) -> None:
        self._sheet = _Group("sheet", "sheet", "what stands beside the pieces")
        self._pieces: list[_Group] = []
        self._open = self._sheet
        self._ids = {self._sheet.id}

    def begin_piece(self, code: str, title: str) -> None:
        """A group with its title."""
        self._open = _Group(self._new_id(f"piece-{_plain(code)}"), "piece", title)
        self._pieces.append(self._open)

    def end_piece(self) -> None:
        """What follows belongs to the sheet again."""
        self._open = self._sheet

    def curve(self, layer: str, curve: Curve) -> None:
        """An open path."""
        self._path(layer, f"M{_xy(curve.start)}{_steps(curve)}")

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """A closed path."""
        steps = "".join(_steps(curve) for curve in curves)
        self._path(layer, f"M{_xy(curves[0].start)}{steps}Z")

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """A circle."""
        x, y = _xy(at).split()
        self._open.add(
            layer, f'<circle class="{layer}" cx="{x}" cy="{y}" r="{_number(mm(radius))}"/>'
        )

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """A line of text."""
        turn = f" rotate({_number(-degrees(angle))})" if angle else ""
        self._open.add(
            layer,
            f'<text class="{layer}-words" font-size="{_number(mm(height) / CAPITAL)}" '
            f'transform="translate({_xy(at)}){turn}">{_words(words)}</text>',
        )

    def text_of(self, title: str, width: float, height: float, margin: float) -> str:
        """The whole file: a sheet of ``width`` by ``height``, a margin all round, centimetres."""
        wide, tall, edge = mm(width + 2 * margin), mm(height + 2 * margin), mm(margin)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="{_EDITOR}" version="1.1" '
            f'width="{_number(wide)}mm" height="{_number(tall)}mm" '
            f'viewBox="{_number(-edge)} {_number(edge - tall)} {_number(wide)} {_number(tall)}">'
        )
        ground = (
            f'<rect x="{_number(-edge)}" y="{_number(edge - tall)}" '
            f'width="{_number(wide)}" height="{_number(tall)}" fill="#ffffff"/>'
        )
        style = "\n".join(_looks(layer) for layer in layers().values())
        body = "\n".join(group.written() for group in (self._sheet, *self._pieces) if group.strokes)
        return (
            f'<?xml version="1.0" encoding="UTF-8"?>\n{head}\n<title>{_words(title)}</title>\n'
            f"<style>\npath, circle {{ fill: none; stroke-linejoin: round; }}\n"
            f"text {{ font-family: {_FONT}; unicode-bidi: isolate; }}\n{style}\n</style>\n"
            f"{ground}\n{body}\n</svg>\n"
        )

    def _path(self, layer: str, steps: str) -> None:
        self._open.add(layer, f'<path class="{layer}" d="{steps}"/>')

    def _new_id(self, wanted: str) -> str:
        name, number = wanted, 1
        while name in self._ids:
            number += 1
            name = f"{wanted}-{number}"
        self._ids.add(name)
        return name


@dataclass(slots=True)
class _Group:
    """A piece or the sheet: its strokes by ink, in the order they were drawn."""

    id: str
    kind: str
    title: str
    strokes: dict[Ink, list[str]] = field(default_factory=dict)

    def add(self, ink: str, stroke: str) -> None:
        self.strokes.setdefault(Ink(ink), []).append(stroke)

    def written(self) -> str:
        lines = [
            f'<g id="{self.id}" class="{self.kind}" {_as_layer(self.title)}>',
            f"<title>{_words(self.title)}</title>",
        ]
        for ink, layer in layers().items():
            if ink in self.strokes:
                lines += [
                    f'<g id="{self.id}-{layer.name}" class="{layer.name}" {_as_layer(layer.name)}>',
                    f"<title>{_words(layer.purpose)}</title>",
                    *self.strokes[ink],
                    "</g>",
                ]
        return "\n".join((*lines, "</g>"))


def _as_layer(name: str) -> str:
    return f'inkscape:groupmode="layer" inkscape:label={quoteattr(_plain_words(name))}'


def _looks(layer: Layer) -> str:
    dash = f" stroke-dasharray: {' '.join(map(_number, layer.dash_mm))};" if layer.dash_mm else ""
    return (
        f".{layer.key} {{ stroke: {layer.rgb}; stroke-width: {_number(layer.width_mm)};{dash} }}\n"
        f".{layer.key}-words {{ fill: {layer.rgb}; }}"
    )


def _steps(curve: Curve) -> str:
    return "".join(
        ("C" if len(piece) == 4 else "L") + " ".join(_xy(p) for p in piece[1:])
        for piece in curve.beziers()
    )


def _xy(p: Point) -> str:
    return f"{_number(mm(p.x))} {_number(-mm(p.y))}"


def _number(value: float) -> str:
    """A thousandth of a millimetre at the finest, no exponent, no trailing noughts."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _words(words: str) -> str:
    return escape(_plain_words(words))


def _plain_words(words: str) -> str:
    return _NOT_XML.sub(" ", one_line(words))


def _plain(code: str) -> str:
    return re.sub(r"[^A-Za-z0-9_-]", "-", code)
