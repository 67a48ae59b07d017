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
_PARTS = {"front": ("body", "arm", "leg", "breast", "throat"), "back": ("body", "arm", "leg")}


@cache
def figure() -> str:
    """The figure as SVG: both views, and a hidden path for every measurement. Raises
    :class:`DataError` when a measurement has no place on it."""
    values = read_data("figure").values
    tapes = values["tape"]
    lacking = [key for key in measurements() if key not in tapes]
    paths = [*values["outline"].values(), *(p for tape in tapes.values() for p in tape.values())]
    if lacking or not all(_PATH.fullmatch(path) for path in paths):
        raise DataError(Problem("the figure has no tape for " + ", ".join(lacking) or "a path"))
    parts = []
    for view, middle in _MIDDLES.items():
        for side in (1, -1):
            parts.append(f'<g transform="translate({middle} 0) scale({side} 1)">')
            parts += [
                f'<path class="body" d="{values["outline"][part]}"/>'
                for part in ("head", *_PARTS[view])
            ]
            parts.append("</g>")
        if view == "back":
            spine = values["outline"]["spine"]
            parts.append(f'<path class="spine" transform="translate({middle} 0)" d="{spine}"/>')
        parts.append(f'<text class="view" x="{middle}" y="158">{view}</text>')
    for key, measurement in measurements().items():
        drawn = "".join(f'<path d="{path}"/>' for path in tapes[key].values())
        parts.append(
            f"<g class='tape' data-key={quoteattr(key)}>"
            f"<title>{escape(measurement.name)}</title>{drawn}</g>"
        )
    return (
        '<svg viewBox="0 0 200 160" role="img" aria-label="Figure, front and back: the tape of the '
        f'measurement in hand is shown">{"".join(parts)}</svg>'
    )


@cache
def collar_pictures() -> dict[str, str]:
    """The small picture of every collar, as a path. Raises :class:`DataError`."""
    pictures = {str(key): str(path) for key, path in read_data("figure").values["collar"].items()}
    wrong = [key for key, path in pictures.items() if not _PATH.fullmatch(path)]
    if wrong:
        raise DataError(Problem("no path for the picture of " + ", ".join(wrong)))
    return pictures
