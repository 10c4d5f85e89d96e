"""The API answers in the very shapes of the commands' ``--json``; what it does is described in OpenAPI."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from asmade.cli.app import group
from asmade.web.asked import SUMS

SAME = [
    ("/api/board", "show BOOK"),
    ("/api/parts/wheel", "show BOOK wheel"),
    ("/api/sizes/wheel@2L.bore", "show BOOK wheel@2L.bore"),
    ("/api/sizes/wheel%23W4.bore", "show BOOK wheel#W4.bore"),
    ("/api/check", "check BOOK"),
    ("/api/check?about=bore", "check BOOK --about bore"),
    ("/api/drawing", "check BOOK --drawing"),
    ("/api/aim/axle@2.seat_right.diameter", "aim BOOK axle@2.seat_right.diameter"),
    ("/api/next", "next BOOK"),
    ("/api/history?last=5", "history BOOK --last 5"),
    ("/api/shop", "shop BOOK"),
    ("/api/reckon/fit?text=25%20H7/g6", "reckon fit 25 H7/g6"),
    ("/api/reckon/tap?text=M4", "reckon tap M4"),
]


def said(words, book):
    arguments = [str(book) if word == "BOOK" else word for word in words.split()]
    result = CliRunner().invoke(group, [*arguments, "--json"], standalone_mode=False)
    return json.loads(result.stdout)


@pytest.mark.parametrize(("path", "words"), SAME)
def test_the_same_answer_as_the_command(at_demo, demo_book, path, words):
    answer = at_demo.get(path)
    assert answer.status_code == 200
    assert answer.json() == said(words, demo_book)


@pytest.mark.parametrize("name", [name for name, asked in SUMS.items() if name not in ("speed", "stock")])
def test_quick_sums_take_their_example_and_the_command_takes_it_alike(at_demo, name):
    """Where the page's example is the command's own, both say the same."""
    ours = at_demo.get(f"/api/reckon/{name}", params=dict(SUMS[name].example)).json()
    theirs = said(f"reckon {name}", "")
    assert ours == {k: v for k, v in theirs.items() if k != "example"}


def test_a_reading_by_api(at_own_demo):
    at = at_own_demo
    asked = {"address": "wheel#W4.bore", "readings": ["15.912"], "instrument": "micrometer 0-25", "key": "one-reading"}
    trial = at.post("/api/made", json=asked | {"what_if": True}).json()
    assert trial["entry"] is None
    first, second = (at.post("/api/made", json=asked).json() for _ in range(2))
    assert first["entry"] == second["entry"]
    assert first["changed"] == trial["changed"] != []
    taken = at.post("/api/withdraw", json={"entry": first["entry"], "why": "a trial"}).json()
    assert taken["entries"] == [first["entry"] + 1]
    assert at.post("/api/drawn", json={"address": "wheel.bore", "size": "19/32"}).json()["read_as"]
    assert at.post("/api/aim", json={"address": "axle@2.seat_right.diameter"}).json()["saved"]["entries"]


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"address": "whel@1.bore", "readings": ["1"]}, "unknown"),
        ({"address": "wheel#W4.bore", "readings": ["x"]}, "unreadable"),
        ({"address": "wheel#W4.bore", "readings": ["1"], "colour": "red"}, "unreadable"),
        ({"address": "wheel#W4.bore", "readings": "1"}, "unreadable"),
        ({}, "unreadable"),
    ],
)
def test_refusals_have_one_shape(at_demo, asked, code):
    answer = at_demo.post("/api/made", json=asked)
    assert answer.status_code == 422
    assert answer.json()["error"].keys() == {"code", "message", "way_out"}
    assert answer.json()["error"]["code"] == code


def test_a_form_cannot_reach_the_api(at_demo):
    body = json.dumps({"entry": 3}).encode()
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        answer = at_demo.post("/api/withdraw", content=body, headers={"content-type": kind})
        assert answer.status_code == 422
    assert at_demo.get("/api/history").json()["entries"][2]["withdrawn"] == ""


@pytest.mark.parametrize(
    "path", ["/api/parts/whel", "/api/sizes/wheel@2L.boor", "/api/aim/x.y", "/api/reckon/tea", "/api/no"]
)
def test_what_is_not_there(at_demo, path):
    answer = at_demo.get(path)
    assert answer.status_code == 404
    assert answer.json()["error"]["code"] == "unknown"


def test_it_is_described(at_demo):
    described = at_demo.get("/api/openapi.json").json()
    assert set(described["paths"]) >= {path.partition("?")[0] for path, _ in SAME if path.count("/") == 2}
    assert all(path.startswith("/api/") for path in described["paths"])
    assert "http" not in json.dumps(described)
