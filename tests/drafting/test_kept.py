"""What is kept is what would be worked out again, and no more of it than was asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from drafting.geometry.curves import Curve, line
from drafting.geometry.points import Point
from drafting.memo import memo_by_value


@dataclass(frozen=True)
class Wish:
    values: dict[str, float] = field(default_factory=dict)
    words: tuple[str, ...] = ()


def counting(most: int = 2) -> tuple[list[object], Callable[[object], int]]:
    """What was worked out, and a function that works it out."""
    done: list[object] = []

    @memo_by_value(most)
    def work(given: object) -> int:
        done.append(given)
        return len(done)

    return done, work


@pytest.mark.parametrize("given", [3.5, "ab", None, {"a": {"b": 1.0}}, Wish({"a": 1.0}, ("x",))])
def test_equal_things_are_worked_out_once(given: object) -> None:
    done, work = counting()
    again = Wish({"a": 1.0}, ("x",)) if isinstance(given, Wish) else given

    assert work(given) == work(again) == 1
    assert len(done) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [(1, True), (1, 1.0), ({"a": 1.0}, {"b": 1.0}), (Wish({"a": 1.0}), Wish({"a": 2.0}))],
)
def test_what_differs_is_worked_out_anew(one: object, other: object) -> None:
    _, work = counting()

    assert (work(one), work(other), work(one)) == (1, 2, 1)


def test_a_table_changed_afterwards_is_another() -> None:
    _, work = counting()
    table = {"a": 1.0}
    work(table)
    table["a"] = 2.0

    assert work(table) == 2
    assert work({"a": 1.0}) == 1


def test_a_curve_is_equal_to_itself_only() -> None:
    _, work = counting()
    curve, same = (line(Point(0.0, 0.0), Point(1.0, 0.0)) for _ in range(2))
    assert isinstance(curve, Curve)

    assert (work(curve), work(same), work(curve)) == (1, 2, 1)


def test_no_more_is_kept_than_was_asked_for() -> None:
    done, work = counting(most=2)
    for given in (1, 2, 1, 3, 1, 2):
        work(given)

    assert done == [1, 2, 3, 2]


def test_errors_are_not_kept() -> None:
    tries: list[int] = []

    @memo_by_value(2)
    def work(given: int) -> int:
        tries.append(given)
        raise ValueError("no")

    for _ in range(2):
        with pytest.raises(ValueError, match="no"):
            work(1)
    assert tries == [1, 1]
