"""Every published size drafts by both methods and its neckline fits its published neck base girth.

Sources: ASTM D5585-11e1, Table 1 (girths); ASTM D5585-95 (from memory).
"""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.body.populations import size, size_names, size_tables
from drafting.errors import DataError
from drafting.pieces.checks import failed

SIZES = [(table, name) for table in size_tables() for name in size_names(table)]


def body_of(table: str, name: str) -> dict[str, float]:
    """The printed measurements; a back waist length of 40 where the table prints none."""
    return {"back_waist_length": 40.0} | size(table, name)


@pytest.mark.parametrize("method", method_names())
@pytest.mark.parametrize(("table", "name"), SIZES)
def test_a_size_drafts_and_fits_its_neck(table: str, name: str, method: str) -> None:
    body = complete(body_of(table, name))
    plain = draft_bodice(body, BlockWish(method, neck_ease=0.0))
    ways = [c.key for c in plain.fit.corrections if c.change is not None]

    assert "both" in ways
    for fit in ways:
        draft = draft_bodice(body, BlockWish(method, neck_ease=0.0, fit=fit, button_stand=1.5))
        pieces = make_up(draft)
        assert 2 * draft.neckline.half == pytest.approx(body["neck_base_girth"], abs=0.001)
        assert all(Polygon(piece.outline()).is_valid for piece in pieces)
        assert failed(check_bodice(draft, *pieces)) == ()


def test_the_tables_are_the_printed_ones() -> None:
    assert len(SIZES) == 22
    assert size("astm-d5585-11", "10")["neck_base_girth"] == 37.8
    assert size("astm-d5585-95", "20")["scye_depth"] == 21.0
    with pytest.raises(DataError, match="there is no such size"):
        size("astm-d5585-95", "21")
