"""A real browser (Chromium of the system, headless) at a real server on a port of this machine."""

from __future__ import annotations

import shutil
import threading
import time
from dataclasses import dataclass, field

import pytest
import uvicorn
from playwright.sync_api import sync_playwright

from asmade.verbs import demo
from asmade.web.app import create_app
from asmade.web.serve import bound

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
)  # fmt: skip
WIDTHS = {"desk": (1280, 860), "phone": (390, 800), "narrow": (360, 740)}


@dataclass
class Served:
    """A book being served: where, and the means to end it."""

    book: str
    address: str
    server: uvicorn.Server
    thread: threading.Thread

    def end(self) -> None:
        self.server.should_exit = True
        self.thread.join(timeout=10)


def serve(book, port: int = 0) -> Served:
    """Serve a book from a thread, as `asmade serve` does from a process."""
    listening = bound(port)
    config = uvicorn.Config(create_app(book), log_level="error", access_log=False, server_header=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    until = time.monotonic() + 20
    while not server.started:
        assert time.monotonic() < until, "the server did not start"
        time.sleep(0.01)
    return Served(str(book), f"http://127.0.0.1:{listening.getsockname()[1]}", server, thread)


@pytest.fixture(scope="session")
def program():
    """The system's Chromium; ./test installs it where it is missing."""
    found = next((path for path in map(shutil.which, NAMES) if path), None)
    assert found, "Chromium is not on this machine: run ./test, or install it (Debian: apt-get install chromium)"
    return found


@pytest.fixture(scope="session")
def chromium(program):
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=program, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def shown_demo(tmp_path_factory):
    """The demo, served to be looked at only."""
    served = serve(demo.demo(tmp_path_factory.mktemp("shown")).path)
    yield served
    served.end()


@pytest.fixture
def own_demo(tmp_path):
    """A demo of one's own, served to be written in."""
    served = serve(demo.demo(tmp_path).path)
    yield served
    served.end()


@dataclass
class Said:
    """What a page complained of: errors of its scripts, lines of its console, answers that broke."""

    lines: list[str] = field(default_factory=list)

    def listen(self, page) -> None:
        page.on("pageerror", lambda error: self.lines.append(f"error: {error}"))
        page.on("console", self._hear)
        page.on("response", self._answered)

    def _hear(self, line) -> None:
        told = "status of 4" in line.text or "blocked by Playwright" in line.text  # refusals; the window's own doing
        if line.type in ("error", "warning") and not told:
            self.lines.append(f"{line.type}: {line.text}")

    def _answered(self, answer) -> None:
        if answer.status >= 500:
            self.lines.append(f"{answer.status}: {answer.url}")


@pytest.fixture
def window(chromium):
    """Open a window: ``window(width, scheme)`` gives a page whose complaints fail the test at its end."""
    contexts, heard = [], Said()

    def make(width: str = "desk", scheme: str = "light", **more):
        wide, high = WIDTHS[width]
        context = chromium.new_context(
            viewport={"width": wide, "height": high}, color_scheme=scheme, reduced_motion="reduce",
            has_touch=width != "desk", service_workers=more.pop("service_workers", "block"), **more,
        )  # fmt: skip
        contexts.append(context)
        context.set_default_timeout(30_000)
        page = context.new_page()
        heard.listen(page)
        return page

    yield make
    for context in contexts:
        context.close()
    assert heard.lines == []
