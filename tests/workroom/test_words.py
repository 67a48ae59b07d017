"""What a maker reads: plain words, one for each thing, and every sentence in the list."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[2] / "scripts" / "sentences.py"
#: Words that no maker says, and the older word where makers read the common one.
AVOIDED = re.compile(r"\b(?:nought|reckoned|hangs? on (?:it|how)|armscye|scyes?)\b", re.IGNORECASE)
#: Where a card's own word is shown, and the names of standards.
ALLOWED = re.compile(r"\(scye\)|shoulder, scye, side_seam|Scye depth|Armscye girth")


@pytest.fixture(scope="module")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("sentences", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["sentences"] = module
    spec.loader.exec_module(module)
    return module


def test_a_sentence_with_other_numbers_is_listed_once(script: ModuleType) -> None:
    told = [("a", "Raise it by 1.5 cm. Then press it."), ("b", "Raise it by 3/8 cm."), ("c", "cm")]
    assert script.listed(told) == {"Raise it by # cm.": "a", "Then press it.": "a"}


def test_no_sentence_has_a_word_that_no_maker_says(script: ModuleType) -> None:
    sources = (script.from_data, script.from_page, script.from_commands, script.from_code)
    found = script.listed(pair for source in sources for pair in source())
    assert len(found) > 1500
    bad = {said: place for said, place in found.items() if AVOIDED.search(ALLOWED.sub("", said))}
    assert not {said for said in bad if said != "the scye"}  # the old word that a book is read by
