"""Words in the order and the shapes in which their letters stand on the line.

PDF draws letters from the left in the order given. Arabic and Hebrew words are turned round here,
and Arabic letters joined, with the shapes the Unicode Standard (block Arabic Presentation Forms)
gives them. A plain rule for names: numbers and Latin words keep their own order. It is not the
whole of the Unicode Bidirectional Algorithm.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

_RIGHT = ("R", "AL")
_NUMBER = re.compile(r"(\d+(?:[.,:/+-]\d+)*)")
_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")
_LAM = "\u0644"


def laid_out(words: str) -> str:
    """One line of text as its letters stand from left to right."""
    words = unicodedata.normalize("NFC", words)
    if not any(unicodedata.bidirectional(c) in _RIGHT for c in words):
        return words
    clusters = _clusters(_joined(words))
    ways = _ways(clusters)
    runs: list[tuple[bool, list[str]]] = []
    for right, cluster in zip(ways, clusters, strict=True):
        if not runs or runs[-1][0] != right:
            runs.append((right, []))
        runs[-1][1].append(cluster)
    first = next(way for way in map(_way, clusters) if way is not None)
    if first:
        runs.reverse()
    return "".join(
        "".join(cluster.translate(_MIRRORED) for cluster in reversed(run))
        if right
        else "".join(run)
        for right, run in runs
    )


def _clusters(words: str) -> list[str]:
    """Letters, each with the marks that stand on it, and whole numbers."""
    found: list[str] = []
    for part in _NUMBER.split(words):
        if _NUMBER.fullmatch(part):
            found.append(part)
            continue
        for c in part:
            if found and unicodedata.combining(c):
                found[-1] += c
            else:
                found.append(c)
    return found


def _way(cluster: str) -> bool | None:
    """Whether a letter is read to the left (``True``), to the right, or with its neighbours."""
    kind = unicodedata.bidirectional(cluster[0])
    return True if kind in _RIGHT else False if kind == "L" else None


def _ways(clusters: list[str]) -> list[bool]:
    """Numbers go with the letters before them; spaces and signs with their neighbours when these
    agree, else with the first letter."""
    strong = [_way(cluster) for cluster in clusters]
    base = next((way for way in strong if way is not None), False)
    last = base
    for k, cluster in enumerate(clusters):
        if _NUMBER.fullmatch(cluster):
            strong[k] = last
        last = last if strong[k] is None else bool(strong[k])
    found: list[bool] = []
    for k, way in enumerate(strong):
        if way is None:
            before = found[-1] if found else base
            after = next((later for later in strong[k:] if later is not None), base)
            way = before if before == after else base
        found.append(way)
    return found


@cache
def _shapes() -> dict[str, dict[str, str]]:
    """Arabic letters (and lam-alef pairs) with their shapes: isolated, initial, medial, final."""
    found: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFBB2), *range(0xFBD3, 0xFBEA), *range(0xFBFC, 0xFC00)):
        _note(found, code)
    for code in range(0xFE80, 0xFEFD):
        _note(found, code)
    return found


def _note(found: dict[str, dict[str, str]], code: int) -> None:
    parts = unicodedata.decomposition(chr(code)).split()
    if parts and parts[0] in ("<isolated>", "<initial>", "<medial>", "<final>"):
        letters = "".join(chr(int(part, 16)) for part in parts[1:])
        if len(letters) == 1 or letters[0] == _LAM:
            found.setdefault(letters, {}).setdefault(parts[0][1:-1], chr(code))


def _joined(words: str) -> str:
    """Arabic letters in the shapes they have beside their neighbours."""
    shapes = _shapes()
    letters: list[str] = []
    for c in words:
        if letters and letters[-1] == _LAM and _LAM + c in shapes:
            letters[-1] += c
        else:
            letters.append(c)
    out = []
    for k, letter in enumerate(letters):
        own = shapes.get(letter)
        if own is None:
            out.append(letter)
            continue
        before = shapes.get(_neighbour(letters, k, -1), {})
        after = shapes.get(_neighbour(letters, k, 1), {})
        to_right = "initial" in before and "final" in own
        to_left = "initial" in own and "final" in after
        kind = ("isolated", "initial", "final", "medial")[to_left + 2 * to_right]
        out.append(own.get(kind, letter))
    return "".join(out)


def _neighbour(letters: list[str], k: int, step: int) -> str:
    """The next letter, marks passed over."""
    k += step
    while 0 <= k < len(letters) and unicodedata.combining(letters[k][0]):
        k += step
    return letters[k] if 0 <= k < len(letters) else ""
