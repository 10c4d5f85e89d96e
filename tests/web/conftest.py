"""Books and browsers without a browser: the application asked in-process."""

from __future__ import annotations

import re
import warnings

import pytest

from asmade.verbs import demo, new, store
from asmade.web.app import create_app
from asmade.web.desk import COOKIE

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # starlette asks for a successor of httpx that is not pinned yet
    from starlette.testclient import TestClient

BASE = "http://127.0.0.1:8640"


class Browser(TestClient):
    """A browser at the desk: it sends the token of the page it is on with every form, as a form does."""

    def __init__(self, book, **more):
        super().__init__(create_app(book), base_url=BASE, follow_redirects=True, **more)
        self.book = book

    @property
    def token(self):
        if COOKIE not in self.cookies:
            found = re.search(r'name="token" value="([0-9a-f]+)"', self.get("/history/1").text)[1]
            assert found == self.app.state.desk.token(self.cookies[COOKIE])
        return self.app.state.desk.token(self.cookies[COOKIE])

    def submit(self, path, **data):
        return self.post(path, data={"token": self.token, **data}, headers={"origin": BASE})


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory):
    """The demo, only looked at."""
    return demo.demo(tmp_path_factory.mktemp("demo")).path


@pytest.fixture(scope="session")
def at_demo(demo_book):
    return Browser(demo_book)


@pytest.fixture
def at_own_demo(tmp_path):
    """A demo of one's own, to write in."""
    return Browser(demo.demo(tmp_path).path)


@pytest.fixture(scope="session")
def at_new(tmp_path_factory):
    """A new book, every size still to be filled in."""
    path = tmp_path_factory.mktemp("new") / "new.asmade"
    new.new(path, arrangement="0-4-0", title="just begun")
    return Browser(path)


@pytest.fixture
def browser_of(tmp_path):
    """A browser at a book made of drafts."""

    def make(drafts):
        path = tmp_path / "own.asmade"
        store.start(path, drafts)
        return Browser(path)

    return make
