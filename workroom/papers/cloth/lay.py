"""How pieces lie on cloth to be cut, and how much cloth that takes.

The cloth is folded lengthwise, selvedges together, and whatever is cut in pairs or on the fold is
cut there through both layers; what is wanted once, or twice the same way round, is cut from the
cloth opened out behind it. When a single layer from end to end needs less to buy, it is laid so:
pieces drafted on the fold are then opened out first, and one of each pair is turned over.

Every piece has its grain along the selvedge. It may lie head down unless the cloth is one-way (a
nap, a print that stands up). Interfacing is cut a little inside the sew line. The places are found
by :mod:`drafting.geometry.nesting`: a good lay, not proven the best.

Centimetres. On the cloth opened out x runs across, 0 along the middle (the fold), and y along it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, inf

from shapely.geometry import Polygon

from drafting.errors import DraftError, Problem
from drafting.geometry.nesting import Item, Nester, Shape, shape
from drafting.geometry.points import FloatArray, Move, Point
from drafting.memo import memo_by_identity
from drafting.pieces.cloth_shapes import ClothShape, cloth_shape, positions
from drafting.pieces.piece import Piece
from drafting.sentences import DOWN, length
from drafting.tolerances import SAME_POINT
from drafting.units import LengthUnit, format_cloth
from workroom.papers.cloth.cloth import Cloth, Material, cloth_book

# ---- What is to be cut from a cloth, how each piece may lie on it, and the plans to try:
# folded, a single layer, or both. Where the pieces then lie is found in
# :mod:`workroom.papers.cloth.lay`


@dataclass(frozen=True, slots=True, eq=False)
class Position:
    """One way a piece may lie."""

    move: Move
    shape: Shape
    head_down: bool


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """A piece, how many are wanted, and how it may lie: half on the fold, face up, face down."""

    piece: Piece
    count: int
    on_cloth: ClothShape
    half: tuple[Position, ...]
    plain: tuple[Position, ...]
    over: tuple[Position, ...]

    @staticmethod
    def of(piece: Piece, material: Material, one_way: bool) -> Wanted:
        """A piece as its plan wants it from a material.

        Raises :class:`DraftError` when no cut line can be laid round it.
        """
        return _wanted(piece, material, one_way)

    @property
    def has_fold(self) -> bool:
        """Was it drafted on a fold?"""
        return any(edge.on_fold for edge in self.piece.edges)

    @property
    def upright(self) -> Wanted:
        """The same without the ways head down."""
        half, plain, over = (ways[:1] for ways in (self.half, self.plain, self.over))
        return replace(self, half=half, plain=plain, over=over)

    @property
    def doubles(self) -> int:
        """How many times it can be cut through both layers."""
        return self.count // 2 if self.on_cloth.symmetrical or self.piece.cut.mirrored_pair else 0


@memo_by_identity(64)
def _wanted(piece: Piece, material: Material, one_way: bool) -> Wanted:
    """:meth:`Wanted.of`, the same for every width of cloth."""
    if one_way:
        return _wanted(piece, material, False).upright
    laying = cloth_book().laying
    inside = laying.interfacing_inside if material is Material.INTERFACING else None
    on_cloth = cloth_shape(piece, inside)

    def made(*, on_fold: bool = False, turned_over: bool = False) -> tuple[Position, ...]:
        ways = positions(on_cloth, on_fold=on_fold, turned_over=turned_over)
        return tuple(
            Position(move, shape(ring, laying.gap), n == 1) for n, (move, ring) in enumerate(ways)
        )

    plain = made()
    return Wanted(
        piece,
        material.wanted(piece.cut),
        on_cloth,
        () if on_cloth.half is None else made(on_fold=True),
        plain,
        plain if on_cloth.symmetrical else made(turned_over=True),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """One piece to lay, one way."""

    wanted: Wanted
    positions: tuple[Position, ...]
    doubled: bool = False
    on_fold: bool = False
    turned_over: bool = False

    @property
    def upright(self) -> Cut:
        """The same without the way head down."""
        return replace(self, positions=self.positions[:1])


@dataclass(frozen=True, slots=True)
class Plan:
    """What is cut from folded cloth, and what from cloth opened out behind it."""

    folded: tuple[Cut, ...]
    single: tuple[Cut, ...]

    @property
    def upright(self) -> Plan:
        """The same with no piece head down."""
        return Plan(*(tuple(c.upright for c in cuts) for cuts in (self.folded, self.single)))


def plans(wanted: Sequence[Wanted]) -> Iterator[Plan]:
    """The plans, the simplest first: folded with everything on the fold that can be, a single
    layer, then folded with the shortest pieces on the fold opened out behind it, one by one.

    Where pieces may lie head down, each is tried with all of them upright too.
    """
    on_fold = sorted((one for one in wanted if one.half), key=lambda one: one.half[0].shape.height)
    found = []
    for opened in range(len(on_fold) + 1):
        out = on_fold[:opened]
        folded, single = [], []
        for one in wanted:
            if one in out:
                single += _singles(one, one.count)
            elif one.half:
                folded += [Cut(one, one.half, on_fold=True)] * one.count
            else:
                folded += [Cut(one, one.plain, doubled=True)] * one.doubles
                single += _singles(one, one.count - 2 * one.doubles)
        if folded:
            found.append(Plan(tuple(folded), tuple(single)))
    found.append(Plan((), tuple(cut for one in wanted for cut in _singles(one, one.count))))
    for plan in sorted(found, key=lambda plan: bool(plan.folded) and bool(plan.single)):
        yield plan
        if any(len(cut.positions) > 1 for cut in plan.folded + plan.single):
            yield plan.upright


def _singles(one: Wanted, count: int) -> list[Cut]:
    """Cut from a single layer; of a pair every second one face down."""
    pair = one.piece.cut.mirrored_pair and not one.on_cloth.symmetrical
    return [
        Cut(one, one.over, turned_over=True) if pair and k % 2 else Cut(one, one.plain)
        for k in range(count)
    ]


@dataclass(frozen=True, slots=True, eq=False)
class LaidPiece:
    """A piece where it lies. ``outline`` (n, 2) is cut; ``move`` brought it there from the draft.

    ``doubled``: cut through both layers, so the other lies mirrored at the other side of the fold.
    ``on_fold``: half a piece whose fold lies on the cloth's fold. ``opened``: drafted on the fold,
    but opened out. ``turned_over``: lies face down.
    ``head_down``: lies half a turn from the way it was drafted.
    """

    piece: Piece
    outline: FloatArray
    move: Move
    doubled: bool = False
    on_fold: bool = False
    opened: bool = False
    turned_over: bool = False
    head_down: bool = False

    @property
    def gives(self) -> int:
        """How many pieces come of it."""
        return 2 if self.doubled else 1

    @property
    def area(self) -> float:
        """Cloth in all that comes of it, square centimetres."""
        return float(Polygon(self.outline).area) * (2 if self.doubled or self.on_fold else 1)


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the cloth, from ``start`` to ``end``, folded lengthwise or opened out."""

    folded: bool
    start: float
    end: float


@dataclass(frozen=True, eq=False)
class Lay:
    """A whole lay on cloth of one width. ``folded_to_buy`` is what it would take all folded, where
    a single layer takes less and all can be cut so."""

    material: Material
    cloth: Cloth
    width: float
    one_way: bool
    sections: tuple[Section, ...]
    pieces: tuple[LaidPiece, ...]
    folded_to_buy: float | None = None

    @property
    def length(self) -> float:
        """From the first cut to the last."""
        return self.sections[-1].end

    @property
    def folded(self) -> bool:
        """Is any of it cut from folded cloth?"""
        return any(section.folded for section in self.sections)

    @cached_property
    def utilisation(self) -> float:
        """The share of the cloth, from selvedge to selvedge, that ends up in pieces."""
        return sum(one.area for one in self.pieces) / (self.width * self.length)

    @property
    def needed(self) -> float:
        """Length that is needed, with the ends straightened and what the wash may take."""
        return (self.length + self.cloth.ends) / (1.0 - self.cloth.shrinkage)

    @property
    def to_buy(self) -> float:
        """The same rounded up to what is sold."""
        step = cloth_book().laying.step
        return ceil(self.needed / step - SAME_POINT) * step

    def buy(self, unit: LengthUnit) -> str:
        """How much to buy, in words: centimetres in the steps it is sold in, or yards."""
        return format_cloth(self.to_buy if unit is LengthUnit.CM else self.needed, unit)


def lay(
    pieces: Iterable[Piece],
    material: Material = Material.CLOTH,
    width: float = 140.0,
    *,
    one_way: bool = False,
    nester: Nester | None = None,
) -> Lay:
    """The lay that needs least to buy of cloth ``width`` wide; folded when that makes no
    difference, because pairs then come out as pairs. ``nester`` is one that laid these pieces
    before and remembers them.

    Raises :class:`DraftError` for a piece wider than the cloth, and when nothing is to be cut.
    """
    cloth = cloth_book().cloths[material]
    wanted = [Wanted.of(piece, material, one_way) for piece in pieces]
    wanted = [one for one in wanted if one.count]
    if not wanted:
        raise DraftError(Problem(f"no piece is cut from {material}"))
    _refuse_wide(wanted, cloth, width)
    best: Lay | None = None
    nester = nester or Nester(cloth_book().laying.gap)
    folded = inf
    for plan in plans(wanted):
        most = inf if best is None else _longest(best.to_buy - cloth_book().laying.step, cloth)
        found = _laid(plan, cloth, width, nester, most)
        if found is not None:
            sections, laid = found
            best = Lay(material, cloth, width, one_way, sections, laid)
            if not plan.single:
                folded = best.to_buy
    assert best is not None  # a single layer takes all that was not refused
    return replace(best, folded_to_buy=folded if best.to_buy < folded < inf else None)


def _longest(to_buy: float, cloth: Cloth) -> float:
    """The longest lay for which so much is enough."""
    return to_buy * (1.0 - cloth.shrinkage) - cloth.ends + SAME_POINT


@dataclass(frozen=True, slots=True)
class Lays:
    """The lays of an order, and what could not be laid."""

    lays: tuple[Lay, ...]
    problems: tuple[Problem, ...]


def all_lays(
    pieces: Iterable[Piece], *, one_way: bool = False, unit: LengthUnit = LengthUnit.CM
) -> Lays:
    """A lay for each material that is cut from and each width it is sold in, where makers work in
    ``unit``."""
    given = tuple(pieces)
    lays: list[Lay] = []
    problems: list[Problem] = []
    nester = _nester(given)
    for material, cloth in cloth_book().cloths.items():
        if not any(material.wanted(piece.cut) for piece in given):
            continue
        for width in cloth.widths[unit]:
            try:
                lays.append(lay(given, material, width, one_way=one_way, nester=nester))
            except DraftError as error:
                problems += error.problems
    return Lays(tuple(lays), tuple(problems))


@memo_by_identity(4)
def _nester(pieces: tuple[Piece, ...]) -> Nester:
    """One that remembers these pieces from cloth with a way to cloth without."""
    return Nester(cloth_book().laying.gap)


# ---- laying -------------------------------------------------------------------------------------


def _refuse_wide(wanted: Sequence[Wanted], cloth: Cloth, width: float) -> None:
    room = width - 2 * cloth.selvedge
    problems = []
    for one in wanted:
        across = float(one.plain[0].shape.outline.max(axis=0)[0])
        if across > room + SAME_POINT:
            problems.append(
                Problem(
                    f"this piece is wider than {cloth.title.lower()} of {length(width, places=0)}",
                    place=one.piece.title,
                    got=f"{length(across)} across the grain",
                    accepted=f"{length(room, rounding=DOWN)} between the selvedges",
                    advice="Take wider cloth, or give the piece a seam.",
                )
            )
    if problems:
        raise DraftError(problems)


def _laid(
    plan: Plan, cloth: Cloth, width: float, nester: Nester, longest: float
) -> tuple[tuple[Section, ...], tuple[LaidPiece, ...]] | None:
    """The sections of a plan one behind the other; ``None`` when something is too wide folded, or
    when it takes more than ``longest``."""
    gap = cloth_book().laying.gap
    half = width / 2 - cloth.selvedge
    sections: list[Section] = []
    laid: list[LaidPiece] = []
    start = 0.0
    for cuts, folded in ((plan.folded, True), (plan.single, False)):
        if not cuts:
            continue
        items = [Item(tuple(p.shape for p in cut.positions), cut.on_fold) for cut in cuts]
        found = nester.nest(items, half if folded else 2 * half, longest - start)
        if found is None:
            return None
        for cut, spot in zip(cuts, found.spots, strict=True):
            shift = Point(spot.x if folded else spot.x - half, start + spot.y)
            laid.append(_laid_piece(cut, cut.positions[spot.shape], shift))
        sections.append(Section(folded, start, start + found.length))
        start += found.length + gap
    return tuple(sections), tuple(laid)


def _laid_piece(cut: Cut, position: Position, shift: Point) -> LaidPiece:
    return LaidPiece(
        piece=cut.wanted.piece,
        outline=Move(shift=shift).apply(position.shape.outline),
        move=position.move.then(Move(shift=shift)),
        doubled=cut.doubled,
        on_fold=cut.on_fold,
        opened=cut.wanted.has_fold and not cut.on_fold,
        turned_over=cut.turned_over,
        head_down=position.head_down,
    )
