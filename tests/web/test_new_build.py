"""From nothing to a new engine: arrangement, drawn sizes as written, a list tried and saved, books of the folder."""

from __future__ import annotations

import io
import re
import shutil
from html import unescape

import pytest

from asmade.book.arrangements import ARRANGEMENTS, valve_gears
from asmade.show.shop_pictures import arrangement_picture
from asmade.show.strokes import lay_out
from asmade.verbs import store
from asmade.verbs.history import history
from asmade.web.guard import UPLOADS

BEGIN = {"title": "My engine", "unit": "inch", "arrangement": "0-4-0", "driven": "", "leads": "R", "rods": "plain",
         "gear": "", "shop": "empty"}  # fmt: skip
LIST = "part,dimension,drawn,kind\nwheel,bore,19/32,bore\ncrank pin x,seat,1/4,shaft\n"


def send(at, text, *, name="list.csv", **more):
    return at.post("/import", data={"token": at.token, "into": "open", **more}, files={"file": (name, text)})


def words(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text.replace("<wbr>", ""))).split())


def test_a_new_engine_with_a_few_sizes_and_a_board(at_own_demo):
    at = at_own_demo
    old = at.book.read_bytes()
    assert "My engine is begun and open (my-engine.asmade)" in words(at.submit("/new", **BEGIN))
    answer = at.submit("/fill/part/wheel", **{"d.bore": "5/8", "d.crank_radius": "15/16", "reference": "sheet 2"})
    assert "2 sizes of wheel saved" in words(answer)
    assert "5/8 in = 15.875 mm" in words(answer)
    build = store.read_build(at.book.parent / "my-engine.asmade")
    assert build.design.parts["wheel"].dims["bore"].drawn == "5/8"
    assert build.design.parts["wheel"].dims["bore"].reference == "sheet 2"
    assert "My engine" in at.get("/").text
    assert at.book.read_bytes() == old


@pytest.mark.parametrize("gear", ["", *valve_gears()])
def test_every_gear_of_the_page_can_be_chosen(at_own_demo, gear):
    assert at_own_demo.submit("/new", **BEGIN | {"gear": gear, "arrangement": "2-6-0"}).url.path == "/fill"


@pytest.mark.parametrize("shop", ["this", "demo"])
def test_a_new_book_begins_with_a_shop(at_own_demo, shop):
    at_own_demo.submit("/new", **BEGIN | {"shop": shop})
    assert "reamer 18" in store.read_build(at_own_demo.book.parent / "my-engine.asmade").shop.tools


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"title": ""}, "title"), ({"title": "../../x/../.."}, None), ({"title": "???"}, "title"), ({"title": "con"}, "title"),
        ({"title": "harrowgill"}, "title"), ({"arrangement": "0-5-0"}, "arrangement"), ({"driven": "9"}, "driven"),
        ({"gear": "none such"}, "gear"), ({"unit": "ell"}, "unit"), ({"shop": "the neighbour's"}, "shop"), ({"rods": "x"}, "rods"),
    ],
)  # fmt: skip
def test_what_is_chosen_wrongly_is_said_beside_its_field(at_own_demo, wrong, field):
    at = at_own_demo
    before = sorted(p.name for p in at.book.parent.iterdir() if p.suffix == ".asmade")
    answer = at.submit("/new", **BEGIN | wrong)
    after = sorted(p.name for p in at.book.parent.iterdir() if p.suffix == ".asmade")
    if field is None:  # a name that leads elsewhere becomes a plain one
        assert set(after) - set(before) == {"x.asmade"}
        return
    assert answer.status_code == 422
    assert f'id="r-{field}"' in answer.text
    assert after == before


def test_sizes_that_cannot_be_read_are_said_and_nothing_is_saved(at_own_demo):
    at, before = at_own_demo, len(history(at_own_demo.book))
    answer = at.submit("/fill/part/wheel", **{"d.bore": "19/33", "d.crank_radius": "7/8", "d.no_such": "1"})
    assert answer.status_code == 422
    assert "2 sizes cannot be read; nothing is saved" in words(answer)
    assert 'value="19/33"' in answer.text
    assert 'value="7/8"' in answer.text
    assert len(history(at.book)) == before
    assert "nothing to save" in words(at.submit("/fill/part/wheel", **{"d.bore": "5/8"}))
    assert len(history(at.book)) == before


@pytest.mark.parametrize(
    ("address", "text", "said"),
    [
        ("wheel.bore", "1 3/16", "1 3/16 in = 30.1625 mm"),  # 1.1875 * 25.4, exactly
        ("wheel.bore", "12.5 mm", "12.5 mm"),
        ("wheel.bore", "", ""),
    ],
)
def test_the_reading_is_shown_back(at_demo, address, text, said):
    found = at_demo.get("/fill/read", params={"address": address, "text": text}).json()
    assert found["how"].startswith(said)
    assert not found["fault"]


@pytest.mark.parametrize(
    ("address", "text"), [("wheel.bore", "19/33"), ("wheel.boor", "1"), ("", ""), ("<b>", "x" * 9999)]
)
def test_what_cannot_be_read_back_says_why(at_demo, address, text):
    assert at_demo.get("/fill/read", params={"address": address, "text": text[:2000]}).json()["fault"]


def test_parts_and_dimensions_are_added(at_own_demo):
    at = at_own_demo
    assert (
        "sheet 11"
        in at.submit("/fill/part", name="Frame stay", places="p1 p2", material="steel", reference="sheet 11").text
    )
    assert (
        "boss_width"
        in at.submit("/fill/dimension", part="frame_stay", name="Boss width", kind="width", text="9/16").text
    )
    part = store.read_build(at.book).design.parts["frame_stay"]
    assert (part.places, part.dims["boss_width"].drawn) == (("p1", "p2"), "9/16")
    for path, wrong in (
        ("/fill/part", {"name": "Frame stay"}), ("/fill/part", {"name": "9x"}), ("/fill/part", {"name": "y", "places": "1-2"}),
        ("/fill/dimension", {"part": "frame_stay", "name": "boss width", "kind": "width"}),
        ("/fill/dimension", {"part": "frame_stay", "name": "w", "kind": "girth"}),
        ("/fill/dimension", {"part": "frame_stay", "name": "w", "kind": "width", "text": "19/33"}),
        ("/fill/dimension", {"part": "frame_stay", "name": "a/b", "kind": "width"}),
    ):  # fmt: skip
        answer = at.submit(path, **wrong)
        assert answer.status_code == 422
        assert 'id="r-name"' in answer.text


def test_a_list_is_tried_shown_and_saved(at_own_demo):
    at, before = at_own_demo, len(history(at_own_demo.book))
    trial = send(at, LIST)
    assert "5/8" in trial.text
    assert "19/32" in trial.text
    assert "crank_pin_x.seat" in words(trial)
    assert len(history(at.book)) == before
    kept = re.search(r'name="name" value="([^"]+)"', trial.text)[1]
    assert "Saved: 1 new dimensions, 1 changes" in words(at.submit("/import/keep", name=kept))
    assert store.read_build(at.book).design.parts["wheel"].dims["bore"].drawn == "19/32"


def test_refused_rows_hold_all_back_unless_left_out(at_own_demo):
    at, before = at_own_demo, len(history(at_own_demo.book))
    trial = send(at, LIST + "wheel,bore,5/8,bore\nwheel,rim,5/33,thickness\n")
    assert "5/33" in trial.text
    kept = re.search(r'name="name" value="([^"]+)"', trial.text)[1]
    held = at.submit("/import/keep", name=kept)
    assert held.status_code == 422
    assert "nothing was saved" in words(held)
    assert len(history(at.book)) == before
    assert at.submit("/import/keep", name=kept, leave_out="1").url.path == "/fill"
    assert len(history(at.book)) > before


def test_a_book_is_begun_with_a_list(at_own_demo):
    trial = send(at_own_demo, LIST, into="new", title="Bogie", unit="inch")
    kept = re.search(r'name="name" value="([^"]+)"', trial.text)[1]
    assert "Bogie is begun and open" in words(at_own_demo.submit("/import/keep", name=kept))
    assert store.read_build(at_own_demo.book.parent / "bogie.asmade").design.drawing_unit == "inch"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("list.csv", b""), ("", b"part"), ("list.exe", b"MZ"), ("list.xlsx", b"not a sheet"), ("list.toml", b"\xff\xfe"),
        ("list.csv", b"\x00" * 5000), ("../../evil.csv", b"part,dimension,drawn\n<script>alert(1)</script>,b,1\n"),
        ("list.jsonl", b"{}"), ("list.toml", b"[[made]]\npiece = 3"), ("list.xls", b"\xd0\xcf\x11\xe0"),
    ],
)  # fmt: skip
def test_a_file_that_is_none_is_refused(at_own_demo, name, data):
    at, before = at_own_demo, len(history(at_own_demo.book))
    answer = send(at, data, name=name)
    assert answer.status_code in (200, 422)
    assert 'id="r-file"' in answer.text or "Refused, row by row" in answer.text
    assert "<script>alert" not in answer.text
    assert len(history(at.book)) == before


def test_too_large_a_file_and_one_without_a_token_are_refused(at_own_demo):
    at = at_own_demo
    assert send(at, b"x" * (UPLOADS["/import"] + 1)).status_code == 413
    assert at.post("/import", data={"into": "open"}, files={"file": ("a.csv", LIST)}).status_code == 403
    files = [("file", (f"{n}.csv", LIST)) for n in range(20)]
    assert at.post("/import", data={"token": at.token}, files=files).status_code == 422


def test_a_template_is_a_list_that_comes_back(at_own_demo):
    for ending in ("xlsx", "csv"):
        found = at_own_demo.get(f"/import/template.{ending}")
        assert found.status_code == 200
        assert f"asmade-sizes.{ending}" in found.headers["content-disposition"]
    from openpyxl import load_workbook

    assert load_workbook(io.BytesIO(at_own_demo.get("/import/template.xlsx").content)).sheetnames
    assert at_own_demo.get("/import/template.exe").status_code == 404


def test_books_of_the_folder(at_own_demo):
    at = at_own_demo
    other, broken = at.book.parent / "other & <b>.asmade", at.book.parent / "broken.asmade"
    shutil.copy(at.book, other)
    broken.write_bytes(b"no book")
    (at.book.parent / "notes.txt").write_text("x")
    page = at.get("/books")
    assert "other &amp; &lt;b&gt;.asmade" in page.text
    assert "broken.asmade" in page.text
    assert "notes.txt" not in page.text
    for name in ("broken.asmade", "../x.asmade", str(at.book), "notes.txt", ""):
        refused = at.submit("/books/open", name=name)
        assert refused.status_code == 422
        assert 'role="alert"' in refused.text
    old = at.token
    assert "is open now" in words(at.submit("/books/open", name=other.name))
    assert at.app.state.desk.book.path == other.absolute()
    stale = at.post("/size/drawn", data={"token": old, "address": "wheel@2L.bore", "text": "1"})
    assert stale.status_code == 403  # a form of the book before is not saved in this one


def test_arrangements_are_drawn(at_demo):
    page = at_demo.get("/new").text
    for each in ARRANGEMENTS.values():
        assert f'value="{each.name}"' in page
        strokes = arrangement_picture(each.ahead, each.coupled, each.behind, each.driven)
        wheels = [s for s in strokes if type(s).__name__ == "Circle" and s.radius > 5]
        assert len(wheels) == each.ahead + each.coupled + each.behind
        assert sum(s.fill == "tint" for s in wheels) == 1
        assert lay_out(strokes, 190).clashes() == ()


def test_a_book_begun_with_a_list_has_every_page(at_own_demo):
    from asmade.web.pages import menu

    trial = send(at_own_demo, LIST, into="new", title="Bogie", unit="inch")
    at_own_demo.submit("/import/keep", name=re.search(r'name="name" value="([^"]+)"', trial.text)[1])
    assert {path: at_own_demo.get(path).status_code for _, path in menu() if path} == {
        path: 200 for _, path in menu() if path
    }


def test_a_new_engine_has_every_page(at_own_demo):
    from asmade.web.pages import menu

    at_own_demo.submit("/new", **BEGIN | {"gear": "walschaerts"})
    assert {path: at_own_demo.get(path).status_code for _, path in menu() if path} == {
        path: 200 for _, path in menu() if path
    }
