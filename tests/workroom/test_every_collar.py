"""Every collar on every kind of neckline and body: sewn true, or refused with a reason."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.methods import method_names
from blocks.edges import EdgeName
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.library import data_folder
from drafting.pieces.assembly import loose_edges
from drafting.pieces.checks import Verdict
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Piece, Stretch, seam_mismatch, stretch_places
from garment.garment import Garment, make_garment
from tests.strategies import bodies
from workroom.card.card import open_card, read_card_text
from workroom.making import order_of_making
from workroom.papers.papers import papers
from workroom.worksheet.making import make_worksheet

CARDS = sorted((data_folder() / "clients").glob("*.toml"))
STYLES = (
    "",
    "style = { front_lower = 2.0, side_widen = 1.0, back_lower = 1.0 }",
    "style = { front_lower = 3.0, side_widen = 2.5, back_lower = 2.0 }",
    'style = { shape = "v", front_lower = 9.0, side_widen = 0.5 }',
)
GARMENTS = (
    "",
    '[garment.darts]\nbust = "side"\n',
    '[garment.length]\nto = "hip"\n[garment.ease]\nnamed = "easy"\n',
    '[garment.darts]\nbust = "waist"\nback = "ease"\n[garment.finish]\nfacing = "separate"\n',
    '[garment.finish]\nfacing = "none"\n',
)


def card_text(body: Mapping[str, float], method: str, style: str, garment: str, kind: str) -> str:
    taken = "\n".join(f"{key} = {value:.2f}" for key, value in body.items())
    return (
        f'client = "Ann"\ndate = 2026-01-02\n[measurements]\n{taken}\n'
        f'[garment]\nmethod = "{method}"\n{garment}[neckline]\n{style}\n[collar]\nkind = "{kind}"\n'
    )


def assert_sound(order: Garment) -> None:
    for piece in order.pieces:
        ring = Polygon(piece.outline())
        assert ring.is_valid, piece.code
        assert ring.exterior.is_ccw, piece.code
        assert Polygon(cut_line(piece).points).buffer(1e-3).covers(ring), piece.code
        for notch in piece.notches:
            assert -1e-6 <= notch.at <= piece.edges[notch.edge].length + 1e-6
    for seam in order.seams:
        assert abs(seam_mismatch(order.pieces, seam)) < 1e-3, seam.name
    unfaced = any("No facing is drafted" in note for note in order.notes)
    unfaced |= order.commission.garment.asked.get("finish", {}).get("facing") == "none"
    loose = loose_edges(order.pieces, order.seams)
    for edge in loose:  # a facing's end at the shoulder is neatened where a stand shuts in the seam
        caught = (edge.piece, edge.edge) == ("FRONT-FACING", EdgeName.SHOULDER)
        in_stand = order.collar is not None and not order.collar.laid_on
        assert (caught and in_stand) or (unfaced and edge.edge in _OF_A_FACING), edge
    assert_notches_meet(order)


#: What stays to be neatened where no facing is wanted, or none could be drafted, as a note says.
_OF_A_FACING = (EdgeName.FRONT_EDGE, EdgeName.BUTTON_STAND_END, EdgeName.NECKLINE)


Notches = list[tuple[str, float, float]]


def assert_notches_meet(order: Garment) -> None:
    """A notch inside one side of a seam has its fellow on the other, as far along it but for what
    is eased between them."""
    by_code = {piece.code: piece for piece in order.pieces}
    for seam in order.seams:
        if seam.first == seam.second:
            continue
        one, other = (_notches_along(by_code[s.piece], s) for s in (seam.first, seam.second))
        back = [(name, 1.0 - share, length) for name, share, length in reversed(other)]
        assert any(_fellows(one, way, abs(seam.ease) + 0.01) for way in (other, back)), seam


def _fellows(one: Notches, other: Notches, ease: float) -> bool:
    return [name for name, _, _ in one] == [name for name, _, _ in other] and all(
        abs(here - there) * length < ease
        for (_, here, length), (_, there, _) in zip(one, other, strict=True)
    )


def _notches_along(piece: Piece, side: Stretch) -> Notches:
    """The notches between the ends of a stretch: name, share of its length, and that length."""
    done, found = 0.0, []
    for place in stretch_places(piece, side):
        found += [(n.name, done + n.at - side.start) for n in piece.notches if n.edge == place]
        done += piece.edges[place].length
    length = (done if side.end is None else side.end) - side.start
    found.sort(key=lambda notch: notch[1])
    return [(n, at / length, length) for n, at in found if 0.01 < at < length - 0.01]


@pytest.mark.parametrize("kind", ["none", *COLLARS])
@settings(max_examples=7, deadline=None)
@given(
    body=bodies(),
    method=st.sampled_from(method_names()),
    style=st.sampled_from(STYLES),
    garment=st.sampled_from(GARMENTS),
)
def test_a_collar_is_sound_on_its_block_or_refused_with_a_reason(
    kind: str, body: dict[str, float], method: str, style: str, garment: str
) -> None:
    card = read_card_text(card_text(body, method, style, garment, kind), "card")
    try:
        order = make_garment(card)
    except DraftError as error:
        assert all(problem.said for problem in error.problems)
        assert any(problem.key or problem.advice for problem in error.problems)
        return
    assert_sound(order)
    for check in order.failed:
        assert check.advice, check.name
    assert make_worksheet(order).steps
    assert order_of_making(order).steps


@pytest.mark.parametrize("card", CARDS, ids=lambda path: path.stem)
def test_every_card_of_the_demo_is_drafted_without_a_failed_check(card: object) -> None:
    order = make_garment(open_card(card))  # type: ignore[arg-type]
    assert order.failed == ()
    assert order.unusual == ()
    assert_sound(order)
    assert any(check.verdict is Verdict.PASS for check in order.checks)


def test_there_is_a_card_for_every_collar() -> None:
    kinds = {open_card(card).collar.kind for card in CARDS}
    assert kinds == {"none", *COLLARS}


@pytest.mark.parametrize("card", CARDS, ids=lambda path: path.stem)
def test_every_card_gives_the_full_folder(card: object) -> None:
    files = papers(make_garment(open_card(card)))  # type: ignore[arg-type]
    assert {name.rsplit(".", 1)[1] for name in files} >= {"dxf", "pdf", "svg", "png", "txt", "json"}
    assert all(len(data) > 500 for data in files.values())


@pytest.mark.parametrize("path", sorted((data_folder() / "clients").glob("*.toml")), ids=str)
def test_an_ordinary_client_has_nothing_to_look_at(path: Path) -> None:
    """Defaults that a cutter would choose, and readings that agree."""
    order = make_garment(open_card(path))

    assert [check.name for check in order.checks if check.verdict is not Verdict.PASS] == []
    assert order.unusual == ()
