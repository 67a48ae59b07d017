"""A fit study: every body of a survey drafted by one method, one after the other on all cores, and
where that fails.

Each neckline is looked at as the method draws it, with each single correction, and after the first
correction that reaches the neck; then a collar is drafted to it. Centimetres.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from blocks.bodice import BlockWish, draft_bodice
from blocks.body import complete
from blocks.checks import check_bodice
from blocks.making_up import make_up
from blocks.measures import measurements
from blocks.methods import method_needs
from blocks.neckfit import Reach
from collars.drafts import Ground
from collars.registry import COLLARS
from drafting.checks import Check, Verdict
from drafting.errors import DraftError
from drafting.points import FloatArray
from drafting.tolerances import NECKLINE_GOOD
from workroom.survey.rows import Surveyed

BoolArray = NDArray[np.bool_]
#: Corrections in the order in which they are tried: in proportion first, which keeps the neck's
#: shape.
ORDER = ("both", "side", "front")
#: What became of a neckline, beside the corrections of ``ORDER``: it is right as the method draws
#: it, or no single correction reaches the neck.
AS_DRAFTED, UNREACHED = "as drafted", "none reaches"
#: What the checks of one body make of the neckline before its correction is called so.
BEFORE = "neckline as drafted"
#: A neckline farther than this from the neck base girth with its ease is counted as off.
OFF = 1.0
#: The collars that close round the neck, whose room for it a study can tell.
KINDS = tuple(kind for kind, collar in COLLARS.items() if "rise" in collar.parameters)
#: Fewer bodies than this are drafted here, without starting a process a core.
_FEW, _CHUNK = 40, 8


@dataclass(frozen=True, slots=True)
class Looked:
    """What a method makes of one body; ``refused`` why it makes nothing of it, empty when it does.

    ``raised`` and ``narrowed`` say by correction how far it would raise the front neck point and
    narrow the side neck, nan where it does not reach; ``rise`` is that of a stand whose closed top
    edge would be exactly the neck with its ease, nan where none would.
    """

    refused: str = ""
    drafted: float = np.nan
    target: float = np.nan
    fitted: float = np.nan
    taken: str = ""
    raised: Mapping[str, float] = field(default_factory=dict)
    narrowed: Mapping[str, float] = field(default_factory=dict)
    reach: Mapping[str, Reach] = field(default_factory=dict)
    rise: float = np.nan
    checks: tuple[Check, ...] = ()


@dataclass(frozen=True, slots=True)
class Tally:
    """A check over all bodies, an entry a body: what was measured and wanted (nan for a body that
    was refused or has no such check), and whether it ``failed`` or is to be looked at."""

    name: str
    measured: FloatArray
    target: FloatArray
    failed: BoolArray
    noted: BoolArray

    @property
    def off(self) -> FloatArray:
        """Measured minus target."""
        return self.measured - self.target


@dataclass(frozen=True, slots=True)
class Study:
    """What a method makes of a population; every array has an entry a body (n,), nan where that
    body was refused. ``reasons`` say by the place of a body why it was; the rest is as in
    :class:`Looked`."""

    method: str
    collar: str
    neck_ease: float
    survey: Surveyed
    bodies: tuple[Looked, ...]
    checks: tuple[Tally, ...]

    @property
    def reasons(self) -> Mapping[int, str]:
        """Why bodies were refused, by their places."""
        return {k: one.refused for k, one in enumerate(self.bodies) if one.refused}

    @property
    def refused(self) -> BoolArray:
        """Who was refused."""
        return np.array([bool(one.refused) for one in self.bodies])

    def taken_of(self, key: str) -> FloatArray:
        """A measurement of every body (cm, radians), nan where it was not taken."""
        return np.array([taken.get(key, np.nan) for taken in self.survey.bodies])

    @property
    def bust(self) -> FloatArray:
        """The bust girths."""
        return self.taken_of("bust_girth")

    @property
    def neck_base(self) -> FloatArray:
        """The neck base girths."""
        return self.taken_of("neck_base_girth")

    @property
    def drafted(self) -> FloatArray:
        """Whole necklines as the method draws them."""
        return np.array([one.drafted for one in self.bodies])

    @property
    def target(self) -> FloatArray:
        """What they should be."""
        return np.array([one.target for one in self.bodies])

    @property
    def fitted(self) -> FloatArray:
        """Whole necklines after the correction ``taken``."""
        return np.array([one.fitted for one in self.bodies])

    @property
    def off(self) -> FloatArray:
        """The whole neckline as drafted minus what it should be."""
        return self.drafted - self.target

    @property
    def taken(self) -> NDArray[np.str_]:
        """The correction that was made; empty for those refused."""
        return np.array([one.taken for one in self.bodies], dtype=np.str_)

    @property
    def rise(self) -> FloatArray:
        """Rises that would close the top edge exactly."""
        return np.array([one.rise for one in self.bodies])

    def raised(self, key: str) -> FloatArray:
        """How far a correction would raise the front neck point."""
        return np.array([one.raised.get(key, np.nan) for one in self.bodies])

    def narrowed(self, key: str) -> FloatArray:
        """How far a correction would narrow the side neck."""
        return np.array([one.narrowed.get(key, np.nan) for one in self.bodies])

    def reaches(self, key: str, reach: Reach) -> BoolArray:
        """Of whom this is so of a correction."""
        return np.array([one.reach.get(key) is reach for one in self.bodies])

    @property
    def fails(self) -> BoolArray:
        """Who cannot have what was asked: refused, no correction reaches, or a check failed."""
        failing = self.refused | (self.taken == UNREACHED)
        for check in self.checks:
            failing |= check.failed
        return np.asarray(failing)


def study(
    survey: Surveyed,
    method: str,
    collar: str = "none",
    neck_ease: float = 0.5,
    progress: Callable[[int], None] | None = None,
) -> Study:
    """Draft every body of a survey by a method (cm over the neck base girth: ``neck_ease``), with
    the collar ``collar`` of ``KINDS`` or none, as it stands by default. ``progress`` is told after
    every body how many are done."""
    look = partial(look_at, method=method, collar=collar, neck_ease=neck_ease)
    found = []
    for one in _each(look, survey.bodies):
        found.append(one)
        if progress is not None:
            progress(len(found))
    return Study(method, collar, neck_ease, survey, tuple(found), _tallied(found))


def _each(
    look: Callable[[Mapping[str, float]], Looked], bodies: tuple[Mapping[str, float], ...]
) -> Iterator[Looked]:
    if len(bodies) < _FEW:
        yield from map(look, bodies)
        return
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        yield from pool.map(look, bodies, chunksize=_CHUNK)


def look_at(taken: Mapping[str, float], method: str, collar: str, neck_ease: float) -> Looked:
    """One body (measurements by key, centimetres and radians) by a method."""
    needed = method_needs(method) | {"neck_base_girth"}
    if lacking := [m.name for key, m in measurements().items() if key in needed - set(taken)]:
        # a neckline held against a guess of the neck would tell nothing
        return Looked(f"not measured: {', '.join(lacking)}")
    wish = partial(BlockWish, method, neck_ease=neck_ease)
    try:
        body = complete(taken)
        plain = draft_bodice(body, wish())
        corrections = {one.key: one for one in plain.fit.corrections}
        chosen = next((key for key in ORDER if corrections[key].change is not None), UNREACHED)
        chosen = AS_DRAFTED if abs(plain.fit.off) <= NECKLINE_GOOD else chosen
        draft = draft_bodice(body, wish(fit=chosen)) if chosen in ORDER else plain
        back, front = make_up(draft)
        checks = (_before(plain.fit.drafted, plain.fit.target), *check_bodice(draft, back, front))
    except DraftError as error:
        return Looked(error.told)
    rise = np.nan
    if collar != "none":
        try:
            sewn = COLLARS[collar].draft(Ground(draft.neckline, back, front), {})
        except DraftError as error:
            return Looked(f"the collar: {error}")
        checks += sewn.checks
        rise = sewn.numbers.get("rise_for_neck", sewn.numbers.get("rise", np.nan))
    moves = {key: one.change for key, one in corrections.items() if one.change is not None}
    return Looked(
        drafted=plain.fit.drafted,
        target=plain.fit.target,
        fitted=draft.fit.fitted,
        taken=chosen,
        raised={key: change.front_raise for key, change in moves.items()},
        narrowed={key: 0.0 - change.side_shift for key, change in moves.items()},
        reach={key: one.reach for key, one in corrections.items()},
        rise=rise,
        checks=checks,
    )


def _before(drafted: float, target: float) -> Check:
    """The neckline before any correction, which is never what stops cutting."""
    good = abs(drafted - target) <= NECKLINE_GOOD
    verdict = Verdict.PASS if good else Verdict.NOTE
    return Check(BEFORE, drafted, target, NECKLINE_GOOD, verdict)


def _tallied(bodies: list[Looked]) -> tuple[Tally, ...]:
    tallies: dict[str, Tally] = {}
    for k, one in enumerate(bodies):
        for check in one.checks:
            if check.name not in tallies:
                measured, target = np.full((2, len(bodies)), np.nan)
                failed, noted = np.zeros((2, len(bodies)), dtype=np.bool_)
                tallies[check.name] = Tally(check.name, measured, target, failed, noted)
            tally = tallies[check.name]
            # two of a name (back and front): the worse one is told
            worse = abs(check.off) > abs(tally.off[k]) or not np.isfinite(tally.measured[k])
            if worse:
                tally.measured[k], tally.target[k] = check.measured, check.target
            tally.failed[k] |= check.verdict is Verdict.FAIL
            tally.noted[k] |= check.verdict is Verdict.NOTE
    return tuple(tallies.values())
