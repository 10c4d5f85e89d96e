"""Forms: what is entered is in the book; what is refused is said beside its field, and nothing is saved."""

from __future__ import annotations

import re
import time

import pytest

from asmade.verbs import choose as choosing
from asmade.verbs.history import history


def key():
    key.n = getattr(key, "n", 0) + 1
    return f"key-of-a-form-{key.n:06}"


def count(at):
    return len(history(at.book))


def test_a_reading_is_saved_and_says_what_it_changed(at_own_demo):
    at, before = at_own_demo, count(at_own_demo)
    answer = at.submit(
        "/bench/reading", address="wheel#W4.bore", reading="15.912", instrument="micrometer 0-25", key=key()
    )
    assert answer.status_code == 200
    assert "<h1>Saved</h1>" in answer.text
    assert count(at) == before + 1
    line = history(at.book)[-1]
    assert line.words == "wheel#W4.bore made 15.912 by micrometer 0-25 (finished)"
    assert "axle@2.seat_right.diameter" in answer.text.replace("<wbr>", "")  # its mate's aim moved
    assert f"entry {line.number}" in answer.text
    bench = at.get("/bench/size/axle@2.seat_right.diameter")
    assert re.search(r'15\.912</b> <span class="soft">made', bench.text)
    assert '<option value="micrometer 0-25" selected>' in bench.text  # remembered


def test_a_reading_sent_twice_is_saved_once(at_own_demo):
    at, before, same = at_own_demo, count(at_own_demo), key()
    sent = {"address": "wheel#W4.bore", "reading": "15.912", "instrument": "micrometer 0-25", "key": same}
    first, second = at.submit("/bench/reading", **sent), at.submit("/bench/reading", **sent)
    assert first.url == second.url
    assert count(at) == before + 1
    again = type(at)(at.book)  # after a restart nothing is remembered but what the book holds
    assert again.submit("/bench/reading", **sent).status_code == 200
    assert count(at) == before + 1


@pytest.mark.parametrize(("reading", "said"), [("159.1", "ten times"), ("1.591", "a tenth of"), ("17.9", "a slip?")])
def test_a_slip_is_asked_about_before_it_is_saved(at_own_demo, reading, said):
    at, before = at_own_demo, count(at_own_demo)
    sent = {"address": "wheel#W4.bore", "reading": reading, "instrument": "micrometer 0-25", "key": key()}
    asked = at.submit("/bench/reading", **sent)
    assert asked.status_code == 200
    assert "Is that right?" in asked.text
    assert said in asked.text
    assert count(at) == before
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', asked.text))
    assert hidden["reading"] == reading
    assert hidden["key"] == sent["key"]
    sure = at.post("/bench/reading", data=hidden)
    assert "<h1>Saved</h1>" in sure.text
    assert count(at) == before + 1


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"reading": ""}, "there is none"),
        ({"reading": "fifteen"}, "cannot read"),
        ({"reading": "nan"}, "cannot read"),
        ({"reading": "1e400"}, "cannot read"),
        ({"reading": "9" * 300}, ""),
        ({"reading": "15.9; 15.91"}, "one spot or at different ones"),
        ({"reading": "15.9", "goes": "15.89"}, "two readings"),
        ({"reading": "15.9", "instrument": "a ruler"}, "there is no &#39;a ruler&#39;"),
        ({"reading": "15.9", "stage": "almost"}, "there is no &#39;almost&#39;"),
        ({"reading": "15.9", "key": "x"}, "lost its key"),
    ],
)
def test_a_reading_that_is_refused_is_said_beside_its_field(at_own_demo, sent, said):
    at, before = at_own_demo, count(at_own_demo)
    answer = at.submit("/bench/reading", **{"address": "wheel#W4.bore", "key": key(), **sent})
    assert answer.status_code in (200, 422) if not said else answer.status_code == 422
    assert said in answer.text
    assert 'id="r-reading"' in answer.text or "Is that right?" in answer.text
    assert count(at) == before


@pytest.mark.parametrize(("several", "held"), [("repeats", "repeats"), ("spots", "spots")])
def test_several_readings(at_own_demo, several, held):
    answer = at_own_demo.submit(
        "/bench/reading", address="wheel#W4.bore", reading="15.91; 15.92", several=several, key=key()
    )
    assert answer.status_code == 200
    assert history(at_own_demo.book)[-1].body[held] == ["15.91", "15.92"]


def test_goes_and_stops(at_own_demo):
    answer = at_own_demo.submit("/bench/reading", address="wheel#W4.bore", goes="15.90", stops="15.92", key=key())
    assert answer.status_code == 200
    assert history(at_own_demo.book)[-1].body["goes"] == "15.90"


def test_an_aim_goes_to_the_bench_and_a_reading_is_undone(at_own_demo):
    at, before = at_own_demo, count(at_own_demo)
    sent = at.submit("/bench/aim", address="axle@2.seat_right.diameter", instrument="micrometer 0-25")
    assert "Aim written down" in sent.text
    assert history(at.book)[-1].kind == "aimed"
    assert "On the bench now" in at.get("/bench").text
    at.submit(
        "/bench/reading",
        address="axle#2.seat_right.diameter",
        reading="15.847",
        instrument="micrometer 0-25",
        key=key(),
    )
    assert count(at) == before + 2
    number = history(at.book)[-1].number
    refused = at.submit("/history/withdraw", entry=str(number), why="")
    assert refused.status_code == 422
    assert "say why" in refused.text
    back = at.submit(
        "/history/withdraw", entry=str(number), why="wrong drum line", back="/bench/size/axle@2.seat_right.diameter"
    )
    assert back.url.path == "/bench/size/axle@2.seat_right.diameter"
    assert "no longer counts" in back.text
    assert next(x for x in history(at.book) if x.number == number).withdrawn == "wrong drum line"
    assert at.submit("/history/withdraw", entry=str(number), why="again").status_code == 422


def test_back_leads_nowhere_else(at_own_demo):
    at = at_own_demo
    for back in ("//evil.example", "/\\evil.example", "/history/../\r\nx: y"):
        at.submit("/bench/reading", address="wheel#W4.bore", reading="15.912", key=key())
        number = history(at.book)[-1].number
        answer = at.post(
            "/history/withdraw",
            data={"token": at.token, "entry": number, "why": "x", "back": back},
            follow_redirects=False,
        )
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/history")


def test_a_drawn_size_is_read_and_shown_back(at_own_demo):
    at, before = at_own_demo, count(at_own_demo)
    answer = at.submit("/size/drawn", address="wheel@2L.bore", text="19/32", reference="sheet 2")
    assert "15.08125 mm" in answer.text
    assert history(at.book)[-1].body == {"of": "wheel.bore", "drawn": "19/32", "reference": "sheet 2"}
    refused = at.submit("/size/drawn", address="wheel@2L.bore", text="19/33")
    assert refused.status_code == 422
    assert 'id="r-text"' in refused.text
    assert 'value="19/33"' in refused.text
    assert count(at) == before + 1


def test_a_size_decided_by_hand(at_own_demo):
    at = at_own_demo
    at.submit("/size/chosen", address="wheel@2L.boss_width", text="14.3 mm", why="casting", locked="1")
    body = history(at.book)[-1].body
    assert (body["of"], body["size"], body["locked"]) == ("wheel.boss_width", "14.3 mm", True)
    refused = at.submit("/size/chosen", address="wheel@2L.boss_width", text="wide")
    assert refused.status_code == 422
    assert 'id="r-chosen"' in refused.text


def test_a_figure_of_the_engine(at_own_demo):
    at = at_own_demo
    assert (
        "Saved: working_pressure = 90 psi" in at.submit("/drawing/figure", name="working_pressure", text="90 psi").text
    )
    assert at.submit("/drawing/figure", name="wheel.bore", text="3").status_code == 422


@pytest.mark.parametrize("path", ["/size/drawn", "/size/chosen", "/bench/reading", "/bench/aim"])
@pytest.mark.parametrize("address", ["", "whel@2L.bore", "wheel@9L.bore", "wheel@2L.boor", "@@..##", "wheel"])
def test_an_address_that_is_none_is_refused(at_demo, path, address):
    answer = at_demo.submit(path, address=address, text="1", reading="1", key=key())
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text


def chosen(at, **asked):
    answer = at.submit("/sizes/run", **{"seconds": "15", **asked})
    assert answer.status_code == 200
    until = time.monotonic() + 60
    while 'http-equiv="refresh"' in at.get("/sizes").text:
        assert time.monotonic() < until
        time.sleep(0.1)
    return at.get("/sizes").text


def test_a_choice_is_run_shown_and_kept(at_own_demo):
    at, before = at_own_demo, count(at_own_demo)
    text = chosen(at)
    assert count(at) == before
    assert "Sizes that leave the drawing" in text
    run = re.search(r'name="run" value="([^"]+)"', text)[1]
    shown = at.app.state.desk.runs.last.result.choice
    kept = at.submit("/sizes/apply", run=run)
    assert "Saved as entries" in kept.text
    lines = history(at.book)[before:]
    assert {line.by for line in lines} == {"choice"}
    sizes = {str(c.dimension): c.size for c in shown.changes}
    assert all(sizes[line.body["of"]] == line.body["size"] for line in lines)
    assert at.submit("/sizes/apply", run=run).status_code == 422
    assert choosing.choose(at.book, what_if=True, time_limit_s=15).choice.status == shown.status


def test_a_choice_is_not_kept_once_the_book_has_moved_on(at_own_demo):
    at = at_own_demo
    run = re.search(r'name="run" value="([^"]+)"', chosen(at))[1]
    at.submit("/bench/reading", address="wheel#W4.bore", reading="15.912", key=key())
    assert "moved on since" in at.get("/sizes").text
    before = count(at)
    assert at.submit("/sizes/apply", run=run).status_code == 422
    assert count(at) == before


def test_a_choice_in_conflict_is_explained(at_own_demo):
    text = chosen(at_own_demo, lock="wheel.bore = 5 mm", seconds="5")
    assert "These cannot all hold" in text
    assert "Keep these sizes" not in text


def test_what_is_asked_wrongly_of_a_choice_is_said(at_own_demo):
    at = at_own_demo
    assert at.submit("/sizes/run", seconds="1e9").status_code == 422
    assert "there is no &#39;whel&#39;" in chosen(at, lock="whel.bore = 3")


SUMS = [
    ("fit", {"text": "25 H7/g6"}, "0.007"),  # ISO 286-2: 25 H7/g6 clear by 0.007 to 0.041
    ("tap", {"text": "M4"}, "3.3"),  # ISO 2306: tapping drill of M4 is 3.3
    ("drill", {"text": "#40"}, "2.4892"),  # number drill 40 is 0.0980 in
    ("thread", {"text": "2 BA"}, "4.700"),  # BS 93: 2 BA is 4.7 mm
    ("press", {"shaft": "12", "hub": "30", "length": "14", "tight": "0.012"}, "MPa"),
    ("bond", {"hole": "15.90", "shaft": "15.86", "length": "14"}, "0.040"),
]


@pytest.mark.parametrize(("name", "given", "said"), SUMS, ids=lambda x: x if isinstance(x, str) else "")
def test_a_quick_sum_shows_its_figures_working_and_source(at_demo, name, given, said):
    answer = at_demo.get(f"/sums/{name}", params=given)
    assert answer.status_code == 200
    assert said in answer.text
    assert "<summary>Working</summary>" in answer.text
    assert "Where it comes from" in answer.text


def test_every_quick_sum_begins_with_an_example(at_demo):
    from asmade.web.asked import QUESTIONS
    from asmade.web.asked import SUMS as EVERY

    assert {name for _, names in QUESTIONS for name in names} == set(EVERY)
    for name in EVERY:
        answer = at_demo.get(f"/sums/{name}")
        assert answer.status_code == 200
        assert "an example stands in the fields" in answer.text


@pytest.mark.parametrize(
    ("name", "given"), [("fit", {"text": "tea"}), ("tap", {"text": "M999"}), ("press", {"shaft": "12"})]
)
def test_a_quick_sum_that_cannot_be_done_says_so(at_demo, name, given):
    answer = at_demo.get(f"/sums/{name}", params=given)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert f'value="{next(iter(given.values()))}"' in answer.text
