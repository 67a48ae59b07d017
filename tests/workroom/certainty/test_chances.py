"""Chances as they are told against drafts made anew; scripts/chances.py has the whole table."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[3] / "scripts" / "chances.py"
#: So many bodies, spread evenly over every error, tell a chance to about 2 in 100.
DRAWS, BOUND = 128, 0.05


@pytest.fixture(scope="module")
def chances() -> ModuleType:
    spec = importlib.util.spec_from_file_location("chances", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["chances"] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(("name", "way"), [("Ada", "neck"), ("Dora", "number")])
def test_a_chance_is_how_often_the_pieces_pass_on_bodies_as_they_may_be(
    chances: ModuleType, name: str, way: str
) -> None:
    """Ada's neck was not taped at the collar's top, nor Dora's neck girth."""
    rows = chances.told_and_drawn(chances.card_of(name, way), DRAWS)
    assert len(rows) == 6
    assert all(row.draws > DRAWS / 2 for row in rows)
    for row in rows:
        assert row.harmless[0] == pytest.approx(row.harmless[1], abs=BOUND), row.check
        assert row.on_target[0] == pytest.approx(row.on_target[1], abs=BOUND), row.check
    assert sum(0.05 < chance < 0.95 for row in rows for chance in (row.harmless[0],)) >= 1
