"""The home network: only paired devices, only by this machine's address, and nothing of the desk's own."""

from __future__ import annotations

import json
import re
import stat
import warnings
from datetime import datetime, timedelta

import pytest
from click.testing import CliRunner

from asmade.cli.app import group
from asmade.measure.errors import OutOfRange, Refused
from asmade.verbs import demo
from asmade.web import serve as serving
from asmade.web.app import create_app
from asmade.web.devices import COOKIE, LENGTH, LETTERS, TRIES, Devices, usual_file
from asmade.web.home_network import OPENS, HomeNetwork

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # starlette asks for a successor of httpx that is not pinned yet
    from starlette.testclient import TestClient

ADDRESS, PORT = "192.0.2.7", 8640
BASE = f"http://{ADDRESS}:{PORT}"
HTML = {"accept": "text/html"}


class Clock:
    """A time that can be moved on."""

    def __init__(self):
        self.at = datetime(2026, 11, 25, 14, 0).astimezone()

    def __call__(self):
        return self.at


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def devices(tmp_path, clock):
    return Devices(tmp_path / "state" / "devices.json", now=clock)


@pytest.fixture
def app(demo_book, devices):
    return create_app(demo_book, home=HomeNetwork(ADDRESS, PORT, devices))


def phone(app, base=BASE):
    return TestClient(app, base_url=base, client=("192.0.2.50", 40000), follow_redirects=False)


def desk(app):
    return TestClient(app, base_url=f"http://127.0.0.1:{PORT}", client=("127.0.0.1", 40001), follow_redirects=False)


def token(browser, path="/pair"):
    return re.search(r'name="token" value="([0-9a-f]+)"', browser.get(path, headers=HTML).text)[1]


def pair(browser, code, base=BASE):
    return browser.post("/pair", data={"token": token(browser), "code": code, "name": ""}, headers={"origin": base})


def test_a_stranger_sees_the_pairing_page_and_nothing_of_the_book(app):
    at = phone(app)
    for path in ("/", "/bench", "/parts", "/bench/carried", "/history", "/last-look"):
        answer = at.get(path, headers=HTML)
        assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    for path in ("/api/board", "/bench/pages", "/bench/state", "/sw.js", "/api/openapi.json", "/pairing/qr.svg"):
        answer = at.get(path)
        assert answer.status_code == 403
        assert "Harrowgill" not in answer.text
    page = at.get("/pair", headers=HTML)
    assert page.status_code == 200
    assert "Harrowgill" not in page.text
    for answer in (at.get("/pair/nothing"), at.post("/pair", data={"token": "0"}), at.get("/static/nothing")):
        assert answer.status_code in (403, 404)
        assert "Harrowgill" not in answer.text
    for path in ("/bench/sent", "/api/made", "/history/withdraw", "/bench/reading"):
        assert at.post(path, json={}).status_code == 403
    assert at.get("/static/look.css").status_code == 200


def test_a_device_is_paired_once_and_known_after(app, devices, clock):
    at, code = phone(app), devices.new_code().text
    assert at.get("/pair", params={"code": code}, headers=HTML).text.count(code) == 1  # looking does not use it up
    answer = pair(at, f"{code[:4]}-{code[4:].lower()}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/bench/carried")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert len(at.cookies[COOKIE]) >= 40
    assert at.get("/bench").status_code == 200
    assert "no code is good" in pair(phone(app), code).text  # single use
    clock.at += timedelta(days=3)
    assert at.get("/bench").status_code == 200
    assert devices.every()[0].seen[:10] == "2026-11-28"


def test_what_is_kept_of_a_device_is_a_digest_that_only_its_owner_may_read(devices, tmp_path):
    secret = devices.pair(devices.new_code().text, "phone  in the\nworkshop")
    file = tmp_path / "state" / "devices.json"
    assert secret not in file.read_text()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    again = Devices(file)  # asmade was started again
    assert again.known(secret).name == "phone in the workshop"
    assert again.known("x" + secret) is None
    assert again.known("") is None
    assert again.revoke(again.every()[0].number).name == "phone in the workshop"
    assert Devices(file).known(secret) is None
    file.write_text("not json")
    assert Devices(file).every() == ()


def test_guessing_kills_the_code(devices):
    code = devices.new_code().text
    for count in range(TRIES):
        with pytest.raises(Refused, match="dead" if count == TRIES - 1 else "not the one"):
            devices.pair("AAAAAAAA" if code != "AAAAAAAA" else "BBBBBBBB", "x")
    with pytest.raises(Refused, match="no code"):
        devices.pair(code, "x")
    assert devices.every() == ()
    assert len(LETTERS) ** LENGTH > 10**12  # five of these


def test_a_code_ends_by_itself(devices, clock):
    code = devices.new_code().text
    clock.at += timedelta(minutes=10)
    assert devices.code is None
    with pytest.raises(Refused, match="no code"):
        devices.pair(code, "x")
    assert devices.new_code().text != devices.new_code().text


@pytest.mark.parametrize("typed", ["", "x" * 4000, "é" * 8, "<script>alert(1)</script>", "\x00"])
def test_a_code_that_is_none(app, devices, typed):
    devices.new_code()
    answer = pair(phone(app), typed)
    assert answer.status_code in (403, 422)
    assert devices.every() == ()
    assert "<script>alert" not in answer.text
    assert "Harrowgill" not in answer.text


def test_the_desk_needs_no_code_and_lets_devices_go(app, devices):
    at, own = desk(app), phone(app)
    assert at.get("/").status_code == 200
    shown = at.get("/pairing")
    assert "No code is good" in shown.text
    for words in OPENS:
        assert words.replace("'", "&#39;") in shown.text
    at.post("/pairing/code", data={"token": token(at, "/pairing")})
    code = devices.code.text
    assert f"{code[:4]}-{code[4:]}" in at.get("/pairing").text
    picture = at.get("/pairing/qr.svg")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert "<script" not in picture.text
    pair(own, code)
    number = devices.every()[0].number
    answer = at.post("/pairing/revoke", data={"token": token(at, "/pairing"), "number": number})
    assert answer.status_code == 303
    assert own.get("/bench", headers=HTML).status_code == 303
    assert own.get("/bench/state").status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "/pairing",
        "/pairing/qr.svg",
        "/pairing/code",
        "/import",
        "/import/keep",
        "/new",
        "/books",
        "/books/open",
        "/guide/begin",
    ],
)
def test_a_paired_device_does_not_do_what_is_the_desks(app, devices, path):
    at = phone(app)
    pair(at, devices.new_code().text)
    for method in ("GET", "POST"):
        answer = at.request(method, path, headers={"content-length": "0", "accept": "*/*"})
        assert answer.status_code == 403
        assert "at the desk" in answer.text


@pytest.mark.parametrize(
    "host", ["127.0.0.1:8640", "localhost", "evil.example", "192.0.2.8:8640", "", "192.0.2.7.evil.example"]
)
def test_a_device_asks_by_this_machines_address_only(app, devices, host):
    at = phone(app)
    pair(at, devices.new_code().text)
    assert at.get("/bench", headers={"host": host}).status_code == 400


def test_the_desk_does_not_answer_to_the_networks_names(app):
    assert desk(app).get("/", headers={"host": f"{ADDRESS}:{PORT}"}).status_code == 400


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:8640", "http://192.0.2.7:9999"])
def test_a_form_of_another_origin_is_refused(app, devices, origin):
    at, code = phone(app), devices.new_code().text
    data = {"token": token(at), "code": code}
    assert at.post("/pair", data=data, headers={"origin": origin}).status_code == 403
    assert devices.every() == ()
    assert at.post("/pair", data={"token": "0" * 64, "code": code}).status_code == 403  # and without its token
    assert devices.every() == ()


def test_a_forwarded_address_makes_no_desk(app):
    """What a request says of where it comes from is not believed."""
    for name in ("x-forwarded-for", "forwarded", "x-real-ip"):
        assert phone(app).get("/api/board", headers={name: "127.0.0.1"}).status_code == 403


@pytest.mark.parametrize("cookie", ["x", "a=b; " * 200, '"\\', f"{COOKIE}=x; {COOKIE}=y", "\xff"])
def test_odd_cookies_are_strangers(app, cookie):
    assert phone(app).get("/api/board", headers={"cookie": cookie.encode("latin-1")}).status_code == 403


def test_without_the_network_nobody_can_pair(at_demo):
    assert "asmade serve" in at_demo.get("/pairing").text
    answer = at_demo.submit("/pair", code="ABCDEFGH")
    assert answer.status_code == 403
    assert at_demo.get("/pairing/qr.svg").status_code == 404


# ---- starting
def test_what_the_terminal_says(devices):
    said = serving.invitation(HomeNetwork(ADDRESS, PORT, devices))
    code = devices.code.text
    for words in (*OPENS, f"{BASE}/pair", f"{code[:4]}-{code[4:]}", "█"):
        assert words in said


def test_both_sockets_have_one_port():
    sockets = serving.bound_both(0, "127.0.0.2")
    try:
        hosts, ports = zip(*(each.getsockname() for each in sockets), strict=True)
        assert hosts == ("127.0.0.1", "127.0.0.2")
        assert len(set(ports)) == 1
        with pytest.raises(Refused, match="taken"):
            serving.bound_both(ports[0], "127.0.0.2")
    finally:
        for each in sockets:
            each.close()
    with pytest.raises(OutOfRange):
        serving.bound_both(-1)


@pytest.mark.parametrize("lan", [False, True])
def test_serve_hands_its_options_on(tmp_path, monkeypatch, lan):
    """What is bound, what is said; the server itself is not run here."""
    import uvicorn

    ran = {}
    monkeypatch.setenv("ASMADE_STATE", str(tmp_path / "state"))
    monkeypatch.setattr("asmade.web.serve.home_address", lambda: "127.0.0.3")
    monkeypatch.setattr(uvicorn.Server, "run", lambda self, sockets: ran.update(sockets=sockets, app=self.config.app))
    book = demo.demo(tmp_path).path
    done = CliRunner().invoke(group, ["serve", str(book), "--no-browser", *(["--lan"] if lan else [])])
    assert done.exit_code == 0
    try:
        assert len(ran["sockets"]) == 1 + lan
        assert ("this machine only" in done.output) is not lan
        assert ("127.0.0.3" in done.output) is lan
        assert (ran["app"].state.home is not None) is lan
    finally:
        for each in ran["sockets"]:
            each.close()
    assert usual_file() == tmp_path / "state" / "devices.json"


def test_a_certificate_needs_its_key(tmp_path):
    book = demo.demo(tmp_path).path
    done = CliRunner().invoke(group, ["serve", str(book), "--no-browser", "--certificate", "a.pem"])
    assert done.exit_code != 0


def test_the_demo_stays_in_the_terminal_where_nobody_looks(tmp_path):
    """Into a file or another program, and as JSON, the board is all: nothing is served."""
    done = CliRunner().invoke(group, ["demo", "--to", str(tmp_path)])
    assert "Harrowgill No. 3" in done.output
    assert "http://" not in done.output
    assert "board" in json.loads(CliRunner().invoke(group, ["demo", "--to", str(tmp_path), "--json"]).output)
