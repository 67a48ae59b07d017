"""The checks of girths and neckline of many bodies at once, called as ``blocks.checks`` calls them.

Those that a block passes by its construction, whatever the body (legs of darts, joins of lines),
are left to the drafts one by one. Centimetres.
"""

from __future__ import annotations

import numpy as np

from blocks.checks import (
    BUST_EASE_LEFT,
    BUST_LINE,
    LEAST_BUST_EASE,
    NECKLINE,
    WAIST,
    guessed,
)
from blocks.many_bodies import ManyBlocks
from drafting.many_checks import ManyChecks, at_least_many, within_many
from drafting.tolerances import GIRTH, NECKLINE_GOOD, NECKLINE_STOP


def check_many(blocks: ManyBlocks) -> tuple[ManyChecks, ...]:
    """The checks of many blocks; what they say of refused ones means nothing."""
    q, values, fits = blocks.quantities, blocks.bodies.values, blocks.fits
    off = np.abs(fits.fitted - fits.target)
    return (
        within_many(BUST_LINE, 2.0 * q["half_width"], values["bust_girth"] + q["bust_ease"], GIRTH),
        at_least_many(BUST_EASE_LEFT, blocks.bust_ease_left, LEAST_BUST_EASE),
        within_many(
            WAIST, 2.0 * blocks.waists.closed, values["waist_girth"] + q["waist_ease"], GIRTH
        ),
        ManyChecks(
            NECKLINE + guessed("neck_base_girth" not in blocks.bodies.taken),
            fits.fitted,
            fits.target,
            off > NECKLINE_STOP,
            (off > NECKLINE_GOOD) & (off <= NECKLINE_STOP),
        ),
    )
