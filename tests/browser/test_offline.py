"""Readings without a network, in a real browser: kept over its restart, sent in order, saved once, never lost.

Once as on https or the desk itself (a worker answers), once as over plain http on the home network (none may).
"""

from __future__ import annotations

import re
import threading
import time
from contextlib import contextmanager, suppress

import pytest
import uvicorn
from playwright.sync_api import Error

from asmade.verbs import demo
from asmade.verbs.history import history
from asmade.verbs.made import made
from asmade.web.app import create_app
from asmade.web.guard import HOSTS
from asmade.web.serve import bound

FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--host-resolver-rules=MAP phone.test 127.0.0.1")  # fmt: skip
BORE, SEAT, BOSS = "wheel@2R.bore", "axle@2.seat_right.diameter", "coupling_rod_rear@23L.boss_aft"
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


class Served:
    """The pages at one port, that can be ended and started again."""

    def __init__(self, book):
        self.book, self.port = book, 0
        self.start()

    def start(self):
        sockets = [bound(self.port)]
        self.port = sockets[0].getsockname()[1]
        app = create_app(self.book, hosts=(*HOSTS, "phone.test"))
        self.server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False, lifespan="off"))
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": sockets})
        self.thread.start()
        until = time.monotonic() + 20
        while not self.server.started:
            assert time.monotonic() < until
            time.sleep(0.02)

    def end(self):
        self.server.force_exit = self.server.should_exit = True
        self.thread.join(20)
        assert not self.thread.is_alive()

    def counts(self, words):
        return [line.words for line in history(self.book) if line.kind == "made" and words in line.words]


@pytest.fixture
def served(tmp_path):
    at = Served(demo.demo(tmp_path).path)
    yield at
    at.end()


@pytest.fixture
def phone(chromium, program, tmp_path, served):
    """A phone's browser whose storage outlives it; ``phone(name)`` opens it anew."""

    @contextmanager
    def opened(**more):
        context = chromium.browser_type.launch_persistent_context(
            str(tmp_path / "profile"), executable_path=program, args=list(FLAGS), **PHONE, **more
        )
        try:
            page = context.pages[0]
            page.faults = []
            page.on("pageerror", lambda fault: page.faults.append(str(fault)))
            yield page
            assert page.faults == []
        finally:
            context.close()

    return opened


def until(page, expression, *, seconds=30):
    """Wait for an expression; the strict content policy lets nothing in the page do so."""
    end = time.monotonic() + seconds
    while True:
        with suppress(Error):  # between two pages there is nothing to ask
            if page.evaluate(expression):
                return
        assert time.monotonic() < end, (expression, page.inner_text("#main")[:600])
        time.sleep(0.1)


def carried(page):
    until(page, "document.documentElement.dataset.carried", seconds=90)


def worker_ready(page):
    until(page, "navigator.serviceWorker.controller !== null")


def enter(page, reading):
    page.fill("#f-reading", reading)
    page.press("#f-reading", "Enter")


def unsent(page, count):
    until(page, f"(document.querySelector('[data-unsent]')?.dataset.unsent ?? '0') === '{count}'")


def online(page):
    page.evaluate("dispatchEvent(new Event('online'))")


def test_a_worker_answers_without_a_network_and_readings_outlive_the_browser(phone, served):
    base = f"http://127.0.0.1:{served.port}"
    with phone() as page:
        page.goto(f"{base}/bench")
        carried(page)
        worker_ready(page)
        page.context.set_offline(True)
        page.goto(f"{base}/bench/size/{BORE}")  # never seen by this browser: carried
        assert "wheel" in page.inner_text("h1")
        enter(page, "15.91")
        unsent(page, 1)
        assert "Kept on this phone" in page.inner_text("#main")
    with phone() as page:  # the browser was ended; there is still no network
        page.context.set_offline(True)
        page.goto(f"{base}/bench/size/{SEAT}")
        unsent(page, 1)
        enter(page, "16.42")
        unsent(page, 2)
        assert served.counts("made 15.91 ") == []
        page.context.set_offline(False)
        online(page)
        unsent(page, 1)  # the first is saved, the second asks how far it is
        page.click("text=On the way: more comes off")
        unsent(page, 0)
    assert len(served.counts("made 15.91 ")) == 1
    assert served.counts("16.42") == ["axle#2.seat_right.diameter made 16.42 (on the way)"]
    last = [line.words for line in history(served.book)][-2:]
    assert "15.91" in last[0]
    assert "16.42" in last[1]


def test_over_plain_http_the_page_itself_keeps_them(phone, served):
    base = f"http://phone.test:{served.port}"
    with phone() as page:
        page.goto(f"{base}/bench/carried")
        carried(page)
        assert page.evaluate("isSecureContext") is False
        assert page.evaluate("'serviceWorker' in navigator") is False
        page.wait_for_selector("text=cannot keep the screen awake")
    served.end()  # the desk is gone, and the phone's browser too
    with phone() as page:
        page.goto(f"{base}/bench/carried#/bench/size/{BORE}")
        page.wait_for_selector("#f-reading")
        assert "No connection" in page.inner_text(".strip")
        page.evaluate("document.querySelector('#f-instrument').value = 'micrometer 0-25'")
        enter(page, "15.91")
        unsent(page, 1)
        page.goto(f"{base}/bench/carried#/bench")
        page.wait_for_selector("h2:has-text('Can be made now')")
        page.goto(f"{base}/bench/carried#/bench/size/nothing@1.here")
        page.wait_for_selector("text=does not carry that page")
    served.start()
    with phone() as page:
        page.goto(f"{base}/bench/carried#/bench/size/{SEAT}")
        unsent(page, 0)
        assert page.input_value("#f-instrument") == "micrometer 0-25"  # remembered over the browser's end
    assert len(served.counts("made 15.91 ")) == 1


def test_a_lost_answer_saves_once(phone, served):
    base = f"http://127.0.0.1:{served.port}"
    with phone(service_workers="block") as page:
        page.goto(f"{base}/bench/size/{BORE}")
        lost = []

        def lose(route):
            if not lost:
                lost.append(route.request.post_data)
                route.fetch()  # the desk has it
                route.abort()  # the phone never hears so
            else:
                lost.append(route.request.post_data)
                route.continue_()

        page.route("**/bench/sent", lose)
        enter(page, "15.91")
        until(page, "document.querySelector('.kept') !== null")
        served.end()
        served.start()
        online(page)
        unsent(page, 0)
    keys = {re.search(r'"key":"([^"]+)"', body)[1] for body in lost}
    assert len(lost) >= 2
    assert len(keys) == 1
    assert len(served.counts("made 15.91 ")) == 1


def test_a_conflict_is_shown_and_stays_till_it_is_answered(phone, served):
    base = f"http://127.0.0.1:{served.port}"
    with phone() as page:
        page.goto(f"{base}/bench")
        carried(page)
        worker_ready(page)
        page.context.set_offline(True)
        page.goto(f"{base}/bench/size/{BORE}")
        enter(page, "15.91")
        unsent(page, 1)
        page.goto(f"{base}/bench/size/{BOSS}")
        enter(page, "1591")  # a slip: the browser asks by itself
        assert "slip of the decimal point" in page.inner_text(".ask")
        page.click("text=Yes, keep it")
        unsent(page, 2)
        made(served.book, BORE, ["15.93"])  # somebody at the desk
        page.context.set_offline(False)
        online(page)
        page.wait_for_selector("text=says 15.93")
    with phone() as page:  # still there after a restart
        page.goto(f"{base}/bench")
        unsent(page, 2)
        assert served.counts("made 15.91 ") == []
        page.click("text=Throw it away >> nth=0")
        page.click("text=Really throw it away")
        unsent(page, 1)
        page.click("text=Finished as it is")  # of the slip it was sure already
        unsent(page, 0)
    assert served.counts("made 15.91 ") == []
    assert len(served.counts("made 1591 ")) == 1
