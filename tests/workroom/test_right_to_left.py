"""Words of any script in the order and the shapes in which they stand on paper."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workroom.papers.pdf.pen import BOX, drawable, fitted, laid_out, width_of, wrapped


def test_latin_words_stay_as_they_are() -> None:
    assert laid_out("Zoë Müller (12)") == "Zoë Müller (12)"


def test_hebrew_runs_to_the_left_and_its_marks_stay_on_their_letters() -> None:
    assert laid_out("שלום") == "םולש"
    assert laid_out("שָׁב") == "בשָׁ"
    assert laid_out("(אב)") == "(בא)"


def test_numbers_and_latin_words_keep_their_own_order() -> None:
    """Worked by hand by the rules of the Unicode Standard, Annex 9: a number goes with the letters
    before it, and its figures keep their order."""
    assert laid_out("דנה 12 Cohen") == "Cohen 12 הנד"
    assert laid_out("Cohen דנה כהן 12") == "Cohen 12 ןהכ הנד"
    assert laid_out("דנה 2026-03-14") == "2026-03-14 הנד"


def test_arabic_letters_join() -> None:
    """Shapes of the Unicode Standard, Arabic Presentation Forms-B: seen from the left, the dal of
    Muhammad is final, both meems medial and initial, the hah medial."""
    assert laid_out("محمد") == "\ufeaa\ufee4\ufea4\ufee3"


def test_lam_and_alef_are_one_shape() -> None:
    assert laid_out("لا") == "\ufefb"
    assert laid_out("سلام") == "\ufee1\ufefc\ufeb3"


def test_a_letter_the_font_lacks_is_seen_to_be_missing() -> None:
    assert drawable("王小 Li") == f"{BOX}{BOX} Li"
    assert drawable("Θεοδώρα Анна") == "Θεοδώρα Анна"


def test_facts_with_a_dot_between_keep_their_places() -> None:
    assert drawable("דנה · Blouse 12 · 2026") == "הנד · Blouse 12 · 2026"


@given(st.text(max_size=40))
def test_no_letter_is_lost_or_added_but_where_two_are_one(words: str) -> None:
    drawn = drawable(words)

    assert "\n" not in drawn
    assert len(drawn) <= len(words) * 3


@given(st.text(alphabet="abc שלו مرح", max_size=80), st.floats(1.0, 10.0))
def test_words_are_cut_to_the_room_there_is(words: str, room: float) -> None:
    assert width_of(fitted(words, 0.25, room), 0.25) <= room


@pytest.mark.parametrize("room", [3.0, 5.0, 8.0])
def test_sentences_are_wrapped_without_losing_a_word(room: float) -> None:
    words = "Trim each page along its thin lines, the pages lap by 1.0 cm."
    rows = wrapped(words, 0.25, room)

    assert " ".join(rows) == words
    assert all(width_of(row, 0.25) <= room for row in rows)
    assert any("1.0 cm." in row for row in rows)
