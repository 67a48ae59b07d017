"""A fit study: every body of a survey drafted by one method, all together, and where that fails.

Each neckline is looked at as the method draws it, with each single correction, and after the first
correction that reaches the neck; then a collar is drafted to it. Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from blocks.bodice import BlockWish
from blocks.many_bodies import ManyBlocks, ManyBodies, draft_many
from blocks.many_checks import check_many
from blocks.many_necklines import Reach, arcs
from blocks.measures import measurements
from blocks.methods import method_needs
from blocks.neck import NeckChange
from blocks.neckfit import correction_by
from collars.many_stands import ManyNecklines, collar_many
from drafting.errors import DraftError
from drafting.many_checks import ManyChecks
from drafting.points import FloatArray
from drafting.tolerances import NECKLINE_GOOD, NECKLINE_STOP
from workroom.survey.rows import Surveyed

BoolArray = NDArray[np.bool_]
#: Corrections in the order in which they are tried: in proportion first, which keeps the neck's
#: shape.
ORDER = ("both", "side", "front")
#: What became of a neckline, beside the corrections of ``ORDER``: it is right as the method draws
#: it, or no single correction reaches the neck.
AS_DRAFTED, UNREACHED = "as drafted", "none reaches"
#: A neckline farther than this from the neck base girth with its ease is counted as off.
OFF = 1.0
#: So many bodies are drafted together: their arrays stay near the processor.
_TOGETHER = 512


@dataclass(frozen=True, slots=True)
class Study:
    """What a method makes of a population; every array has an entry a body (n,), nan (or ``False``)
    where that body was refused.

    ``reasons`` say by the place of a body why it was refused. ``drafted``, ``target`` and
    ``fitted`` are whole necklines before and after the correction ``taken``; ``raised`` and
    ``narrowed`` by correction how far each would raise the front neck point and narrow the side
    neck, ``reach`` whether it does; ``rise`` that of a stand whose closed top edge would be exactly
    the neck with its ease, nan where none would; ``checks`` those of block and collar.
    """

    method: str
    collar: str
    neck_ease: float
    survey: Surveyed
    bust: FloatArray
    neck_base: FloatArray
    neck: FloatArray
    drafted: FloatArray
    target: FloatArray
    fitted: FloatArray
    taken: NDArray[np.object_]
    raised: Mapping[str, FloatArray]
    narrowed: Mapping[str, FloatArray]
    reach: Mapping[str, NDArray[np.int8]]
    rise: FloatArray
    checks: tuple[ManyChecks, ...]
    reasons: Mapping[int, str]

    @property
    def off(self) -> FloatArray:
        """The whole neckline as drafted minus what it should be."""
        return self.drafted - self.target

    @property
    def refused(self) -> BoolArray:
        """Who was refused."""
        refused = np.zeros(len(self.bust), dtype=np.bool_)
        refused[list(self.reasons)] = True
        return refused

    @property
    def fails(self) -> BoolArray:
        """Who cannot have what was asked: refused, no correction reaches, or a check failed."""
        failing = self.refused | (self.taken == UNREACHED)
        for check in self.checks:
            failing |= check.failed
        return np.asarray(failing)


def study(survey: Surveyed, method: str, collar: str = "none", neck_ease: float = 0.5) -> Study:
    """Draft every body of a survey by a method (cm over the neck base girth: ``neck_ease``), with
    the collar ``collar`` of ``collars.many_stands.MANY_KINDS`` or none, as it stands by default."""
    gathered = _Gathered(len(survey.lines))
    wish = BlockWish(method, neck_ease=neck_ease)
    for places, bodies in _batches(survey):
        try:
            _refuse_unmeasured(bodies, method)
            _look(places, draft_many(bodies, wish), collar, gathered)
        except DraftError as error:  # what all of these lack
            gathered.refuse(places, str(error))
        for key, name in (("bust_girth", "bust"), ("neck_base_girth", "neck_base")):
            if key in bodies.values:
                gathered.put(places, name, bodies.values[key])
        if "neck_girth" in bodies.values:
            gathered.put(places, "neck", bodies.values["neck_girth"])
    return gathered.study(method, collar, neck_ease, survey)


def _batches(survey: Surveyed) -> Iterator[tuple[NDArray[np.intp], ManyBodies]]:
    for places, bodies in survey.groups:
        for begin in range(0, len(places), _TOGETHER):
            some = slice(begin, begin + _TOGETHER)
            yield (
                places[some],
                ManyBodies(
                    {key: values[some] for key, values in bodies.taken.items()},
                    {key: values[some] for key, values in bodies.values.items()},
                ),
            )


def _refuse_unmeasured(bodies: ManyBodies, method: str) -> None:
    """Raises :class:`DraftError` when what the method needs, or the neck base, was not measured: a
    neckline held against a guess of the neck would tell nothing."""
    needed = method_needs(method) | {"neck_base_girth"}
    lacking = [m.name for key, m in measurements().items() if key in needed - set(bodies.taken)]
    if lacking:
        raise DraftError(f"not measured: {', '.join(lacking)}")


def _look(places: NDArray[np.intp], blocks: ManyBlocks, collar: str, gathered: _Gathered) -> None:
    """Some bodies' blocks, necklines and collars."""
    fits, refused = blocks.fits, blocks.refused
    good = ~refused
    for k in np.flatnonzero(refused):
        gathered.refuse(places[k : k + 1], blocks.reason(int(k)))
    gathered.put(places, "drafted", fits.drafted, good)
    gathered.put(places, "target", fits.target, good)
    raised, narrowed = np.zeros(len(places)), np.zeros(len(places))
    taken = np.full(len(places), AS_DRAFTED, dtype=object)
    waiting = np.abs(fits.off) > NECKLINE_GOOD
    for key in ORDER:
        found = fits.corrections[key]
        amount: Any = found.amount
        change = correction_by(fits.frame, key, amount)
        up, along = change.front_raise + 0.0 * amount, 0.0 * amount - change.side_shift
        gathered.put(places, f"raised {key}", up, good)
        gathered.put(places, f"narrowed {key}", along, good)
        gathered.put(places, f"reach {key}", found.reach, good)
        now = waiting & (found.reach == Reach.FITS) & ~np.isnan(amount)
        raised, narrowed = np.where(now, up, raised), np.where(now, along, narrowed)
        taken[now] = key
        waiting &= ~now
    taken[waiting] = UNREACHED
    gathered.taken[places[good]] = taken[good]
    moved: Any = (raised, -narrowed)
    with np.errstate(all="ignore"):
        back, front = arcs(fits.frame.changed(NeckChange(*moved)))
    back, front = (
        np.where(taken == AS_DRAFTED, fits.back, back),
        np.where(taken == AS_DRAFTED, fits.front, front),
    )
    gathered.put(places, "fitted", 2.0 * (back + front), good)
    for check in check_many(blocks)[:-1]:
        gathered.check(places, check, good)
    gathered.check(places, _after("neckline as drafted", fits.drafted, fits.target), good)
    gathered.check(
        places, _after("neckline after the correction", 2.0 * (back + front), fits.target), good
    )
    if collar != "none":
        _dress(places[good], back[good], front[good], blocks, collar, gathered)


def _after(name: str, measured: FloatArray, target: FloatArray) -> ManyChecks:
    """A whole neckline against the neck base: beyond what is good it is a note, only what is left
    after the correction stops cutting."""
    off = np.abs(measured - target)
    stops = (off > NECKLINE_STOP) & (name != "neckline as drafted")
    return ManyChecks(name, measured, target, stops, (off > NECKLINE_GOOD) & ~stops)


def _dress(
    places: NDArray[np.intp],
    back: FloatArray,
    front: FloatArray,
    blocks: ManyBlocks,
    collar: str,
    gathered: _Gathered,
) -> None:
    """The collar on some bodies' necklines."""
    necks = blocks.bodies.values["neck_girth"][~blocks.refused]
    collars = collar_many(collar, ManyNecklines(back, front, necks), {})
    for k in np.flatnonzero(collars.refused):
        gathered.refuse(places[k : k + 1], f"the collar: {collars.reason(int(k))}")
    gathered.put(places, "rise", collars.rises_for_neck())
    for check in collars.checks():
        gathered.check(places, check, ~collars.refused)


@dataclass(slots=True)
class _Gathered:
    """What is known so far, in arrays for all bodies."""

    count: int
    numbers: dict[str, FloatArray] = field(default_factory=dict)
    reasons: dict[int, str] = field(default_factory=dict)
    checks: dict[str, ManyChecks] = field(default_factory=dict)
    taken: NDArray[np.object_] = field(init=False)

    def __post_init__(self) -> None:
        self.taken = np.full(self.count, "", dtype=object)

    def refuse(self, places: NDArray[np.intp], reason: str) -> None:
        """These bodies are refused."""
        self.reasons.update(dict.fromkeys(places.tolist(), reason))

    def put(
        self, places: NDArray[np.intp], name: str, values: Any, good: BoolArray | None = None
    ) -> None:
        """Numbers of these bodies, of those that are ``good``."""
        row = self.numbers.setdefault(name, np.full(self.count, np.nan))
        row[places] = values if good is None else np.where(good, values, np.nan)

    def check(self, places: NDArray[np.intp], check: ManyChecks, good: BoolArray) -> None:
        """A check of these bodies."""
        if check.name not in self.checks:
            measured, target = np.full((2, self.count), np.nan)
            failed, noted = np.zeros((2, self.count), dtype=np.bool_)
            self.checks[check.name] = ManyChecks(check.name, measured, target, failed, noted)
        whole = self.checks[check.name]
        some = places[good]
        whole.measured[some], whole.target[some] = check.measured[good], check.target[good]
        whole.failed[some], whole.noted[some] = check.failed[good], check.noted[good]

    def study(self, method: str, collar: str, neck_ease: float, survey: Surveyed) -> Study:
        """The finished study."""
        nothing = np.full(self.count, np.nan)
        one = self.numbers.get
        return Study(
            method=method,
            collar=collar,
            neck_ease=neck_ease,
            survey=survey,
            bust=one("bust", nothing),
            neck_base=one("neck_base", nothing),
            neck=one("neck", nothing),
            drafted=one("drafted", nothing),
            target=one("target", nothing),
            fitted=one("fitted", nothing),
            taken=self.taken,
            raised={key: one(f"raised {key}", nothing) for key in ORDER},
            narrowed={key: one(f"narrowed {key}", nothing) for key in ORDER},
            reach={
                key: np.nan_to_num(one(f"reach {key}", nothing), nan=-1.0).astype(np.int8)
                for key in ORDER
            },
            rise=one("rise", nothing),
            checks=tuple(self.checks.values()),
            reasons=self.reasons,
        )
