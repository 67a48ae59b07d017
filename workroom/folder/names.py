"""Names of folders from what a person wrote: readable in every script, safe on every disk."""

from __future__ import annotations

import hashlib
import unicodedata

#: A part of a name is cut there: so many signs, and so many bytes. With two such parts and a day, a
#: name stays within the 143 bytes that an encrypted home folder allows, and far within 255.
_SIGNS, _BYTES = 40, 60
#: Names that Windows keeps for its devices, whatever comes after a dot.
_DEVICES = frozenset(
    {"con", "prn", "aux", "nul", "conin$", "conout$"}
    | {f"{port}{sign}" for port in ("com", "lpt") for sign in "0123456789¹²³"}
)


def folder_name(*parts: str) -> str:
    """A name for a folder from words a person wrote: letters and digits of any script, and dashes.

    Where a part had to be cut, a few signs reckoned from the whole tell it from others that begin
    alike. Two texts may still have one name: what lies in a folder is known by its record.
    """
    plain = [_plain(part) for part in parts]
    cut = [_cut(part) for part in plain]
    name = "-".join(part for part in cut if part)
    if cut != plain:
        name += f"-{hashlib.sha256(chr(0).join(plain).encode()).hexdigest()[:6]}"
    return f"order-{name}" if name.casefold() in _DEVICES else name or "order"


def folded(name: str) -> str:
    """A name as disks see it that do not tell capitals from small letters."""
    if name.isascii():
        return name.lower()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFD", name).casefold())


def _plain(part: str) -> str:
    signs: list[str] = []
    for sign in unicodedata.normalize("NFC", part):
        kind = unicodedata.category(sign)
        if kind[0] in "LN" or (kind[0] == "M" and signs and signs[-1] != "-"):
            signs.append(sign)
        elif kind != "Cf" and signs and signs[-1] != "-":  # joiners and the like are not seen
            signs.append("-")
    return "".join(signs).rstrip("-")


def _cut(part: str) -> str:
    """The beginning of a part that is not too long; no letter loses its accent."""
    short = part[:_SIGNS].encode()[:_BYTES].decode(errors="ignore")
    end = len(short)
    while end < len(part) and end > 0 and unicodedata.category(part[end])[0] == "M":
        end -= 1
    return part[:end].rstrip("-")
