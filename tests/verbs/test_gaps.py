"""asmade gaps at the book level: the crosshead and the leading pin, naive and proper sizes, curves, pictures."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from asmade.book.arrangements import ARRANGEMENTS, compose
from asmade.book.grammar import evaluate
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.bindings.gap_finder import sides_of
from asmade.motion.bindings.gap_model import Model
from asmade.motion.bindings.gaps import relation_of
from asmade.motion.wheels.curve import least_radius
from asmade.reckon.findings import look
from asmade.reckon.values import compute
from asmade.show.gap_pictures import side_picture, stack_picture
from asmade.show.strokes import lay_out
from asmade.verbs.demo import demo, demo_text
from asmade.verbs.gaps import gaps_of
from asmade.verbs.gaps_plain import plain
from asmade.verbs.wheels import wheels_of


@pytest.fixture(scope="module")
def found(fold_text):
    return gaps_of(fold_text(demo_text()), angles=360)


def pair(result, side, one, other):
    return next(p for s in result.sides if s.side == side for p in s.pairs if {p.one, p.other} == {one, other}).finding


def test_the_leading_pin_passes_behind_the_lugs_of_the_bars_and_is_clear(found):
    gap = pair(found, "R", "pin cap 1", "slide bar lug")
    assert gap.least.where == "across"
    assert 0.5 <= gap.least.gap_mm < 1.0
    assert gap.verdict in ("holds", "close")


def test_rounded_each_by_itself_nothing_is_left(fold_text):
    """The honest trap as a gap: every drawn size to its nearest half millimetre, and the cap meets the lug."""
    build = fold_text(demo_text())
    values = compute(build)
    side = next(s for s in sides_of(relation_of(build.design), values.system.scope) if s.side == "R")
    model = Model(side, (side.body("pin cap 1"), side.body("slide bar lug")), lambda _a, _b: 0.5, 0.5)
    proper = model.look(values.of).finding.least.gap_mm
    paper, index = values.system.paper, values.system.index
    naive = {a: round(float(paper[index[a]]) * 2) / 2 for a in model.reads}
    # What is computed follows its parts; the plate is 3 mm stock whatever the rounding.
    for formula in values.system.formulas:
        naive[values.system.names[formula.gives]] = float(
            evaluate(formula.node, lambda a: naive.get(a, round(float(paper[index[a]]) * 2) / 2))
        )
    assert proper >= 0.5
    assert model.value(naive.__getitem__) <= 0.0


def test_every_pair_asked_for_is_told(found):
    for side in found.sides:
        told = {frozenset((p.one, p.other)) for p in side.pairs}
        assert frozenset(("connecting rod", "upper slide bar")) in told
        assert len(told) == 5
    assert not found.fails


def test_all_pairs_are_looked_at_where_none_is_named(fold_text):
    text = demo_text()
    at = text.index("[[gap]]")
    bare = fold_text(text[:at] + text[text.index("# ====", at) :])
    result = gaps_of(bare, wanted="0.5 mm", angles=180, curve="6000 mm", gauge="5 in")
    assert "no [[gap]]" in result.notes[0]
    assert {p.one for p in result.sides[0].pairs} >= {"pin cap 1", "connecting rod"}
    margins = [p.finding.margin_mm for p in result.sides[0].pairs]
    assert margins == sorted(margins)
    assert result.sides[0].touches_on_curve
    assert result.curve.least.radius < 6000
    assert result.curve.fault == ""


def test_the_least_curve_is_the_chord_formulas(fold_text):
    """Three axles nearly evenly apart: by (W^2/4 + h^2)/2h with h the whole freedom, within the unevenness of the axles."""
    result = gaps_of(fold_text(demo_text()), angles=60, side="R", curve="3000 mm")
    h = result.curve.least.used
    assert result.curve.least.radius == pytest.approx(least_radius(146.04 + 133.36, h), rel=0.01)
    assert "times the side play" in result.curve.fault


def test_where_to_take_it_from_names_sizes_still_to_be_made(fold_text):
    result = gaps_of(fold_text(demo_text()), wanted="0.8 mm", angles=180, side="R")
    short = next(p for p in result.sides[0].pairs if {p.one, p.other} == {"pin cap 1", "slide bar lug"})
    assert short.finding.verdict == "fails"
    sizes = {cure.size for cure in short.cures}
    assert "leading_pin_cap@1R.flange" in sizes
    for cure in short.cures:
        assert short.finding.rates[cure.size] * cure.change_mm == pytest.approx(0.8 - short.finding.least.gap_mm)


def test_worst_is_no_better_and_shares_name_causes(found):
    for side in found.sides:
        for p in side.pairs:
            assert p.finding.worst.gap_mm <= p.finding.least.gap_mm + 1e-9
            assert p.finding.least.gap_mm <= p.finding.middle_mm + 1e-9
            assert p.shares
            assert sum(share for _, share in p.shares) <= 100 + 1e-6


@pytest.mark.parametrize(
    ("asked", "fault"),
    [({"side": "X"}, Unknown), ({"near": "-1 mm"}, OutOfRange), ({"wanted": "-1 mm"}, OutOfRange), ({"angles": 4}, OutOfRange)],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused(fold_text, asked, fault):
    with pytest.raises(fault):
        gaps_of(fold_text(demo_text()), **asked)


def test_plain_data_is_documented_and_finite(found):
    data = plain(found)
    first = data["pairs"][0]
    assert {"a", "b", "gap_mm", "at_deg", "worst_mm", "shares"} <= set(first)
    assert all(math.isfinite(p["gap_mm"]) and 0 <= p["at_deg"] < 360.000001 for p in data["pairs"])


@pytest.mark.parametrize("width", [344, 720])
def test_pictures_have_no_clashing_labels(found, width, tmp_path):
    assert lay_out(side_picture(found), width).clashes() == ()
    book = demo(tmp_path).path
    assert lay_out(stack_picture(str(book), found, "1R"), width).clashes() == ()


def test_pictures_refuse_what_is_not_there(found, tmp_path):
    with pytest.raises(Unknown):
        stack_picture(str(demo(tmp_path).path), found, "9R")
    with pytest.raises(OutOfRange):
        side_picture(found, at="noon")
    with pytest.raises(Refused):
        side_picture(replace(found, sides=()))


@pytest.mark.parametrize("name", ARRANGEMENTS)
def test_a_new_engine_has_its_wheels_and_gaps_and_says_what_is_not_known(fold_text, name):
    """Nothing is drawn yet: no stack trace, no figure, every section and every body named with what it wants."""
    build = fold_text(compose(name, rods="knuckle"))
    found = {f.code: f for f in look(compute(build)) if f.code in ("binding", "gap", "piston_room")}
    assert set(found) == {"binding", "gap", "piston_room"}
    assert {f.verdict for f in found.values()} == {"not known"}
    assert all(f.missing for f in found.values())
    result = gaps_of(build, angles=30)
    assert result.not_told
    for side in result.sides:
        assert not side.pairs
        wanted = dict(side.waits_for)
        assert f"connecting_rod@{side.side}.centres" in wanted
        assert {"wheel 1", "crosshead", "connecting rod"} <= {body for bodies in wanted.values() for body in bodies}
    wheels = wheels_of(build)
    assert all(section.blocked is None and section.missing for section in wheels.sections)
    assert {ends.front.verdict for ends in result.ends} == {"not known"}


def test_one_size_that_is_missing_keeps_back_only_what_it_is_part_of(fold_text):
    text = demo_text().replace('[part.crosshead.dim]\nlength           = { kind = "length", drawn = "7/8"',
                               '[part.crosshead.dim]\nlength           = { kind = "length", drawn = ""')  # fmt: skip
    result = gaps_of(fold_text(text), angles=60, side="R")
    (side,) = result.sides
    assert dict(side.waits_for) == {"crosshead@R.length": ("crosshead",)}
    assert not result.not_told
    assert "wheel 1" in side.bodies


def test_a_named_pair_of_which_a_body_is_not_known_is_said(fold_text):
    begin, _, rest = demo_text().partition("[part.leading_pin_cap.dim]")
    text = (
        begin + "[part.leading_pin_cap.dim]" + rest.replace('"diameter", drawn = "7/16"', '"diameter", drawn = ""', 1)
    )
    (side,) = gaps_of(fold_text(text), angles=60, side="R").sides
    assert ("pin cap 1", "slide bar lug") in {(a, b) for a, b, _ in side.not_known}
    assert all("leading_pin_cap@1R.diameter" in why for _, _, why in side.not_known)


def test_room_of_the_piston_by_hand_and_the_rod_that_shares_it(fold_text):
    """By hand, line through the axle: half the difference of the two rooms, and half their sum at each end then."""
    for ends in gaps_of(fold_text(demo_text()), angles=30).ends:
        both = ends.front.value + ends.back.value
        assert ends.each_mm == pytest.approx(both / 2, abs=1e-6)
        assert ends.change_mm == pytest.approx((ends.front.value - ends.back.value) / 2, abs=1e-6)
        assert ends.front.worst_low < ends.front.value
        assert sum(share.share for share in ends.front.shares) > 0.5
