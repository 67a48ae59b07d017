"""Whatever is drafted on to a block: collars, and what may come beside them. A component says what
it is called, what may be asked of it, how it is drafted, and how it closes round the body.

Safety is not left to the one who adds a kind: one that closes round the neck or the wrist is
registered only with the girth it closes at, and every draft of it is held against the body.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Generic, Literal, Protocol, TypeVar

from blocks.component_parameters import component_sheet
from drafting.errors import DataError, DraftError, Problem
from drafting.parameters import ParameterRule
from drafting.pieces.checks import Check, Verdict
from drafting.pieces.piece import Piece, Seam
from drafting.sentences import keep_values, length

Wishes = Mapping[str, float | str]
Part = Literal["neck", "wrist"]

#: Never less room than this round any neck or wrist (cm); common practice.
LEAST_ROOM = 1.0
#: The measurement that each part is held against.
GIRTHS: Mapping[Part, str] = MappingProxyType({"neck": "neck_girth", "wrist": "wrist_girth"})


class OnBody(Protocol):
    """What a check of the cut pieces is compared with on her real body."""

    @property
    def reads(self) -> frozenset[str]:
        """The measurements it is worked out from."""

    @property
    def ease(self) -> float:
        """What the target has over the body (cm), as was asked."""

    @property
    def astray(self) -> float:
        """The standard deviation (cm) of bodies about :meth:`target` that no measurement tells."""

    def target(self, body: Mapping[str, float]) -> float:
        """The check's target (cm) on a body (cm, radians). Raises :class:`DraftError` where there
        is no such body."""


@dataclass(frozen=True, slots=True)
class ComponentDraft:
    """A drafted component. ``numbers`` names the lengths and angles a maker may want to know (cm,
    and radians where the name ends in ``angle``); ``seams`` pairs its own edges and those of the
    block. ``leans_on`` are the measurements it was worked out from besides the block, ``on_body``
    what its checks are compared with on another body, by their names."""

    kind: str
    title: str
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    checks: tuple[Check, ...]
    numbers: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    leans_on: frozenset[str] = frozenset()
    on_body: Mapping[str, OnBody] = field(default_factory=dict)

    def __post_init__(self) -> None:
        keep_values(self, "notes")


D = TypeVar("D", bound=ComponentDraft)
G = TypeVar("G", contravariant=True)


@dataclass(frozen=True, slots=True)
class Closing(Generic[D]):
    """How a component closes round a part of the body: ``girth`` reads from its draft what it
    closes at (whole, cm), ``None`` for a draft that lies open. ``checked_by`` names the checks of
    its own of which one holds this against the body; empty where :func:`closing_check` does."""

    part: Part
    girth: Callable[[D], float | None]
    checked_by: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Component(Generic[G, D]):
    """A kind of component. ``drafter`` takes what lies on the table and wishes (centimetres,
    radians, words). ``closes`` says how it closes round the body, or why it never does.
    ``always`` are the checks without which none may leave the table. ``needs_block`` says that a
    taped line is not enough for it, ``neckline`` the style neckline it is made for, which stands
    when the card asks for none."""

    family: str
    kind: str
    drafter: Callable[[G, Wishes], D]
    closes: Closing[D] | str
    always: frozenset[str] = frozenset()
    needs_block: bool = False

    @property
    def title(self) -> str:
        """What it is called."""
        return component_sheet(self.family, self.kind).title

    @property
    def parameters(self) -> Mapping[str, ParameterRule]:
        """What may be asked of it, by key."""
        return component_sheet(self.family, self.kind).rules

    @property
    def sources(self) -> Mapping[str, str]:
        """Where the figures of each parameter are from."""
        sheet = component_sheet(self.family, self.kind)
        return MappingProxyType({key: p.source for key, p in sheet.parameters.items()})

    @property
    def neckline(self) -> Wishes:
        """The style neckline it is made for."""
        return component_sheet(self.family, self.kind).neckline

    def draft(self, ground: G, wishes: Wishes) -> D:
        """The component drafted. Raises :class:`DraftError` listing everything that cannot be, and
        for one that was drafted without the checks of its kind."""
        drafted = self.drafter(ground, wishes)
        there = {check.name for check in drafted.checks}
        lost = self.always - there
        if self.closed_girth(drafted) is not None and isinstance(self.closes, Closing):
            own = self.closes.checked_by
            lost |= own if not own & there else frozenset()
        if lost:
            raise DraftError(
                Problem(
                    f"the {self.title.lower()} was drafted without its check of "
                    f"{', '.join(sorted(lost))}",
                    key=f"{self.family}.kind",
                    advice="Do not cut it: this is a fault of the program.",
                )
            )
        return drafted

    def closed_girth(self, drafted: D) -> tuple[Part, float] | None:
        """Round what a draft closes, and at which girth (whole, cm); ``None`` for an open one."""
        if not isinstance(self.closes, Closing):
            return None
        girth = self.closes.girth(drafted)
        return None if girth is None else (self.closes.part, girth)


def closing_check(
    component: Component[G, D], drafted: D, body: Mapping[str, float]
) -> Check | None:
    """What a component closes at held against a body (cm), for kinds that have no check of it of
    their own; ``None`` for those, and for a draft that lies open. Without the girth nothing is
    compared, and the check says so."""
    closed = component.closed_girth(drafted)
    if closed is None or (isinstance(component.closes, Closing) and component.closes.checked_by):
        return None
    part, girth = closed
    known = body.get(GIRTHS[part])
    name, where = f"closed {component.title.lower()} round the {part}", component.title
    if known is None:
        advice = (
            f"Not checked: her {part} girth is not known. This closes at {length(girth)}; measure "
            "before cutting."
        )
        return Check(name, girth, girth, 0.0, Verdict.NOTE, advice, where, least=True)
    verdict, advice = Verdict.PASS, ""
    if girth < known + LEAST_ROOM:
        verdict = Verdict.FAIL
        advice = (
            f"Only {length(girth - known)} more than the {part}. Do not cut it: make it "
            f"{length(known + LEAST_ROOM - girth)} longer."
        )
    return Check(
        name,
        girth,
        known + LEAST_ROOM,
        0.0,
        verdict,
        advice,
        where,
        source="common practice",
        least=True,
    )


def registered(components: Iterable[Component[G, D]]) -> Mapping[str, Component[G, D]]:
    """Components by kind. Raises :class:`DataError` listing all that is wrong with them: two of a
    kind, data that cannot be read, or no word of how one closes round the body."""
    problems: list[Problem] = []
    found: dict[str, Component[G, D]] = {}
    for one in components:
        where = f"{one.family} {one.kind}"
        if one.kind in found:
            problems.append(Problem("there are two of this kind", where, "kind"))
        if isinstance(one.closes, Closing):
            if one.closes.part not in GIRTHS or not callable(one.closes.girth):
                problems.append(
                    Problem(
                        "it closes round the body and does not give the girth it closes at",
                        where,
                        "closes",
                        accepted=", ".join(GIRTHS),
                    )
                )
        elif not one.closes.strip():
            problems.append(
                Problem("nothing says how it closes round the body, or why not", where, "closes")
            )
        try:
            component_sheet(one.family, one.kind)
        except DataError as error:
            problems += error.problems
        found[one.kind] = one
    if problems:
        raise DataError(problems)
    return MappingProxyType(found)
