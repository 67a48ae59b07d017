"""Where a collar comes to lie: lines on the garment round the neckline, and how far it stands.

A line on the garment at a distance outside the neckline is longer by the distance times the angle
the neckline turns through, shoulders together (J. Steiner, 1840, parallel curves). A collar of one
width whose edge turns less than that is too short to lie flat: it stands at the neck until its
outer edge finds a line of its own length. Centimetres and radians.
"""

from __future__ import annotations

from math import pi

from blocks.neckline.neckline import Neckline


def neckline_turning(neckline: Neckline) -> float | None:
    """The angle half the neckline turns through from centre back to centre front with the shoulders
    sewn, ``None`` when the shoulders' slope is not known."""
    if neckline.back is None or neckline.front is None:
        return None if neckline.shoulders_slope is None else pi - neckline.shoulders_slope
    if neckline.back_tip is None or neckline.front_tip is None:
        return None if neckline.shoulders_slope is None else pi - neckline.shoulders_slope
    back_out = neckline.back_tip - neckline.back.end
    front_out = neckline.front_tip - neckline.front.start
    laid = back_out.angle - front_out.angle
    turned = neckline.front.end_heading.angle + laid - neckline.back.start_heading.angle
    return turned % (2.0 * pi)


def line_on_garment(neckline: Neckline, distance: float) -> float | None:
    """Half length of the line on the garment ``distance`` outside the neckline, ``None`` when the
    shoulders' slope is not known."""
    turning = neckline_turning(neckline)
    return None if turning is None else neckline.half + distance * turning


def standing_height(width: float, own_turning: float, neckline_turns: float) -> float:
    """The stand (cm) at which a collar of one ``width`` whose neck seam turns by ``own_turning``
    comes to lie on a neckline that turns by ``neckline_turns``.

    0 when it lies flat, half the width for a straight strip, which just reaches its own seam.
    Computed; to be seen on the toile.
    """
    return width * (1.0 - own_turning / neckline_turns) / 2.0
