"""The bench without a browser: operations, what is still to come off, the stage asked where it matters, cure, last look."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from html import unescape

import pytest

from asmade.verbs import joined as joining
from asmade.verbs.history import history
from asmade.verbs.made import made
from asmade.verbs.route import route
from asmade.web import taken

SEAT = "axle@2.seat_right.diameter"
PIN = "piston rod fixed in crosshead@L"


def words(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text.replace("<wbr>", ""))).split())


def key():
    key.n = getattr(key, "n", 0) + 1
    return f"bench-test-{key.n:06}"


def hidden(text):
    return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', text))


def sent(browser, **told):
    return browser.post("/bench/sent", json={"kind": "reading", "key": key(), **told})


# ---- operations
def test_the_operations_are_those_of_the_route(at_demo, demo_book):
    shown = words(at_demo.get("/bench/steps/axle@2"))
    planned = route(demo_book, "axle@2").route
    for operation in planned.operations:
        assert " ".join(operation.words.split()) in shown
        for caution in operation.cautions:
            assert caution.text in shown
    assert f"1 of {len(planned.operations)}" in shown


def test_one_operation_is_shown_and_done_leads_to_the_next(at_own_demo):
    at = at_own_demo
    first = at.get("/bench/steps/axle@2").text
    assert len(re.findall(r'<section class="step"[^>]*(?<! hidden) aria', first)) >= 1
    operation = re.search(r'name="operation" value="([^"]+)"', first)[1]
    told = {"address": "axle@2", "operation": operation, "key": key()}
    after = at.submit("/bench/done", **told)
    assert f"Done: {operation}" in words(after)
    assert history(at.book)[-1].body["operation"] == operation
    assert 'id="step-2"' in after.text
    assert re.search(r'id="step-1" data-step="1" hidden', after.text)
    count = len(history(at.book))
    at.submit("/bench/done", **told)  # the same sent twice
    assert len(history(at.book)) == count
    refused = at.submit("/bench/done", address="axle@2", operation="", key=key())
    assert refused.status_code == 422
    assert 'role="alert"' in refused.text


@pytest.mark.parametrize("piece", ["axel@2", "axle@9", "axle@2.journal.diameter", "@@", "%2e%2e/x"])
def test_a_piece_that_is_none_has_no_operations(at_demo, piece):
    assert at_demo.get(f"/bench/steps/{piece}").status_code in (404, 422)


# ---- one size
def test_what_is_still_to_come_off_follows_the_reading_on_the_way(at_own_demo):
    at = at_own_demo
    before = words(at.get(f"/bench/size/{SEAT}"))
    assert "18.000 (as it begins)" in before
    made(at.book, SEAT, ["16.42"], stage="on the way", instrument="micrometer 0-25")
    shown = words(at.get(f"/bench/size/{SEAT}"))
    aim = float(re.search(r"aim, mm ([0-9.]+)", shown)[1])
    off = float(re.search(r"([0-9.]+) mm to come off, on diameter, from 16\.420", shown)[1])
    assert off == pytest.approx(16.42 - aim, abs=0.0011)
    assert "read on the way" in shown
    assert f"axle#2.{SEAT.partition('.')[2]}" in words(at.get("/bench")).partition("Can be made now")[0]


def test_the_dial_reads_what_comes_off_where_it_reads_diameter(at_demo):
    """A dial that reads diameter shows the whole of it; by definition of the dial (its table in the shop)."""
    back = at_demo.get("/bench/back", params={"address": SEAT, "reading": "16.42"}).json()
    last = back["cuts"][-1]
    dial = re.match(r"(?:(\d+) turns? \+ )?([0-9.]+) mm", last["dial"])
    turned = 4 * int(dial[1] or 0) + float(dial[2])
    assert turned == pytest.approx(float(back["off"]), abs=0.026)  # half a mark of 0.05
    assert float(last["size"]) == pytest.approx(16.42 - float(back["off"]), abs=0.0011)


def test_a_reading_is_shown_back(at_demo):
    def back(**asked):
        return at_demo.get("/bench/back", params={"address": "wheel#W4.bore", **asked}).json()

    two = back(reading="15.91; 15.92", several="repeats")
    assert (two["count"], two["spread"]) == (2, "0.010")
    assert two["read"].startswith("15.915 mm")
    assert "ten times" in back(reading="159.1")["slips"][0]
    assert back(reading="")["read"] == ""
    fractions = at_demo.get("/bench/back", params={"address": SEAT, "reading": "5/8 in"}).json()
    assert fractions["read"].startswith("15.875 mm")  # 5/8 of 25.4
    assert at_demo.get("/bench/back", params={"address": SEAT, "reading": "<b>"}).status_code == 422


@pytest.mark.parametrize(
    ("reading", "title", "buttons"),
    [("16.42", "How far is it?", ("on the way", "finished")), ("159.1", "Is that right?", ("on the way", "finished"))],
)
def test_the_stage_is_asked_where_metal_is_still_on(at_own_demo, reading, title, buttons):
    at, before = at_own_demo, len(history(at_own_demo.book))
    asked = at.submit("/bench/reading", address=SEAT, reading=reading, stage="ask", key=key())
    assert title in words(asked)
    for stage in buttons:
        assert f'name="stage" value="{stage}"' in asked.text
    assert len(history(at.book)) == before
    answered = at.submit("/bench/reading", **(hidden(asked.text) | {"stage": "on the way"}))
    assert "Saved" in words(answered)
    assert history(at.book)[-1].body["stage"] == "on the way"


def test_the_stage_is_not_asked_within_the_limits_and_asked_of_one_made_already(at_own_demo):
    at = at_own_demo
    aim = at.app.state.desk.look().aim(SEAT)
    within = f"{aim.target:.3f}"
    saved = at.submit("/bench/reading", address=SEAT, reading=within, stage="ask", key=key())
    assert "Saved" in words(saved)
    assert history(at.book)[-1].body["stage"] == "finished"
    again = at.submit("/bench/reading", address=SEAT, reading=within, stage="ask", key=key())
    assert 'name="stage" value="check"' in again.text


# ---- the phone's queue
def test_what_a_phone_sends_is_saved_once_over_restarts(at_own_demo):
    at, before = at_own_demo, len(history(at_own_demo.book))
    told = {"address": "wheel#W4.bore", "reading": "15.912", "instrument": "micrometer 0-25", "key": key()}
    first = sent(at, **told).json()
    assert (first["state"], first["entry"]) == ("saved", history(at.book)[-1].number)
    for other in (at, type(at)(at.book)):  # the second is a desk that was started again
        again = sent(other, **told).json()
        assert (again["state"], again["entry"], again["page"]) == ("saved", first["entry"], first["page"])
    assert len(history(at.book)) == before + 1
    assert "there once" in words(type(at)(at.book).get(first["page"]))


def test_it_was_read_when_the_phone_says(at_own_demo):
    when = (datetime.now().astimezone() - timedelta(hours=3)).isoformat(timespec="seconds")
    assert sent(at_own_demo, address="wheel#W4.bore", reading="15.912", at=when).json()["state"] == "saved"
    assert history(at_own_demo.book)[-1].at == when
    late = (datetime.now().astimezone() + timedelta(hours=3)).isoformat(timespec="seconds")
    assert "future" in sent(at_own_demo, address="wheel#W4.bore", reading="15.912", at=late).json()["message"]


def test_a_conflict_is_told_and_nothing_is_saved(at_own_demo):
    at = at_own_demo
    seen = str(at.app.state.desk.look().opened.last)
    made(at.book, "wheel#W4.bore", ["15.93"])
    count = len(history(at.book))
    told = {"address": "wheel#W4.bore", "reading": "15.912", "seen": seen, "key": key()}
    answer = sent(at, **told).json()
    assert answer["state"] == "meanwhile"
    assert "15.93" in answer["message"]
    assert len(history(at.book)) == count
    assert sent(at, **told, sure=True).json()["state"] == "meanwhile"  # sure of the figure only
    assert sent(at, **told, mine=True).json()["state"] == "saved"


def test_a_device_does_not_overtake_itself(at_own_demo):
    at = at_own_demo
    seen = str(at.app.state.desk.look().opened.last)
    for count, reading in enumerate(("16.42", "16.05")):
        told = {
            "address": SEAT,
            "reading": reading,
            "stage": "on the way",
            "seen": seen,
            "key": f"MYDEVICE-{count:012}",
        }
        assert sent(at, **told).json()["state"] == "saved"


def test_an_aim_that_moved_meanwhile_is_told_with_what_was_saved(at_own_demo):
    at = at_own_demo
    aim = at.app.state.desk.look().aim(SEAT)
    was = " ".join(f"{x:.6f}" for x in (aim.low, aim.target, aim.high))
    made(at.book, "wheel@2R.bore", ["15.90"])
    told = sent(at, address=SEAT, reading=f"{aim.target:.3f}", aim=was, stage="finished", sure=True).json()
    assert told["state"] == "saved"
    assert "moved" in told["note"]


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"address": "whel#W4.bore", "reading": "1"}, "did you mean"),
        ({"address": "wheel#W4.bore", "reading": "x"}, "cannot read"),
        ({"address": "wheel#W4.bore", "reading": "15.9", "book": "f" * 16}, "another book"),
        ({"address": "wheel#W4.bore", "reading": "15.9", "key": "k"}, "lost its key"),
        ({"address": "wheel#W4.bore", "reading": "15.9", "at": "yesterday"}, "no date"),
    ],
)
def test_what_is_refused_is_told(at_own_demo, told, said):
    count = len(history(at_own_demo.book))
    answer = sent(at_own_demo, **told).json()
    assert answer["state"] == "refused"
    assert said in f"{answer['message']} {answer['way_out']}"
    assert len(history(at_own_demo.book)) == count


def test_only_json_and_only_what_is_known(at_own_demo):
    body = '{"kind":"reading","key":"abcdefgh","address":"wheel#W4.bore","reading":"15.9"}'
    for kind in ("text/plain", "application/x-www-form-urlencoded"):
        assert at_own_demo.post("/bench/sent", content=body, headers={"content-type": kind}).status_code == 422
    assert sent(at_own_demo, address="wheel#W4.bore", colour="red").status_code == 422
    assert sent(at_own_demo, address="x" * 500).status_code == 422


def test_what_is_carried_is_what_the_pages_say(at_demo):
    at_demo.get("/bench")  # as a phone does: the first page gives the browser its session
    load = at_demo.get("/bench/pages").json()
    steps = [str(s.dimension) for p in at_demo.app.state.desk.look().next.pieces for s in p.sizes]
    assert load["sizes"] == len(steps)
    assert all(f"/bench/size/{address}" in load["pages"] for address in steps[:50])
    path = f"/bench/size/{steps[0]}"
    main = at_demo.get(path).text.partition('<main id="main">')[2].rpartition("</main>")[0]
    drop = re.compile(r'name="key" value="[^"]*"')
    assert drop.sub("", load["pages"][path]["main"]) == drop.sub("", main)
    assert at_demo.get("/bench/state").json()["state"] == load["state"]
    assert "<main" not in load["pages"][path]["main"]


def test_every_key_is_one(at_demo):
    assert taken.KEY.fullmatch("A" * 24)
    assert not taken.KEY.fullmatch("../../etc/passwd")
    assert at_demo.get("/bench/saved/..%2f..%2fetc").status_code == 404


# ---- cure and last look
def test_a_joint_is_joined_with_all_ticked_and_its_reason_and_waits_for_cure(at_own_demo):
    at = at_own_demo
    joint = "second wheel on axle, quartered@1"
    made(at.book, "axle@1.seat_right.diameter", ["15.85"], instrument="micrometer 0-25")
    page = at.get(f"/last-look/{joint}")
    assert "STOP" in page.text
    told = hidden(page.text)
    ticks = [unescape(t) for t in re.findall(r'name="tick" value="([^"]*)"', page.text)]
    assert len(ticks) > 3
    asked = {"joint": joint, "key": key(), "token": at.token}
    some = at.post("/last-look/joined", data={**asked, "tick": ticks[:2], "despite": "trial"})
    assert some.status_code == 422
    assert "not seen to yet" in words(some)
    assert some.text.count("checked") == 2  # what was ticked stays ticked
    unwritten = at.post("/last-look/joined", data={**asked, "tick": ticks})
    assert unwritten.status_code == 422
    assert 'id="r-despite"' in unwritten.text
    done = at.post("/last-look/joined", data={**asked, "tick": ticks, "despite": "trial pieces"})
    assert "<h1>Joined</h1>" in done.text
    assert history(at.book)[-1].kind == "joined"
    until = re.search(r'<time class="num" datetime="([^"]+)" data-until>([^<]+)</time>', done.text)
    assert until[2] in words(at.get("/bench"))  # the time of day, without scripts
    assert datetime.fromisoformat(until[1]) > datetime.now().astimezone()
    count = len(history(at.book))
    at.post("/last-look/joined", data={**asked, "tick": ticks, "despite": "trial pieces"})
    assert len(history(at.book)) == count
    assert told["joint"] == joint

    stands = at.get(f"/last-look/{joint}")
    assert "JOINED" in stands.text
    refused = at.submit("/last-look/undone", joint=joint, how=" ")
    assert refused.status_code == 422
    assert 'id="r-how"' in refused.text
    gone = at.submit("/last-look/undone", joint=joint, how="warmed, drawn off")
    assert "Undone: warmed, drawn off" in words(gone)
    assert history(at.book)[-1].kind == "undone"


def test_every_joint_opens(at_demo):
    listed = at_demo.get("/last-look")
    links = [unescape(x) for x in re.findall(r'href="(/last-look/[^"]+)"', listed.text)]
    assert len(links) > 10
    for link in links[::7]:
        assert at_demo.get(link).status_code == 200
    assert at_demo.get("/last-look/no such joint@1").status_code == 404
    assert at_demo.get(links[0], params={"temperature": "900 C"}).status_code == 422


def test_the_reasons_are_those_of_the_verb(at_demo, demo_book):
    from asmade.verbs.last_look import last_look

    found = last_look(demo_book, PIN)
    shown = words(at_demo.get(f"/last-look/{PIN}"))
    for reason in (*found.stops, *found.minds):
        assert " ".join(reason.words.split()) in shown
    for tick in found.ticks:
        assert " ".join(tick.split()) in shown
    assert joining.Stopped(found.joint, found.stops).reasons == found.stops
