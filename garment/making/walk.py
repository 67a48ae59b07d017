"""The steps of making, in order and in words: what to sew after what, with the order's numbers.

The sentences stand in ``data/making.toml``. Centimetres inside.
"""

from __future__ import annotations

import string
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from drafting.errors import DataError, Problem
from drafting.library import read_data
from drafting.pieces.assembly import Operation, in_order
from drafting.pieces.piece import Dart, EdgeKind, Mark, MarkKind
from drafting.sentences import Sentence, length, written
from drafting.units import LengthUnit
from garment.garment import Garment
from garment.making.facts import Facts, facts_of
from garment.making.plan import Kind, assembly_of, holds, parts, plan

#: Less ease than this (cm) needs no word: it is the thickness of a line.
NO_EASE = 0.05
_CENTRE = {"BACK": "centre back", "FRONT": "centre front"}
_COUNTS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step: the ``part`` of the work it belongs to, what is ``said``, what is done, and the
    ``lengths`` (cm) it speaks of by their names in the data."""

    part: str
    said: Sentence
    operation: Operation
    lengths: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Making:
    """The steps in order, for a maker who works in ``unit``, and the cautions."""

    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    unit: LengthUnit

    def parts(self) -> list[tuple[str, list[str]]]:
        """The numbered steps in the order's unit, under the parts of the work as they come."""
        found: list[tuple[str, list[str]]] = []
        for number, step in enumerate(self.steps, start=1):
            if not found or found[-1][0] != step.part:
                found.append((step.part, []))
            found[-1][1].append(f"{number}. {written(step.said, self.unit)}")
        return found

    def lines(self) -> list[str]:
        """For a text file."""
        told = [line for part, steps in self.parts() for line in ("", part, "", *steps)]
        return ["Order of making", *told, "", "Take care", "", *self.cautions]


def order_of_making(order: Garment) -> Making:
    """The steps for an order. Raises :class:`DataError` when the data has no words for one of its
    seams, darts or edges, or speaks of what there is not."""
    values = read_data("making").values
    figures = {key: float(row["value"]) for key, row in values["figures"].items()}
    assembly = assembly_of(order.pieces)
    facts = facts_of(order, assembly, parts(), figures)
    planned = plan(facts)
    kind_of = {id(operation): kind for kind, operation in planned}
    first = [operation for kind, operation in planned if kind.does == "first"]
    last = [operation for kind, operation in planned if kind.does == "last"]
    sewn = [operation for kind, operation in planned if kind.does not in ("first", "last")]
    done = (*first, *in_order(sewn, assembly), *last)
    return Making(
        tuple(_step(kind_of[id(operation)], operation, facts) for operation in done),
        tuple(values["cautions"]["said"]),
        order.commission.unit,
    )


def _step(kind: Kind, operation: Operation, facts: Facts) -> Step:
    lengths = dict(facts.lengths) | _own_lengths(operation, facts)
    words = _order_words(facts)
    if operation.dart is not None:
        more, named = _dart(operation.dart, facts)
        lengths, words = lengths | more, words | named
    true = facts.true | frozenset(_own_facts(operation, facts, lengths))
    said = [sentence.said for sentence in kind.said if holds(sentence.when, true)]
    used = [name for text in said for _, name, _, _ in string.Formatter().parse(text) if name]
    strangers = [name for name in used if name not in lengths and name not in words]
    if strangers:
        raise DataError(
            Problem(
                f"the order of making speaks of {', '.join(strangers)}",
                place="making.toml",
                key=kind.key,
                accepted=", ".join([*lengths, *words]),
            )
        )
    values = {name: length(value, places=_places(name, value)) for name, value in lengths.items()}
    return Step(
        kind.part,
        Sentence(" ".join(said).format(**(values | words))),
        operation,
        {name: lengths[name] for name in used if name in lengths},
    )


def _places(name: str, value: float) -> int:
    """Decimals of a centimetre: none for a round figure of the data, two for what is small."""
    if name in read_data("making").values["figures"] and value == round(value):
        return 0
    return 1 if value >= 1.0 else 2


def _own_lengths(operation: Operation, facts: Facts) -> dict[str, float]:
    """What an operation sews or finishes, along edges of each name and along all of them."""
    assembly, found = facts.assembly, {}
    if operation.seams:
        found["length"] = assembly.stitched(operation.seams)
        names = {side.edge for seam in operation.seams for side in (seam.first, seam.second)}
        for name in names:
            found[_slug(name)] = assembly.stitched(operation.seams, name)
        found["ease"] = sum((seam.ease for seam in operation.seams if seam.ease > 0.0), 0.0)
        on = [seam for seam in operation.seams if _is_collar_on_neckline(seam.first.piece, facts)]
        eased = sum(s.ease for s in on if facts.part(s.second.piece) == "bodice")
        found["collar_ease"], found["collar_short"] = eased, -eased
    if operation.edges:
        left = assembly.unsewn(facts.order.seams)
        for code, place in operation.edges:
            slug = _slug(assembly.pieces[code].edges[place].name)
            found[slug] = found.get(slug, 0.0) + left.get((code, place), 0.0)
        half = sum(
            left.get(place, 0.0) for place in operation.edges if not facts.turned_under(place)
        )
        found["each"], found["all_round"] = half, 2 * half
        over = facts.lengths["strip_over"]
        found["strip_each"], found["strip"] = half + over, 2 * half + over
    return found


def _is_collar_on_neckline(code: str, facts: Facts) -> bool:
    return facts.part(code) in ("collar", "stand")


def _own_facts(operation: Operation, facts: Facts, lengths: Mapping[str, float]) -> Iterator[str]:
    """What holds of one operation: its pieces, its edges, its ease."""
    sides = [side for seam in operation.seams for side in (seam.first, seam.second)]
    codes = {side.piece for side in sides} | {code for code, _ in operation.edges}
    yield from (f"piece {code}" for code in codes)
    yield from (f"edge {side.edge.value}" for side in sides)
    yield from (
        f"edge {facts.assembly.pieces[code].edges[place].name.value}"
        for code, place in operation.edges
    )
    if lengths.get("ease", 0.0) >= NO_EASE:
        yield "eased"
    if lengths.get("collar_ease", 0.0) >= NO_EASE:
        yield "collar eased"
    if lengths.get("collar_short", 0.0) >= NO_EASE:
        yield "collar stretched"


def _order_words(facts: Facts) -> dict[str, str]:
    """What is named rather than measured."""
    pieces = facts.order.pieces
    holes = [m for p in pieces for m in p.marks if m.kind is MarkKind.BUTTONHOLE]
    count = _COUNTS[len(holes)] if len(holes) < len(_COUNTS) else str(len(holes))
    fused = [f"{p.title.lower()} ({p.cut.interfacing})" for p in pieces if p.cut.interfacing]
    return {
        "interfaced": _listed([f"the {words}" for words in fused]),
        "buttonhole_count": f"{count} buttonhole{'s' * (len(holes) != 1)}",
    }


def _listed(words: list[str]) -> str:
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]])) if words else ""


def _dart(sewn: tuple[str, Dart | Mark], facts: Facts) -> tuple[dict[str, float], dict[str, str]]:
    """The lengths of a dart and its words."""
    code, dart = sewn
    centre = _CENTRE.get(code, "the centre")
    if isinstance(dart, Mark):
        corners = sorted(
            (dart.curve.at_length(at) for at in _corners(dart)), key=lambda point: point.y
        )
        foot, left, right, top = corners
        middle = left.towards(right, 0.5)
        lengths = {"width": left.to(right), "up": middle.to(top), "down": middle.to(foot)}
        return lengths, {"dart": f"{dart.label}s", "it": "them", "centre": centre}
    piece = facts.assembly.pieces[code]
    opens = piece.edges[next(iter(facts.assembly.beside((code, dart.mouth))))[1]].name.value
    pressed = read_data("making").values["pressed"].get(opens, "to one side")
    return (
        {"width": dart.width, "long": dart.first.to(dart.tip)},
        {
            "dart": f"{dart.name.split(',')[0]}s",
            "from": opens if opens.startswith("centre") else f"the {opens}",
            "it": "them",
            "pressed": pressed.format(centre=centre),
        },
    )


def _corners(mark: Mark) -> list[float]:
    """Where the four corners of a stitched dart lie along its line."""
    points = mark.curve.controls[:-1]
    at, found = 0.0, []
    for k, point in enumerate(points):
        found.append(at)
        after = points[(k + 1) % len(points)]
        at += float(((after - point) ** 2).sum() ** 0.5)
    return found


def _slug(name: EdgeKind) -> str:
    return name.value.replace(" ", "_")
