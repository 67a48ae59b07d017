"""Words that come out of a DXF file as they went in.

The published DXF reference gives some characters a meaning inside TEXT: ``%%`` and a letter (degree
sign, underlining), ``^`` and a letter (control characters), ``\\U+`` and ``\\M+`` (characters by
number). Readers disagree about how to write them plainly, so these are parted by a space.

A file says in which encoding its letters are, and not every reader asks. So the signs a sentence is
set with are written in ASCII; letters of a name stay as they are.
"""

from __future__ import annotations

import re
import unicodedata

from drafting.lettering import one_line

#: TEXT in the oldest files holds no more characters than this (published DXF reference).
LONGEST = 250
_SPELT_LETTERS = (
    "ß=ss ẞ=SS æ=ae Æ=AE œ=oe Œ=OE ø=o Ø=O đ=d Đ=D ð=d Ð=D ł=l Ł=L þ=th Þ=Th ħ=h Ħ=H ı=i ŋ=ng Ŋ=Ng"
)
_SPELT_SIGNS = (
    '‘=\' ’=\' ‚=\' ‛=\' “=" ”=" „=" ‟=" «=" »=" –=- —=- −=- ·=- •=- …=... ×=x ÷=/ ±=+/- ≈=~ ≤=<= '
    "≥=>= ½=1/2 ¼=1/4 ¾=3/4 ′=' ″=\" ⁄=/ °=deg €=EUR №=No"
)
_SIGNS = str.maketrans(dict(word.split("=", 1) for word in _SPELT_SIGNS.split()))
_SPELT = _SIGNS | str.maketrans(dict(word.split("=", 1) for word in _SPELT_LETTERS.split()))


def dxf_words(words: str) -> str:
    """One line of text for a TEXT value; letters of any script, signs in ASCII."""
    plain = one_line(words).translate(_SIGNS)
    plain = re.sub(r"%(?=%)", "% ", plain)
    plain = re.sub(r"\\(?=[UuMm]\+)", r"\\ ", plain)
    return plain.replace("^", "^ ")[:LONGEST]


def ascii_words(words: str) -> str:
    """One line of text in ASCII: letters without their marks, ``?`` for what has no likeness."""
    parted = unicodedata.normalize("NFKD", one_line(words).translate(_SPELT))
    bare = "".join(c for c in parted if not unicodedata.combining(c)).translate(_SPELT)
    return dxf_words(re.sub(r"[^ -~]+", "?", bare))


def block_name(code: str, taken: set[str]) -> str:
    """A block name from a piece's code: capitals, digits, underscores; no two alike."""
    plain = re.sub(r"[^A-Z0-9_]+", "_", ascii_words(code).upper()).strip("_")[:28] or "PIECE"
    name, count = plain, 1
    while name in taken:
        count += 1
        name = f"{plain}_{count}"
    taken.add(name)
    return name
