"""First steps: done on a copy, each step a real entry, ticked by what the book holds, never at a user's book."""

from __future__ import annotations

import re
import time
from html import unescape

from asmade.verbs import guide, last_look, store
from asmade.verbs.history import history
from asmade.web.pages.guide import _texts


def ticked(at):
    look = at.app.state.desk.look()
    return [s.name for s in guide.progress(look.opened, drawing_fails=look.drawing.fails) if s.entry]


def hidden(text, name):
    return unescape(re.search(rf'name="{name}" value="([^"]*)"', text)[1])


def test_a_copy_is_made_and_no_book_is_touched(at_own_demo):
    at = at_own_demo
    before = at.book.read_bytes()
    assert "The open book, harrowgill.asmade, is the demo itself" in at.get("/guide").text
    for name in ("first-steps.asmade", "first-steps-2.asmade"):
        assert name in at.submit("/guide/begin").text
        assert at.app.state.desk.book.path.name == name
    assert at.book.read_bytes() == before
    assert ticked(at) == []


def test_in_a_book_of_ones_own_it_offers_a_copy(at_new):
    page = at_new.get("/guide").text
    assert "your own" in page
    assert "first-steps" not in page
    for text in _texts().values():
        assert unescape(text["title"]).replace("'", "&#39;") in page


def test_every_link_of_every_step_leads_to_a_page(at_demo):
    assert set(_texts()) == set(guide.STEPS)
    for text in _texts().values():
        for _, path in text["links"]:
            assert at_demo.get(path).status_code == 200, path


def test_the_main_job_step_by_step(at_own_demo):
    at = at_own_demo
    at.submit("/guide/begin")
    at.submit("/fill/part/coupling_rod_front", **{"d.centres": "5", "reference": "sheet 3"})
    assert ticked(at) == ["drawing"]

    at.submit("/sizes/run", seconds="15")
    until = time.monotonic() + 60
    while not at.app.state.desk.runs.last.ended.is_set():
        assert time.monotonic() < until
        time.sleep(0.1)
    at.submit("/sizes/apply", run=hidden(at.get("/sizes").text, "run"))
    assert ticked(at) == ["drawing", "sizes"]

    key = hidden(at.get("/bench/size/wheel@2R.bore").text, "key")
    at.submit(
        "/bench/reading",
        address="wheel#W4.bore",
        reading="15.90",
        instrument="telescopic gauge with micrometer 0-25",
        key=key,
    )
    assert ticked(at)[-1] == "measure"
    at.submit("/bench/aim", address="axle@2.seat_right.diameter", instrument="micrometer 0-25")
    assert ticked(at)[-1] == "moved"

    from asmade.verbs.joined import joined

    path = at.app.state.desk.book.path
    joint = "first wheel on axle@1"
    for _ in range(12):  # what the last look asks to be measured, at its aim
        look = last_look.last_look(path, joint)
        asked = [r.words.split()[0] for r in look.stops if "is not measured" in r.words]
        if not asked:
            break
        aim = at.app.state.desk.look().aim(asked[0])
        value = aim.target if aim.target is not None else at.app.state.desk.look().size(asked[0])[0].best
        from asmade.verbs.made import made

        made(path, asked[0], (f"{value:.3f}",), instrument="caliper 150", heed_slips=False)
    joined(path, joint, despite="" if last_look.last_look(path, joint).verdict == "go" else "a trial")
    assert ticked(at)[-1] == "joint"

    from asmade.verbs.made import made

    made(path, "wheelset@3.quarter", ("90.02",), heed_slips=False)
    assert ticked(at)[-1] == "wheels"
    at.post("/record/photo", data={"token": at.token, "about": "book", "text": "a wheel is on"})
    assert ticked(at) == list(guide.STEPS)
    page = at.get("/guide").text
    assert "7</span> of" in page.replace('<span class="num">', "")
    assert "Begin a build of your own" in page

    note = history(path)[-1]
    at.submit("/history/withdraw", entry=str(note.number), why="a trial")
    assert ticked(at) == list(guide.STEPS[:-1])  # what is withdrawn does not count
    assert store.read(at.book).last < note.number  # the demo itself is as it was
