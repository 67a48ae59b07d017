"""Words that come out of a DXF file as they went in.

The published DXF reference gives some characters a meaning inside TEXT: ``%%`` and a letter (degree
sign, underlining), ``^`` and a letter (control characters), ``\\U+`` and ``\\M+`` (characters by
number). Readers disagree about how to write them plainly, so these are parted by a space.
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
_SPELT_SIGNS = '‘=\' ’=\' ‚=\' ‛=\' “=" ”=" „=" ‟=" «=" »=" –=- —=- −=- ·=- …=... ×=x €=EUR №=No'
_SPELT = dict(word.split("=", 1) for word in f"{_SPELT_LETTERS} {_SPELT_SIGNS}".split())


def dxf_words(words: str) -> str:
    """One line of text for a TEXT value; any script."""
    plain = one_line(words)
    plain = re.sub(r"%(?=%)", "% ", plain)
    plain = re.sub(r"\\(?=[UuMm]\+)", r"\\ ", plain)
    return plain.replace("^", "^ ")[:LONGEST]


def ascii_words(words: str) -> str:
    """One line of text in ASCII: letters without their marks, ``?`` for what has no likeness."""
    spelt = "".join(_SPELT.get(c, c) for c in one_line(words))
    parted = unicodedata.normalize("NFKD", spelt)
    bare = "".join(_SPELT.get(c, c) for c in parted if not unicodedata.combining(c))
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
