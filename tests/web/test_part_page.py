"""A part at the desk: its table is entered in place, with refusals beside the field; what was typed is kept."""

from __future__ import annotations

import re


def test_a_part_shows_its_sketch_and_every_size(at_demo):
    page = at_demo.get("/parts/wheel").text
    assert "<svg" in page
    assert 'name="drawn:bore"' in page
    assert 'name="made:bore@2R"' in page
    assert "5/8 in = 15.875 mm" in page


def test_a_part_without_a_form_says_why_there_is_no_sketch(at_demo):
    page = at_demo.get("/parts/frames_assembled").text
    assert "<svg" in page or "No sketch:" in page


def test_the_table_is_saved_in_one_go(at_own_demo):
    answer = at_own_demo.submit("/parts/wheel", **{
        "drawn:rim": "3/16", "chosen:tyre_width": "12.5", "made:bore@2R": "15.90", "page": "1", "key": "k1",
    })  # fmt: skip
    assert "3 sizes saved" in answer.text
    assert "3/16 in = 4.7625 mm" in at_own_demo.get("/parts/wheel?page=2").text + answer.text


def test_what_is_refused_stands_beside_its_field_and_nothing_is_lost(at_own_demo):
    answer = at_own_demo.submit("/parts/wheel", **{"drawn:bore": "five", "chosen:boss_width": "13.9", "page": "1"})
    assert answer.status_code == 422
    assert re.search(r'name="drawn:bore"[^>]*value="five"[^>]*aria-invalid', answer.text)
    assert re.search(r'name="chosen:boss_width"[^>]*value="13.9"', answer.text)
    assert "nothing is saved" in answer.text


def test_a_slip_is_asked_about(at_own_demo):
    sent = {"made:bore@2R": "159", "page": "1", "key": "k2"}
    assert "Is that right?" in at_own_demo.submit("/parts/wheel", **sent).text
    assert "1 size saved" in at_own_demo.submit("/parts/wheel", **sent, sure="1").text


def test_parts_come_by_the_page(at_demo):
    assert "after" in at_demo.get("/parts").text
    assert at_demo.get("/parts?page=2").status_code == 200
