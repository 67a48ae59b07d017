"""The collar on the neck for the desk: cells to be turned and painted by the page, and words.

Asked for on its own, only while the view stands open, so that what is typed is drawn as quickly as
without it. Nothing is saved. Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from workroom.desk.look import look_at
from workroom.on_neck import MUCH, SEEN, legend, neck_lines, on_neck
from workroom.sheets.neck_picture import Cells, Layer, cells_of, lifted_front


def neck_view(sent: Mapping[str, Any]) -> dict[str, Any]:
    """What the page needs to show a card's content on the neck; ``why`` says in words when it
    cannot be shown. Never raises for what a person may type."""
    order = look_at(sent).order
    if order is None:
        return {"why": "There is no draft yet to show on the neck."}
    space = on_neck(order)
    if isinstance(space, str):
        return {"why": f"{space[0].upper()}{space[1:]}"}
    front = lifted_front(space)
    return {
        "why": "",
        "layers": [_told(cells) for cells in cells_of(space)],
        "front": [] if front is None else np.round(front, 3).tolist(),
        "seen": SEEN,
        "much": MUCH,
        "said": neck_lines(order, space),
        "legend": legend(),
    }


def _told(cells: Cells) -> dict[str, Any]:
    """One layer as plain numbers: four corners a cell, the way out, what it gives, its edges."""
    return {
        "layer": int(cells.layer),
        "name": cells.layer.name.lower(),
        "cloth": cells.layer > Layer.NECK,
        "corners": np.round(cells.corners.reshape(-1, 12), 2).tolist(),
        "outward": np.round(cells.outward, 2).tolist(),
        "strains": np.round(cells.strains, 4).tolist(),
        "rim": [[k for k, side in enumerate(sides) if side] for sides in cells.rim],
    }
