"""What is to be cut from a cloth, how each piece may lie on it, and the plans to try: folded, a
single layer, or both. Where the pieces then lie is found in :mod:`workroom.sheets.lay`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from drafting.cloth_shapes import ClothShape, cloth_shape, positions
from drafting.kept import kept
from drafting.nesting import Shape, shape
from drafting.pieces import Piece
from drafting.points import Move
from workroom.sheets.cloth import Material, cloth_book


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


@kept(64)
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
