"""Bodies as a survey would find them, and bodies as a tired hand would write them down."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st
from scipy.stats import norm

from blocks.body.measures import measurements
from blocks.body.populations import survey

#: No measurement lies farther than this from the survey's mean, in standard deviations.
FARTHEST = 2.8
#: Nor is a whole record rarer than this: squared Mahalanobis distance that 99.9 % of the survey's
#: women stay below (ANSUR II, data/survey/women.toml).
RAREST = 42.13
_STEPS = 5000


@st.composite
def bodies(draw: st.DrawFn) -> dict[str, float]:
    """Taken measurements (cm, to the millimetre) of a woman like those of ANSUR II: one draw from
    its multivariate normal distribution, cut off at ``FARTHEST``. Shrinks to the mean woman."""
    known = survey()
    steps = draw(
        st.lists(st.integers(-_STEPS, _STEPS), min_size=len(known.keys), max_size=len(known.keys))
    )
    inside = norm.cdf(FARTHEST) - 0.5
    free = norm.ppf(0.5 + inside * np.array(steps) / _STEPS)
    apart = np.linalg.cholesky(known.correlation) @ free
    too_far = max(1.0, float(np.abs(apart).max()) / FARTHEST, float(np.sqrt(free @ free / RAREST)))
    values = known.mean + known.sd * apart / too_far
    return {key: round(float(v), 1) for key, v in zip(known.keys, values, strict=True)}


@st.composite
def scrawls(draw: st.DrawFn) -> dict[str, float]:
    """Any measurements that a card accepts, each anywhere in its hard range, most of them left
    out or not: no woman need have them."""
    needed = ("bust_girth", "waist_girth", "back_waist_length")
    known = measurements()
    chosen = draw(st.sets(st.sampled_from(sorted(set(known) - set(needed)))))
    return {
        key: draw(st.floats(*map(known[key].inside, known[key].hard)))
        for key in known
        if key in chosen or key in needed
    }
