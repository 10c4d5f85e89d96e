"""Who may ask, from where, and how much: Host, Origin, token, sizes, what a browser may do, hostile names."""

from __future__ import annotations

import pytest

from asmade.book.text import Draft
from asmade.measure.errors import OutOfRange, Refused
from asmade.web.guard import MOST_BYTES
from asmade.web.serve import bound

EVIL = "<script>alert(1)</script>\"'&{{7*7}}"


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8640", "127.0.0.1.evil.example", "", "10.0.0.1", "[::1"]
)
def test_another_name_is_not_answered(at_demo, host):
    answer = at_demo.get("/", headers={"host": host})
    assert answer.status_code == 400
    assert "Harrowgill" not in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1:8640", "localhost:8640", "localhost"])
def test_this_machine_is_answered(at_demo, host):
    assert at_demo.get("/components", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_form_of_another_page_is_refused(at_own_demo, headers):
    before = at_own_demo.get("/api/history").json()
    answer = at_own_demo.post(
        "/history/withdraw", data={"token": at_own_demo.token, "entry": "3", "why": "no"}, headers=headers
    )
    assert answer.status_code == 403
    assert at_own_demo.get("/api/history").json() == before


@pytest.mark.parametrize("token", ["", "0" * 64, "é"])
def test_a_form_without_its_token_is_refused_and_what_was_typed_is_kept(at_own_demo, token):
    at_own_demo.get("/")
    answer = at_own_demo.post("/bench/reading", data={"token": token, "address": "wheel#W4.bore", "reading": "15.93"})
    assert answer.status_code == 403
    assert "reading: 15.93" in answer.text
    assert len(at_own_demo.get("/api/history?about=15.93").json()["entries"]) == 0


def test_a_token_of_another_browser_is_refused(at_own_demo):
    other = type(at_own_demo)(at_own_demo.book)
    assert at_own_demo.post("/sizes/stop", data={"token": other.token}).status_code == 403


def test_every_form_of_every_page_has_a_token(at_demo):
    for path in ("/drawing", "/sizes", "/size/wheel@2L.bore", "/history/3", "/bench/size/wheel@2R.bore"):
        text = at_demo.get(path).text
        assert text.count('method="post"') == text.count('name="token"') > 0, path


def test_what_a_browser_may_do(at_demo):
    for path in ("/", "/nothing", "/static/look.css", "/api/board"):
        headers = at_demo.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
    cookie = type(at_demo)(at_demo.book).get("/components").headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_too_much_at_once_is_refused(at_demo):
    assert at_demo.post("/sizes/run", content=b"x" * (MOST_BYTES + 1)).status_code == 413
    assert at_demo.post("/sizes/run", content=iter([b"a=1"])).status_code == 411
    assert at_demo.get("/findings?about=" + "x" * 5000).status_code == 414
    assert at_demo.submit("/sizes/run", **{f"f{n}": "1" for n in range(200)}).status_code == 422
    assert at_demo.submit("/sizes/run", lock="x" * 5000).status_code == 422


def test_a_file_is_refused(at_demo):
    answer = at_demo.post("/sizes/run", data={"token": at_demo.token}, files={"lock": ("a.txt", b"hello")})
    assert answer.status_code == 422


@pytest.mark.parametrize(
    "path", ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/static//etc/passwd"]
)
def test_nothing_outside_is_served(at_demo, path):
    answer = at_demo.get(path)
    assert answer.status_code == 404
    assert "import" not in answer.text


def test_hostile_names_are_escaped(browser_of):
    inside = {"kind": "bore", "drawn": "12 mm", "note": EVIL, "reference": EVIL}
    at = browser_of([
        Draft("design", {"set": {
            "book": {"title": EVIL, "drawing_unit": "mm", "note": EVIL},
            "part": {"box": {"places": ["engine"], "material": EVIL, "note": EVIL, "reference": EVIL, "dim": {
                "hole": inside, "width": {"kind": "width", "drawn": "20 mm"}}}},
            "chain": [{"name": EVIL, "is": "box.width - box.hole", "least": "1 mm", "source": EVIL}],
        }}),
        Draft("shop", {"set": {"instrument": {EVIL: {"unit": "mm", "zero": 0.0, "reads_to": 0.01}},
                               "tool": {EVIL: {"kind": "reamer", "size": "12 mm"}}}}),
        Draft("note", {"text": EVIL}),
    ])  # fmt: skip
    for path in ("/", "/parts", "/parts/box", "/size/box@engine.hole", "/findings", "/drawing", "/sizes", "/shop",
                 "/history", "/history/3", "/bench", "/bench/size/box@engine.hole", f"/parts/{EVIL[:8]}"):  # fmt: skip
        answer = at.get(path)
        assert answer.status_code in (200, 404)
        assert "<script>alert" not in answer.text
        assert "49" not in answer.text or "{{7*7}}" in answer.text
    opened = at.get("/finding", params={"code": "chain", "subject": next(
        f["subject"] for f in at.get("/api/check").json()["findings"])})  # fmt: skip
    assert opened.status_code == 200
    assert "<script>alert" not in opened.text
    for path, data in (
        ("/size/drawn", {"address": "box@engine.hole", "text": EVIL}),
        ("/bench/reading", {"address": "box#engine.hole", "reading": EVIL, "key": "k" * 12}),
        ("/bench/reading", {"address": "box#engine.hole", "reading": "12", "key": "k" * 12, "instrument": "x" + EVIL}),
        ("/history/withdraw", {"entry": EVIL, "why": EVIL}),
        ("/sizes/run", {"lock": EVIL, "seconds": "5"}),
    ):
        answer = at.submit(path, **data)
        assert answer.status_code in (200, 404, 422), path
        assert "<script>alert" not in answer.text


def test_only_this_machine():
    with bound(0) as first:
        host, port = first.getsockname()
        assert host == "127.0.0.1"
        with bound(0) as second:
            assert second.getsockname()[1] != port
        with pytest.raises(Refused, match="taken"):
            bound(port)
    with pytest.raises(OutOfRange):
        bound(70000)
