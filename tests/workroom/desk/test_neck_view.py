"""The collar on the neck asked for by the page: as it was drafted, guarded, never a fault."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from starlette.testclient import TestClient

from tests.workroom.desk.conftest import HOST, TOKEN, demo_measurements
from tests.workroom.desk.test_hostile import SETTINGS, contents, sound
from workroom.desk.guard import HEADERS, cookie_name
from workroom.desk.server import desk_app
from workroom.papers.pictures.neck_picture import Layer


def content(kind: str = "two-piece shirt", **changed: Any) -> dict[str, Any]:
    return {
        "client": "Marta Ilves",
        "date": "2026-03-14",
        "unit": "cm",
        "garment": {"method": "direct-measure"},
        "neckline": {"fit": "both", "ease": 0.5},
        "collar": {"kind": kind, **changed},
        "measurements": demo_measurements(),
    }


def test_the_page_gets_cells_that_mirror_and_words(client: TestClient) -> None:
    answer = client.post("/neck", json=content())
    assert answer.status_code == 200
    told = answer.json()
    assert told["why"] == ""
    layers = {layer["name"] for layer in told["layers"]}
    assert layers == {"neck", "shoulders", "stand", "beyond", "fall"}
    for layer in told["layers"]:
        count = len(layer["corners"])
        assert {len(row) for row in layer["corners"]} == {12}
        assert len(layer["outward"]) == len(layer["strains"]) == len(layer["rim"]) == count
        assert layer["cloth"] == (layer["layer"] > Layer.NECK)
    right, left = (one["corners"] for one in told["layers"] if one["name"] == "fall")
    flip = np.tile([-1.0, 1.0, 1.0], 4)
    assert np.array(left) == pytest.approx(np.array(right) * flip)
    assert any("off at centre front" in line for line in told["said"])
    assert len(answer.content) < 200_000


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ({}, "no draft yet"),
        (content("flat"), "Only collars with a stand"),
        (content("none"), "Only collars with a stand"),
        (content(stand_back="wide"), "no draft yet"),
        (
            {
                "client": "Nora Vik",
                "date": "2026-03-01",
                "unit": "cm",
                "neckline": {"back_arc": 7.6, "front_arc": 10.9},
                "collar": {"kind": "band"},
            },
            "taped",
        ),
    ],
)
def test_without_a_neck_or_a_stand_it_says_why(
    client: TestClient, sent: dict[str, Any], why: str
) -> None:
    told = client.post("/neck", json=sent).json()
    assert why in told["why"]
    assert set(told) == {"why"}


def test_it_is_guarded_like_every_other_page(client: TestClient, book: Any) -> None:
    stranger = TestClient(desk_app(book, TOKEN), base_url=f"http://{HOST}")
    assert stranger.post("/neck", json=content()).status_code == 403
    for headers, status in (
        ({"Origin": "http://evil.example"}, 403),
        ({"Host": "evil.example"}, 421),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Content-Length": "2000000"}, 413),
    ):
        refused = client.post("/neck", content=b"{}", headers=headers)
        assert refused.status_code == status, headers
    wrong = TestClient(desk_app(book, TOKEN), base_url=f"http://{HOST}")
    wrong.cookies.set(cookie_name(HOST), "another")
    assert wrong.post("/neck", json=content()).status_code == 403
    assert client.get("/neck").status_code == 405
    answer = client.post("/neck", json=content("none"))
    assert all(answer.headers[name] == value for name, value in HEADERS.items())


@pytest.mark.parametrize("body", [b"", b"[]", b"nonsense", b"[" * 5000, b'{"a": NaN}', b"\xff"])
def test_what_is_no_content_is_refused(client: TestClient, body: bytes) -> None:
    answer = client.post("/neck", content=body, headers={"Accept": "application/json"})
    sound(answer)
    assert answer.status_code == 422
    assert answer.json()["said"]


@settings(SETTINGS, max_examples=20)
@given(sent=contents)
def test_any_content_is_answered(client: TestClient, sent: dict[str, Any]) -> None:
    answer = client.post("/neck", content=json.dumps(sent))
    sound(answer)
    assert answer.status_code == 200
    assert isinstance(answer.json()["why"], str)


@pytest.mark.parametrize(
    "changed",
    [
        {"measurements": {**demo_measurements(), "collar_top_girth": 36.9, "neck_lean": 50.0}},
        {"measurements": {**demo_measurements(), "collar_top_girth": 31.0, "neck_lean": -10.0}},
        {"neckline": {"fit": "none", "style": {"front_lower": 8.0, "side_widen": 3.0}}},
        {"neckline": {"fit": "none", "ease": 3.0}},
        {"collar": {"kind": "two-piece shirt", "stand_back": 6.0, "fall_back": 13.0}},
        {"collar": {"kind": "two-piece shirt", "point_length": 14.0, "point_lean": 4.0}},
        {"collar": {"kind": "band", "rise": 3.5, "stand_back": 6.5}},
        {"collar": {"kind": "wing", "wing_width": 7.0}},
    ],
)
def test_at_the_ends_of_what_a_card_accepts_it_is_shown_or_says_why(
    client: TestClient, changed: dict[str, Any]
) -> None:
    told = client.post("/neck", json=content() | changed).json()
    if told["why"]:
        assert set(told) == {"why"}
        return
    corners = np.concatenate([np.array(layer["corners"]) for layer in told["layers"]])
    assert np.isfinite(corners).all()
    assert abs(corners).max() < 60.0
