"""asmade wheels at the book level: what the demo says of itself, cures and what they hide, what is missing."""

from __future__ import annotations

import math

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange, Refused
from asmade.show.slack_picture import slack_picture
from asmade.show.strokes import lay_out
from asmade.verbs.demo import demo_text
from asmade.verbs.wheels import wheels_of
from asmade.verbs.wheels_plain import plain


@pytest.fixture(scope="module")
def blocked(fold_text):
    return wheels_of(fold_text(demo_text()), boxes="blocked", samples=300)


def test_the_bought_in_wheelset_binds_with_the_boxes_blocked(blocked):
    """0.45 degrees between axle 2 (not yet set) and axle 3 (as bought) costs 0.354 r q; the bushes give 0.06 each way."""
    rear = blocked.sections[1]
    lost = 0.3536 * 23.8 * math.radians(0.45)
    assert rear.blocked.slack_mm == pytest.approx(0.0605 - lost, abs=0.015)
    assert rear.blocked.verdict == "fails"
    assert math.degrees(rear.blocked.at_rad) % 90 == pytest.approx(45, abs=10)
    assert blocked.fails


def test_free_boxes_turn_it_into_slack(blocked):
    for section in blocked.sections:
        assert section.free.slack_mm > section.blocked.slack_mm
        assert section.free.verdict == "close"


def test_the_first_cure_is_to_quarter_the_others_alike(blocked):
    """Being equally off 90 degrees does no harm (every handbook), and axles 1 and 2 are not set yet."""
    first = blocked.sections[1].cures[0]
    assert first.kind == "requarter"
    assert first.what == "axles 1 and 2"
    assert "90.450" in first.says
    assert first.frees
    assert first.effort == 0


def test_easing_bushes_is_said_to_hide_the_quarter(blocked):
    eased = [cure for section in blocked.sections for cure in section.cures if cure.kind == "ease bush"]
    assert eased
    assert all("axle 3 is not quartered as the others" in cure.hides for cure in eased)
    assert any("only hides it" in note for note in blocked.notes)


def test_shares_add_up_and_name_the_books_causes(blocked):
    shares = dict(blocked.sections[1].blocked.shares)
    assert sum(shares.values()) <= 100.0 + 1e-9
    assert "wheelset@2.quarter" in shares


def test_what_is_only_drawn_and_only_chosen_is_said(blocked):
    assert "wheelset@1.quarter" in blocked.drawn_only
    assert not set(blocked.drawn_only) & set(blocked.chosen_only)
    assert sum(blocked.known.values()) > 30
    assert blocked.known["made"] >= 18


def test_a_measured_quarter_takes_the_chance_away(fold_text):
    """Both open quarters read as 90.45: the wheels turn, and hardly a build binds by them any more."""
    reading = "".join(
        f'[[made]]\npiece = "wheelset#{axle}"\ndim = "quarter"\nreading = "90.45"\n'
        'instrument = "dividing head and dial indicator"\nat = 2026-11-20T10:0{axle}:00\n'.replace("{axle}", axle)
        for axle in "12"
    )
    found = wheels_of(fold_text(demo_text() + "\n" + reading), boxes="blocked", samples=300)
    assert [s.blocked.verdict in ("holds", "close") for s in found.sections] == [True, True]
    assert not found.fails
    assert all(not section.cures for section in found.sections)
    assert found.sections[1].blocked.chance_of_binding.value < 0.5


def test_without_a_binding_the_kits_names_are_enough(fold_text):
    text = demo_text()
    at = text.index("[[binding]]")
    found = wheels_of(fold_text(text[:at] + text[text.index("# A gap:", at) :]), samples=50)
    assert not found.stated
    assert found.wanted_mm == 0.0
    assert "no [[binding]]" in found.notes[0]
    assert [section.section for section in found.sections] == ["12", "23"]


def test_missing_readings_leave_what_can_be_told(fold_text):
    text = demo_text().replace(
        'quarter      = { kind = "angle", drawn = "90 deg"',
        'quarter      = { kind = "angle", drawn = "90 deg", drawn_at = { "1" = "" }',
    )
    found = wheels_of(fold_text(text), boxes="blocked", samples=50)
    front, rear = found.sections
    assert front.blocked is None
    assert front.missing == ("wheelset@1.quarter",)
    assert rear.others_off
    assert rear.blocked is not None
    assert "wheelset@1.quarter" in found.notes[0]
    assert plain(found)["sections"][0]["verdict"] == "not known"
    assert lay_out(slack_picture(found), 344).clashes() == ()


def test_the_axles_keep_their_names_in_a_part_of_the_chassis(fold_text):
    text = demo_text().replace(
        'quarter      = { kind = "angle", drawn = "90 deg"',
        'quarter      = { kind = "angle", drawn = "90 deg", drawn_at = { "1" = "" }',
    )
    rear = wheels_of(fold_text(text), boxes="blocked", samples=50).sections[1]
    assert {rod for rod, _ in rear.blocked.rods} <= {"23L", "23R"}
    assert all("axle 1 " not in cure.says for cure in rear.cures)
    assert all(name == "23" for cure in rear.cures for name, _ in cure.others)


@pytest.mark.parametrize(("asked", "fault"), [({"wanted": "-1 mm"}, OutOfRange), ({"samples": 0}, OutOfRange)])
def test_what_cannot_be_asked_is_refused(fold_text, asked, fault):
    with pytest.raises(fault):
        wheels_of(fold_text(demo_text()), **asked)


def test_free_boxes_without_play_are_refused_with_the_way_out(fold_text):
    text = demo_text().replace(
        'width        = { kind = "width", drawn = "7/8", process = "milled", note = "fore',
        'breadth = { kind = "width", drawn = "7/8", note = "fore',
    )
    at = text.index('[[fit]]\nname = "axlebox in horn"')
    text = text[:at] + text[text.index("[[fit]]", at + 5) :]
    text = text.replace('length = "width", width = "across"', 'length = "breadth", width = "across"')
    text = (
        "\n".join(line for line in text.split("\n"))
        .replace('dim = "width"\nreading = "22.13"', 'dim = "breadth"\nreading = "22.13"')
        .replace('dim = "width"\nreading = "22.15"', 'dim = "breadth"\nreading = "22.15"')
    )
    build = fold_text(text)
    with pytest.raises(Refused) as refused:
        wheels_of(build, boxes="free", samples=10)
    assert "--boxes blocked" in refused.value.way_out
    told = wheels_of(build, boxes="blocked", samples=10)
    assert told.sections[0].free is None
    assert any("box_play" in note for note in told.notes)


def test_plain_data_is_finite_and_documented(blocked):
    data = plain(blocked)
    assert {"section", "slack_mm", "at_deg", "rod", "slack_blocked_mm", "chance_of_binding", "shares", "cures"} <= set(
        data["sections"][0]
    )
    assert data["sections"][1]["rod"] in ("23L", "23R")
    assert data["fails"] is True


@pytest.mark.parametrize("width", [344, 720])
def test_the_picture_has_no_clashing_labels(blocked, width):
    assert lay_out(slack_picture(blocked), width, most_px_per_mm=7).clashes() == ()
    sides = {held.side for held in blocked.profile.held}
    assert sides == {"L", "R"}
    assert np.isfinite(blocked.profile.blocked).all()
