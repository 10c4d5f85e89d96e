"""Stock and buying, set-ups ticked off, the record with its photographs."""

from __future__ import annotations

import re
from html import unescape

import pytest

from asmade.verbs import store
from asmade.verbs.cutlist import cutlist
from asmade.verbs.history import history
from asmade.verbs.record import record
from asmade.web.guard import UPLOADS

# The least PNG there is: one pixel (ISO 15948), and the first bytes of the others.
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c4890000000d4944415478da63fcffff3f0300050001"
    "ff5f4d8a440000000049454e44ae426082"
)
EVIL = "<img src=x onerror=alert(1)>\"'"


def words(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text.replace("<wbr>", ""))).split())


def send(at, files=(), **data):
    return at.post("/record/photo", data={"token": at.token, "about": "book", **data},
                   files=[("photos", (name, each)) for name, each in files] or None)  # fmt: skip


def test_the_lists_say_what_the_verb_says(at_demo, demo_book):
    result = cutlist(demo_book)
    shown = words(at_demo.get("/stock"))
    for line in result.buy:
        assert line.what in shown
    for group in result.groups:
        assert group.section.words in shown
        for note in group.notes:
            assert " ".join(note.split()) in shown
    for link in re.findall(r'href="(/paper/[^"]+)"', at_demo.get("/stock").text):
        assert at_demo.get(link).status_code == 200


@pytest.mark.parametrize(
    "asked", [{"kerf": "3 mm"}, {"lengths": "500 mm, 1000 mm"}, {"no_rack": "1"}, {"only": "axle"}]
)
def test_how_it_is_cut_is_asked(at_demo, asked):
    answer = at_demo.get("/stock", params=asked)
    assert answer.status_code == 200
    assert "as usual" in answer.text


@pytest.mark.parametrize(("field", "text"), [("kerf", "wide"), ("lengths", "0"), ("only", "axel"), ("keep", "nan")])
def test_a_way_of_cutting_that_is_none_is_said_beside_its_field(at_demo, field, text):
    answer = at_demo.get("/stock", params={field: text})
    assert answer.status_code == 422
    assert f'id="r-{field}"' in answer.text


def test_set_ups_are_ticked_off(at_own_demo):
    at = at_own_demo
    page = at.get("/setups?about=coupling_rod").text
    number = re.search(r'name="batch" value="(\d+)"', page)[1]
    ticked = [unescape(v) for v in re.findall(r'name="op" value="([^"]+)"(?! checked)', page)[:2]]
    before = len(history(at.book))
    answer = at.submit("/setups/done", batch=number, op=ticked, about="coupling_rod")
    assert "Done: " in answer.text
    entries = history(at.book)[before:]
    assert {e.kind for e in entries} == {"done"}
    assert len(entries) == len(ticked)
    assert {e.body["operation"] for e in entries} == {t.partition("|")[2] for t in ticked}
    again = at.submit("/setups/done", batch=number, op=ticked)
    assert again.status_code == 422 or len(history(at.book)) > before  # the batch has moved on, or says so


def test_a_whole_piece_is_ticked(at_own_demo):
    at, before = at_own_demo, len(history(at_own_demo.book))
    page = at.get("/setups").text
    piece = unescape(re.search(r'name="piece" value="([^"]+)"', page)[1])
    at.submit("/setups/done", batch="1", piece=piece)
    done = [e for e in history(at.book)[before:] if e.kind == "done"]
    assert done


@pytest.mark.parametrize(
    "sent", [{"batch": "1"}, {"batch": "99999", "piece": "x"}, {"batch": "x"}, {"batch": "1", "op": "wheel@1L|nothing"}]
)
def test_ticks_of_nothing_are_refused(at_own_demo, sent):
    at, before = at_own_demo, len(history(at_own_demo.book))
    answer = at.submit("/setups/done", **sent)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert len(history(at.book)) == before


def test_set_ups_of_a_shop_without_machines(at_new):
    answer = at_new.get("/setups")
    assert answer.status_code == 200


def test_the_record_says_what_the_verb_says(at_demo, demo_book):
    found = record(demo_book)
    shown = words(at_demo.get("/record"))
    for text in (
        found.title,
        f"{found.made} of {found.sizes} sizes made",
        *(j.name for j in found.joints),
        *(n for n, _ in found.instruments),
    ):
        assert " ".join(str(text).split()) in shown
    for _, _, said in found.left_off.last:
        assert " ".join(said.split()) in shown
    whole = words(at_demo.get("/record/all"))
    for part in found.parts:
        assert part.name.replace("_", " ") in whole
        for d in part.dimensions:
            for made in d.made:
                assert made.instrument in whole
    assert at_demo.get("/record/part/wheel").status_code == 200
    assert at_demo.get("/record/part/whel").status_code == 404


def test_a_photograph_is_kept_in_the_book_and_shown(at_own_demo):
    at = at_own_demo
    answer = send(
        at, [("IMG 1.png", PNG), ("folder\\..\\two.png", PNG + b"x")], about="wheel#W3", text=f"spokes {EVIL}"
    )
    assert "Kept with 2 photographs, about wheel#W3." in words(answer)
    assert "<img src=x" not in answer.text
    digests = set(re.findall(r'src="/photos/([0-9a-f]{64})"', at.get("/record").text))
    assert len(digests) == 2
    assert digests == set(re.findall(r'src="/photos/([0-9a-f]{64})"', at.get("/record/part/wheel").text))
    got = [at.get(f"/photos/{digest}") for digest in digests]
    assert {g.content for g in got} == {PNG, PNG + b"x"}
    for g in got:
        assert g.headers["content-type"] == "image/png"
        assert g.headers["x-content-type-options"] == "nosniff"
        assert ".." not in g.headers["content-disposition"]
    names = {r.body["name"] for r in store.read_build(at.book).remarks if r.kind == "attachment"}
    assert names == {"IMG 1.png", "two.png"}


def test_what_no_browser_shows_is_put_by_as_a_file(at_own_demo):
    send(at_own_demo, [("scan.pdf", b"%PDF-1.4 <script>alert(1)</script>")])
    digest = re.search(r'/photos/([0-9a-f]{64})"', at_own_demo.get("/record").text)[1]
    assert at_own_demo.get(f"/photos/{digest}").headers["content-disposition"].startswith("attachment")


@pytest.mark.parametrize(
    ("files", "data", "field"),
    [
        ([("a.png", b"<svg onload=alert(1)>")], {}, "photos"), ([("a.jpg", b"GIF89a")], {}, "photos"), ([("a.png", b"")], {}, "photos"),
        ([], {"text": ""}, "text"), ([("a.png", PNG)], {"about": "whel"}, "about"), ([("a.html", b"<html>")], {}, "photos"),
        ([], {"about": EVIL, "text": "x"}, "about"),
    ],
)  # fmt: skip
def test_a_photograph_that_is_none_is_said_beside_its_field(at_own_demo, files, data, field):
    at, before = at_own_demo, len(history(at_own_demo.book))
    answer = send(at, files, **data)
    assert answer.status_code == 422
    assert f'id="r-{field}"' in answer.text
    assert "<img src=x" not in answer.text
    assert len(history(at.book)) == before


def test_too_much_at_once_and_no_token(at_own_demo):
    assert send(at_own_demo, [("a.png", b"x" * (UPLOADS["/record/photo"] + 1))]).status_code == 413
    assert (
        at_own_demo.post("/record/photo", data={"about": "book"}, files={"photos": ("a.png", PNG)}).status_code == 403
    )


@pytest.mark.parametrize("digest", ["0" * 64, "x", "../../etc/passwd", "A" * 64])
def test_a_photograph_that_is_not_there(at_demo, digest):
    assert at_demo.get(f"/photos/{digest}").status_code == 404
