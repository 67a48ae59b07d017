"""The figure on which the desk shows where the tape goes, from ``data/figure.toml``."""

from __future__ import annotations

import re
from functools import cache
from xml.sax.saxutils import escape, quoteattr

from blocks.measures import measurements
from drafting.errors import DataError, Problem
from drafting.library import read_data

#: Neck and shoulders, on which a collar's small picture is put in place of the word.
SILHOUETTE = (
    '<svg viewBox="0 0 40 30"><path d="M16 1 C16 5 15.6 7 15 8.4 C11 10.6 6 11 2 14 M24 1 C24 5 '
    '24.4 7 25 8.4 C29 10.6 34 11 38 14"/><path class="collar" d="COLLAR"/></svg>'
)
_PATH = re.compile(r"[MCLZ0-9 .]+")
_MIDDLES = {"front": 50, "back": 150}
_PARTS = {
    "front": ("arm", "body", "leg", "head", "breast", "throat"),
    "back": ("arm", "body", "leg", "head", "spine", "blade", "seat"),
}


@cache
def figure() -> str:
    """The figure as two SVGs, front and back, with a hidden tape for every measurement. Raises
    :class:`DataError` when a measurement has no place on it."""
    values = read_data("figure").values
    tapes = values["tape"]
    lacking = [key for key in measurements() if key not in tapes]
    paths = [*values["outline"].values(), *(p for tape in tapes.values() for p in tape.values())]
    if lacking or not all(_PATH.fullmatch(path) for path in paths):
        raise DataError(Problem("the figure has no tape for " + ", ".join(lacking) or "a path"))
    return "".join(_view(view, values["outline"], tapes) for view in _MIDDLES)


def _view(view: str, outline: dict[str, str], tapes: dict[str, dict[str, str]]) -> str:
    """Front or back: near enough for the trunk, or the whole of her for what is taken to the
    floor."""
    middle = _MIDDLES[view]
    left = middle - 50
    parts = [
        f'<svg viewBox="{left} 0 100 112" data-near="{left} 0 100 112" '
        f'data-far="{left} 0 100 160" role="img" aria-label="Figure, {view}: the tape of the '
        f'measurement in hand is shown on it"><g transform="translate({middle} 0)">'
    ]
    for side in (1, -1):
        parts.append(f'<g transform="scale({side} 1)">')
        parts += [f'<path class="{part}" d="{outline[part]}"/>' for part in _PARTS[view]]
        parts.append("</g>")
    parts.append(f'</g><text class="view" x="{left + 5}" y="9">{view}</text>')
    for key, measurement in measurements().items():
        if view not in tapes[key]:
            continue
        path = tapes[key][view]
        parts.append(
            f'<g class="tape" data-key={quoteattr(key)}><title>{escape(measurement.name)}</title>'
            f'<path class="tape-edge" d="{path}"/><path class="tape-marks" d="{path}"/></g>'
        )
    return "".join(parts) + "</svg>"


@cache
def collar_pictures() -> dict[str, str]:
    """The small picture of every collar, as a path. Raises :class:`DataError`."""
    pictures = {str(key): str(path) for key, path in read_data("figure").values["collar"].items()}
    wrong = [key for key, path in pictures.items() if not _PATH.fullmatch(path)]
    if wrong:
        raise DataError(Problem("no path for the picture of " + ", ".join(wrong)))
    return pictures
