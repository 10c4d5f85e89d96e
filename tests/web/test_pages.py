"""Every page answers, on the demo and on a book with nothing in it yet, and says what the verbs say."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser

import pytest

from asmade.verbs import show

PAGES = ("/", "/parts", "/findings", "/drawing", "/sizes", "/shop", "/sums", "/history", "/bench", "/components")
OPENED = (
    "/parts/wheel", "/size/wheel@2L.bore", "/size/wheel%23W4.bore", "/finding?code=fit&subject=journal%20in%20axlebox@1L",
    "/findings?verdict=fails", "/findings?about=bore&page=2", "/history/3", "/bench/size/wheel@2R.bore",
    "/bench/size/axle@2.seat_right.diameter", "/bench?about=wheel",
)  # fmt: skip
VOID = {"meta", "link", "input", "br", "wbr", "rect", "circle", "path"}
MAY_STAY_OPEN = {"td", "th", "tr", "thead", "tbody", "li", "p", "option"}


class Fault(HTMLParser):
    """What the content policy would refuse, what points outside, and what is not closed."""

    def __init__(self, text):
        super().__init__()
        self.faults, self.open, self.labels, self.ids, self.fields = [], [], set(), [], []
        self.feed(text)
        self.faults += [f"<{tag}> left open" for tag in self.open if tag not in MAY_STAY_OPEN]
        self.faults += [f"id {one} twice" for one in set(self.ids) if self.ids.count(one) > 1]
        self.faults += [f"{one} has no label" for one in self.fields if one not in self.labels]

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        self.faults += [f"{tag} {name}" for name in told if name == "style" or name.startswith("on")]
        if tag == "style" or (tag == "script" and "src" not in told):
            self.faults.append(f"inline {tag}")
        for name in ("src", "href", "action"):
            if re.match(r"(?i)(https?:)?//|javascript:", told.get(name) or ""):
                self.faults.append(f"{tag} {name} {told[name]}")
        if "id" in told:
            self.ids.append(told["id"])
        if tag == "label" and "for" in told:
            self.labels.add(told["for"])
        typed = tag in ("input", "select", "textarea") and told.get("type") not in ("hidden", "checkbox", "radio")
        if typed and "aria-label" not in told:
            self.fields.append(told.get("id"))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        while self.open and self.open[-1] != tag and self.open[-1] in MAY_STAY_OPEN:
            self.open.pop()
        if tag in VOID:
            return
        if self.open and self.open[-1] == tag:
            self.open.pop()
        else:
            self.faults.append(f"</{tag}> closes nothing")


def words(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text.replace("<wbr>", ""))).split())


@pytest.mark.parametrize("path", [*PAGES, *OPENED])
def test_pages_of_the_demo(at_demo, path):
    answer = at_demo.get(path)
    assert answer.status_code == 200
    assert Fault(answer.text).faults == []
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "path", [*PAGES, "/parts/wheel", "/size/wheel@1L.bore", "/bench/size/wheel@1L.bore", "/history/1"]
)
def test_pages_of_a_new_book(at_new, path):
    answer = at_new.get(path)
    assert answer.status_code == 200
    assert Fault(answer.text).faults == []


def test_faults_of_a_page_would_be_found():
    text = '<p style="x"><a href="//elsewhere"><script>1</script><input id="a"><i id="a"></b>'
    assert {
        "p style",
        "a href //elsewhere",
        "inline script",
        "id a twice",
        "a has no label",
        "</b> closes nothing",
    } <= set(Fault(text).faults)


def test_the_board_says_what_the_verb_says(at_demo, demo_book):
    board = show.board(demo_book)
    shown = words(at_demo.get("/"))
    for text in (
        board.title,
        f"{board.made} of {board.sizes}",
        board.drawing[0].subject,
        board.drawing[0].working,
        board.rounding[0].subject,
        board.at_risk[0].subject,
        board.next[0].piece,
        board.last_words,
        *board.unknown_figures,
    ):
        assert " ".join(text.split()) in shown


def test_a_finding_opens_to_its_working_and_source(at_demo, demo_book):
    finding = next(f for f in show.board(demo_book).at_risk if f.shares and not f.drawn_only)
    shown = words(at_demo.get("/finding", params={"code": finding.code, "subject": finding.subject}))
    for text in (finding.working, finding.source, finding.shares[0].cause):
        assert " ".join(text.split()) in shown


def test_every_finding_opens(at_demo):
    """Each link of the list leads to one; the list is narrowed by verdict and by text."""
    fails = at_demo.get("/findings?verdict=fails").text
    links = re.findall(r'href="(/finding\?[^"]+)"', fails)
    assert links
    for link in links:
        assert at_demo.get(unescape(link)).status_code == 200
    assert "journal in axlebox@1L" in at_demo.get("/findings?about=JOURNAL+in").text
    assert "None of that kind" in at_demo.get("/findings?about=no-such-thing").text


def test_every_part_of_both_books_opens(at_demo, at_new):
    for at in (at_demo, at_new):
        links = re.findall(r'<td><a href="(/parts/[^"]+)"', at.get("/parts").text)
        assert len(links) > 10
        assert {at.get(link).status_code for link in links[::6]} == {200}


@pytest.mark.parametrize("path", ["/nothing", "/parts/whel", "/size/wheel@2L.boor", "/sums/tea", "/history/99999"])
def test_what_is_not_there_is_said_on_a_page(at_demo, path):
    answer = at_demo.get(path)
    assert answer.status_code == 404
    assert 'role="alert"' in answer.text
    assert "Traceback" not in answer.text


def test_near_names_are_offered(at_demo):
    assert "did you mean wheel" in words(at_demo.get("/parts/whel"))


def test_a_book_that_cannot_be_read_is_said_on_a_page(tmp_path, at_demo):
    path = tmp_path / "foreign.asmade"
    path.write_bytes(b"not a book at all, by any means")
    answer = type(at_demo)(path).get("/")
    assert answer.status_code == 422
    assert "foreign.asmade" in answer.text
    assert 'class="titleblock"' not in answer.text


def test_a_fault_of_ours_shows_no_trace(demo_book, at_demo, monkeypatch):
    from asmade.web.seen import Look

    at = type(at_demo)(demo_book, raise_server_exceptions=False)
    monkeypatch.setattr(Look, "next", property(lambda _: 1 // 0))
    answer = at.get("/bench")
    assert answer.status_code == 500
    assert "our fault" in answer.text
    assert "ZeroDivision" not in answer.text


def test_pages_of_small_weight(at_demo):
    whole = sum(len(at_demo.get(path).content) for path in ("/", "/static/look.css", "/static/bench.js"))
    assert whole < 300_000


def test_what_is_saved_elsewhere_is_seen(at_own_demo):
    from asmade.verbs.drawn import drawn

    assert "9/16 in = 14.2875" not in at_own_demo.get("/size/wheel@2L.bore").text
    held = at_own_demo.app.state.desk.look()
    assert at_own_demo.app.state.desk.look() is held
    drawn(at_own_demo.book, "wheel.bore", "9/16")
    assert at_own_demo.app.state.desk.look() is not held
    assert "14.2875" in words(at_own_demo.get("/size/wheel@2L.bore")) or "14.288" in words(
        at_own_demo.get("/size/wheel@2L.bore")
    )
