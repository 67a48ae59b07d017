"""What the page asks for, told as data: measurements, options and collars with their rules."""

from __future__ import annotations

import re
from functools import cache
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from blocks.bodice.methods import method, method_names
from blocks.body.measures import asked_for
from collars.registry import COLLARS
from drafting.errors import DataError, Problem
from drafting.formulas.writing import words as title_words
from drafting.library import read_data
from drafting.parameters import ParameterRule
from drafting.sentences import written
from drafting.units import LengthUnit, format_inches, from_cm
from garment.options import card_fields, options
from garment.toile import FittingWords, Seen, fitting_words
from workroom.card.card import known_methods
from workroom.card.needs import default_method

# ---- The figure on which the desk shows where the tape goes, from ``data/figure.toml``

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
    lacking = [key for key in asked_for() if key not in tapes]
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
    for key, measurement in asked_for().items():
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


#: What a table of options is about; another table goes by its own name.
_TABLES = {
    "ease": "Ease",
    "darts": "Darts",
    "length": "Length",
    "finish": "Edges, buttons and facings",
}
#: Parameters of a collar that are about cloth and making rather than its shape.
_MAKING = re.compile(r"cloth|interfacing|facing|^made$|seam_allowance")
#: A range in a source's words: what is usual.
_RANGE = re.compile(
    r"(?<![\d.,-])(\d+(?:\.\d+)?) to (\d+(?:\.\d+)?)(?: cm)?"
    r"(?=$|[;,)]| is common| for | usual| best)"
)


@cache
def form(unit: str) -> dict[str, Any]:
    """Every field of the page for cards in ``cm`` or ``in``."""
    inside = LengthUnit(unit)
    return {
        "measurements": _measurements(inside),
        "block": [_field(rule, inside, source, "garment") for rule, source in _block()],
        "tables": [
            {"title": title, "fields": [_field(r, inside, s, path, left) for r, s, left in rows]}
            for title, path, rows in _tables()
        ],
        "neckline": [_field(rule, inside, source, path) for path, rule, source in _neckline()],
        "taped": [_field(rule, inside, source, "neckline", True) for rule, source in _taped()],
        "collars": [
            {
                "key": collar.kind,
                "title": collar.title,
                "fields": [
                    _field(rule, inside, collar.sources[key], "collar")
                    | {"making": bool(_MAKING.search(key))}
                    for key, rule in collar.parameters.items()
                ],
            }
            for collar in COLLARS.values()
        ],
        "fittings": _fittings(inside),
        "silhouette": SILHOUETTE,
        "pictures": collar_pictures(),
    }


def _fittings(unit: LengthUnit) -> list[dict[str, Any]]:
    """The words for what is seen at a fitting, by where it is seen."""
    words = fitting_words()
    groups: dict[str, list[dict[str, Any]]] = {}
    for seen in words.seen.values():
        groups.setdefault(_where(seen, words), []).append(
            {
                "words": seen.words,
                "amount": written(seen.amount, unit),
                "usual": _near(seen.usual, unit),
                "most": _near(seen.most, unit),
                "step": (0.05 if seen.most < 0.5 else 0.1) if unit is LengthUnit.CM else 1 / 16,
                "source": written(seen.source, unit),
            }
        )
    return [{"title": title, "words": rows} for title, rows in groups.items()]


def _where(seen: Seen, words: FittingWords) -> str:
    """Where something is seen, by the first knob it turns."""
    key = next(iter(seen.changes[0]))
    if words.knobs[key].collar:
        return "On the collar"
    return "Round the neck" if key.startswith("neck.") else "On the bodice"


def _near(value: float, unit: LengthUnit) -> str:
    """A small length (cm) as it is written; in inches a fraction where one comes near enough."""
    if unit is LengthUnit.CM:
        return f"{value:g}"
    inches, written = from_cm(value, unit), format_inches(value)
    near = round(inches * 16) / 16
    return written if abs(near - inches) <= 1 / 64 else f"{inches:.2f}"


def usual(rule: ParameterRule, source: str) -> tuple[float, float] | None:
    """The first range a source gives that lies in the accepted one and holds the default, in the
    rule's unit."""
    for low, high in (
        (float(a), float(b)) for a, b in _RANGE.findall(written(source, LengthUnit.CM))
    ):
        narrower = rule.low <= low < high <= rule.high and (low, high) != (rule.low, rule.high)
        if narrower and (rule.default == 0.0 or low <= float(rule.default) <= high):
            return low, high
    return None


def said_in_two(meaning: str) -> tuple[str, str]:
    """A meaning as a label and what is left for the help: cut at its first stop."""
    found = re.search(r"[;:(]|\. ", meaning)
    if found is None:
        return meaning, ""
    label, rest = meaning[: found.start()].strip(), meaning[found.start() :].lstrip(";:. ").strip()
    return label, rest[:1].upper() + rest[1:]


def _measurements(unit: LengthUnit) -> list[dict[str, Any]]:
    return [
        {
            "key": key,
            "path": f"measurements.{key}",
            "name": measurement.name,
            "how": written(measurement.how, unit),
            "number": measurement.iso_number,
            "unit": measurement.unit,
            "low": _shown(measurement.usual[0], measurement.unit, unit),
            "high": _shown(measurement.usual[1], measurement.unit, unit),
            "needed": any(key in method(name).needs for name in method_names()),
        }
        for key, measurement in asked_for().items()
    ]


def _block() -> list[tuple[ParameterRule, str]]:
    methods = tuple(known_methods())
    said = "; ".join(f"{key}: {method(key).title}" for key in methods)
    usual_one = default_method(known_methods())
    chosen = ParameterRule(
        "method", "choice", 0.0, 0.0, methods, usual_one, f"How the block is drafted; {said}"
    )
    fields = card_fields()["garment"].values()
    return [(chosen, ""), *((field.rule, field.source) for field in fields)]


def _tables() -> list[tuple[str, str, list[tuple[ParameterRule, str, bool]]]]:
    """Title, path and rules of every table of options; the last says that it has no default."""
    found = [
        (
            _TABLES.get(name, title_words(name).capitalize()),
            f"garment.{name}",
            [(option.rule, option.source, option.open) for option in rows.values()],
        )
        for name, rows in options().items()
    ]
    own = card_fields()["garment.allowances"].values()
    allowances = [(field.rule, field.source, field.open) for field in own]
    return [*found, ("Seam allowances that differ", "garment.allowances", allowances)]


def _neckline() -> list[tuple[str, ParameterRule, str]]:
    return [
        (path, field.rule, field.source)
        for path in ("neckline", "neckline.style")
        for field in card_fields()[path].values()
        if not field.open
    ]


def _taped() -> list[tuple[ParameterRule, str]]:
    fields = card_fields()["neckline"].values()
    return [(field.rule, field.source) for field in fields if field.open]


def _field(
    rule: ParameterRule, unit: LengthUnit, source: str, path: str, left_out: bool = False
) -> dict[str, Any]:
    """A field; lengths in the card's unit, as plain numbers for a slider and as words."""
    label, rest = said_in_two(written(rule.meaning, unit))
    told: dict[str, Any] = {
        "key": rule.key,
        "path": f"{path}.{rule.key}",
        "name": label,
        "help": rest,
        "source": written(source, unit),
        "unit": unit.value if rule.unit == "cm" else rule.unit,
        "choices": list(rule.choices),
        "default": None if left_out else _inside(rule.default, rule, unit),
    }
    if rule.unit != "choice":
        told |= {
            "low": _inside(rule.low, rule, unit),
            "high": _inside(rule.high, rule, unit),
            "accepted": rule.accepted(unit),
            "step": _step(rule, unit),
        }
        found = usual(rule, source)
        told["usual"] = [_inside(end, rule, unit) for end in found] if found else None
    return told


def _step(rule: ParameterRule, unit: LengthUnit) -> float:
    if rule.unit == "cm":
        fine = rule.high <= 1.0
        if unit is LengthUnit.INCH:
            return 1 / 32 if fine else 1 / 16
        return 0.01 if fine else 0.1
    if rule.unit == "deg":
        return 0.5
    return 1.0 if rule.high - rule.low > 5.0 else 0.05


def _inside(value: float | str, rule: ParameterRule, unit: LengthUnit) -> float | str:
    if isinstance(value, str) or rule.unit != "cm":
        return value
    return round(from_cm(value, unit), 4)


def _shown(value: float, kind: str, unit: LengthUnit) -> str:
    if kind == "cm" and unit is LengthUnit.INCH:
        return format_inches(value)
    return f"{value:g}"
