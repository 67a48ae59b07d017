"""A pen that writes SVG 1.1 (W3C Recommendation) in true millimetres, y turned down."""

from __future__ import annotations

import re
from math import degrees
from xml.sax.saxutils import escape, quoteattr

from drafting.curves import Curve
from drafting.lettering import one_line
from drafting.points import Point
from drafting.units import mm
from workroom.sheets.layers import Layer, layers

#: Height of a capital as a share of the type size, on plain sans serif letters.
CAPITAL = 0.72
_FONT = "'DejaVu Sans', Arial, Helvetica, sans-serif"
#: Characters that XML 1.0 (W3C Recommendation, production 2) does not allow at all.
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class SvgPen:
    """Collects strokes; :meth:`text_of` makes the file."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def begin_piece(self, code: str, title: str) -> None:
        """A group with its title."""
        self._lines.append(f"<g id={quoteattr('piece-' + _plain(code))}>")
        self._lines.append(f"<title>{_words(title)}</title>")

    def end_piece(self) -> None:
        """Close the group."""
        self._lines.append("</g>")

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
        self._lines.append(f'<circle class="{layer}" cx="{x}" cy="{y}" r="{_number(mm(radius))}"/>')

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """A line of text."""
        turn = f" rotate({_number(-degrees(angle))})" if angle else ""
        self._lines.append(
            f'<text class="{layer}-words" font-size="{_number(mm(height) / CAPITAL)}" '
            f'transform="translate({_xy(at)}){turn}">{_words(words)}</text>'
        )

    def text_of(self, title: str, width: float, height: float, margin: float) -> str:
        """The whole file: a sheet of ``width`` by ``height``, a margin all round, centimetres."""
        wide, tall, edge = mm(width + 2 * margin), mm(height + 2 * margin), mm(margin)
        head = (
            '<svg xmlns="http://www.w3.org/2000/svg" version="1.1" '
            f'width="{_number(wide)}mm" height="{_number(tall)}mm" '
            f'viewBox="{_number(-edge)} {_number(edge - tall)} {_number(wide)} {_number(tall)}">'
        )
        ground = (
            f'<rect x="{_number(-edge)}" y="{_number(edge - tall)}" '
            f'width="{_number(wide)}" height="{_number(tall)}" fill="#ffffff"/>'
        )
        style = "\n".join(_looks(layer) for layer in layers().values())
        body = "\n".join(self._lines)
        return (
            f'<?xml version="1.0" encoding="UTF-8"?>\n{head}\n<title>{_words(title)}</title>\n'
            f"<style>\npath, circle {{ fill: none; stroke-linejoin: round; }}\n"
            f"text {{ font-family: {_FONT}; unicode-bidi: isolate; }}\n{style}\n</style>\n"
            f"{ground}\n{body}\n</svg>\n"
        )

    def _path(self, layer: str, steps: str) -> None:
        self._lines.append(f'<path class="{layer}" d="{steps}"/>')


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
    return escape(_NOT_XML.sub(" ", one_line(words)))


def _plain(code: str) -> str:
    return re.sub(r"[^A-Za-z0-9_-]", "-", code)
