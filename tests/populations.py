"""Many bodies at once, like those of ``tests.strategies``, as arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from blocks.body.populations import survey
from tests.strategies import FARTHEST, RAREST


def population(count: int, seed: int = 1, spread: float = 1.0) -> dict[str, NDArray[np.float64]]:
    """Taken measurements (cm, to the millimetre) of ``count`` women drawn as ``bodies`` draws one;
    ``spread`` times as far from the mean."""
    known = survey()
    chance = np.random.default_rng(seed)
    inside = norm.cdf(FARTHEST) - 0.5
    free = norm.ppf(0.5 + inside * chance.uniform(-1.0, 1.0, (count, len(known.keys))))
    apart = free @ np.linalg.cholesky(known.correlation).T
    too_far = np.maximum(1.0, np.abs(apart).max(axis=1) / FARTHEST)
    too_far = np.maximum(too_far, np.sqrt((free**2).sum(axis=1) / RAREST))
    values = known.mean + known.sd * spread * apart / too_far[:, None]
    return {key: np.round(column, 1) for key, column in zip(known.keys, values.T, strict=True)}
