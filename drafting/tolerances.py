"""Every tolerance by name, with its reason. Lengths in centimetres, angles in radians."""

from __future__ import annotations

from math import radians

#: Two points closer than this are one point: ten thousand times finer than a pencil line.
SAME_POINT = 1e-6
#: Arc lengths are integrated to this.
ARC = 1e-10
#: Solved lengths (neckline to neck, stand to neckline) meet their target within this.
SOLVED = 1e-6
#: Polylines stay this close to their curve: 0.02 mm, a tenth of what a plotter resolves.
FLATTEN = 0.002
#: Sewn seams may differ by this after drafting: a tenth of a millimetre.
SEAM = 0.01
#: Dart legs may differ by this: common practice asks 0.5 mm, a computed draft does better.
DART_LEG = 0.01
#: A neckline this far from the neck (whole neckline) is still right; common practice.
NECKLINE_GOOD = 0.3
#: Beyond this the neckline is called wrong; common practice.
NECKLINE_STOP = 0.5
#: Girths (bust, waist) of a finished draft against body plus ease; common practice.
GIRTH = 0.3
#: A closed collar's top edge may differ from neck plus finger ease by this; common practice.
TOP_EDGE = 0.3
#: Corners on a fold must be square within one degree or the opened edge shows a point.
SQUARE = radians(1.0)
#: Two edges sewn end to end may break by this before the eye sees a corner; common practice.
SMOOTH = radians(2.0)
#: From one size to the next an edge may go back by this before it is said: a tenth of a millimetre.
GRADE_BACK = 0.01
#: A size may be out of line with the sizes beside it by this; common practice cuts to 2 mm.
GRADE_EVEN = 0.2
#: A snip may tell a place this far along the seam from what it marks; common practice: shears do no
#: better.
NOTCH = 0.2
