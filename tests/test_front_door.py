"""The front door: ten lines from measurements to files, wrong wishes refused, no stamp lost."""

from __future__ import annotations

import ast
import doctest
import io
from pathlib import Path

import ezdxf
import pytest

import neckarc

MEASURED = {"bust_girth": 92, "waist_girth": 74, "back_waist_length": 40.5}
ROOT = Path(__file__).parents[1]


def choking() -> neckarc.Garment:
    """A taped neckline far smaller than her neck, with a band on it."""
    return neckarc.draft(
        {"neck_girth": 38.0, "neck_base_girth": 40.0},
        neckline={"back_arc": 7.0, "front_arc": 8.5},
        collar={"kind": "band"},
    )


def test_every_example_of_the_front_door_runs() -> None:
    found = doctest.testmod(neckarc, optionflags=doctest.ELLIPSIS | doctest.IGNORE_EXCEPTION_DETAIL)
    assert found.attempted >= 8
    assert found.failed == 0


def test_ten_lines_from_measurements_to_a_folder(tmp_path: Path) -> None:
    story = f"""
import neckarc
measured = {MEASURED!r}
blouse = neckarc.draft(
    measured, garment={{"method": "bust-proportional"}}, collar={{"kind": "two-piece shirt"}}
)
print(blouse.stamp or "ready to cut")
for check in blouse.failed:
    print(check.name, check.advice)
place = neckarc.write(blouse, {str(tmp_path)!r}, papers=["dxf", "pictures"])
"""
    assert len(story.strip().splitlines()) <= 10
    names: dict[str, object] = {}
    exec(compile(story, "ten lines", "exec"), names)
    place = names["place"]
    assert isinstance(place, Path)
    assert {path.name for path in place.iterdir()} >= {"drawing.dxf", "pieces.svg", "pieces.png"}


def test_inches_and_centimetres_draft_the_same_garment() -> None:
    wished = {"garment": {"method": "bust-proportional"}, "collar": {"kind": "band"}}
    cm = neckarc.draft(MEASURED, **wished)
    inch = neckarc.draft(
        {key: value / 2.54 for key, value in MEASURED.items()}, unit="in", **wished
    )
    assert inch.neckline.half == pytest.approx(cm.neckline.half, abs=1e-6)


@pytest.mark.parametrize(
    ("wishes", "key", "accepted"),
    [
        ({"neckline": {"fit": "Both sides"}}, "neckline.fit", "both"),
        ({"garment": {"button_stand": -3}}, "garment.button_stand", "0 to 8 cm"),
        ({"collar": {"kind": "bandd"}}, "collar.kind", "band"),
        ({"collar": {"kind": "band", "stand_back": 90}}, "collar.stand_back", "cm"),
    ],
)
def test_a_wrong_wish_is_refused_with_what_is_accepted(
    wishes: dict[str, dict[str, object]], key: str, accepted: str
) -> None:
    with pytest.raises(neckarc.CardError) as caught:
        neckarc.draft(MEASURED, **{"garment": {"method": "bust-proportional"}} | wishes)
    (problem,) = [one for one in caught.value.problems if one.key == key]
    assert accepted in f"{problem.accepted} {problem.advice}"


def test_a_collar_that_chokes_is_stamped_by_every_way_of_writing_it() -> None:
    garment = choking()
    assert garment.stamp is not None
    for profile in ("drawing", "splines", "interchange"):
        drawing = ezdxf.read(io.StringIO(neckarc.dxf(garment, profile).decode("utf-8")))
        said = [one.dxf.text for one in drawing.query("TEXT")]
        said += [one.dxf.text for block in drawing.blocks for one in block.query("TEXT")]
        assert any("NOT FOR CUTTING" in text for text in said), profile
    assert b"NOT FOR CUTTING" in neckarc.svg(garment)
    made = neckarc.files(garment, ("dxf", "pictures", "print", "booklets"))
    assert b"NOT FOR CUTTING" in made["cutting-list.txt"]
    assert b"NOT FOR CUTTING" in made["checks.txt"]


def test_what_a_sheet_shows_is_made_of_a_garment_in_one_place_only() -> None:
    makers = []
    for room in ("garment", "workroom", "neckarc", "scripts"):
        for path in (ROOT / room).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "SheetContent":
                    makers.append(path.relative_to(ROOT).as_posix())
    assert makers == ["workroom/papers/papers.py"]


def test_everything_in_all_is_there_and_told() -> None:
    for name in neckarc.__all__:
        assert getattr(neckarc, name).__doc__, name
