"""Valve events as requirements of a book: figures, exact rates, worst cases, chances, the choice of sizes with them."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from asmade.book.address import read_address
from asmade.book.grammar import addresses
from asmade.book.model import Chosen
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown
from asmade.motion.bindings.valve_model import FEW, Wanted, models_of, positions_asked
from asmade.motion.bindings.valves import NotKnown, sides_of
from asmade.motion.valves.events import events
from asmade.reckon.findings import look, look_at
from asmade.reckon.rows import base_row
from asmade.reckon.system import compile_system, kinds
from asmade.reckon.values import compute

ANCHOR = json.loads((Path(__file__).parents[1] / "anchors" / "demo_gear.json").read_text(encoding="utf-8"))
WHATS = ("lead", "admission", "cutoff", "release", "compression", "opening")


@pytest.fixture(scope="module")
def build(fold_text, gear_text):
    return fold_text(gear_text)


@pytest.fixture(scope="module")
def values(build):
    return compute(build)


@pytest.fixture(scope="module")
def asked(values):
    return [r for r in values.system.requirements if r.code in ("valve_gear", "valve_event")]


@pytest.fixture(scope="module")
def found(values, asked):
    return {f.subject: f for f in look_at(values, asked)}


def with_relation(text, **fields):
    """The book with one more valve event."""
    body = "\n".join(f"{key} = {json.dumps(value)}" for key, value in fields.items())
    return f"{text}\n[[valve_event]]\n{body}\n"


def model(build, values, side="R"):
    relation = next(build.design.of_kind("valve_gear"))
    return next(m for m in models_of(relation, values.system.scope) if m.bound.side == side)


def test_the_kinds_are_found_by_name():
    assert {"valve_gear", "valve_event"} <= set(kinds())


@pytest.mark.parametrize("side", ["R", "L"])
@pytest.mark.parametrize("what", WHATS)
def test_figures_are_those_of_the_independent_program(fold_text, gear_text, side, what):
    """Source: tests/anchors/demo_gear.json, worked out by an independent program; three or four decimals."""
    text = with_relation(gear_text, name="asked", places=["L", "R"], what=what, at=[1.0, 0.5, 0.0, -0.75])
    build = fold_text(text)
    values = compute(build)
    ours = model(build, values, side)
    for at in (1.0, 0.5, 0.0, -0.75):
        for end in ("front", "back"):
            key = {"lead": "lead_mm", "opening": "max_opening_mm"}.get(what, what)
            published = ANCHOR["events"][f"{at:+.2f}"][end][key]
            assert ours.figure(Wanted(what, at, end), values.of) == pytest.approx(published, abs=1e-3)


def test_a_book_of_drawn_sizes_keeps_its_limits_or_says_by_how_much(found):
    """The demo gear: leads 0.268 alike in full forward gear, 0.046 apart in full backward (the anchor's figures)."""
    assert found["lead in forward gear@R"].value == pytest.approx(0.268, abs=1e-3)
    assert found["leads alike at both ends@R"].value == pytest.approx(0.2539 - 0.2076, abs=2e-4)
    assert found["link still at the dead centres@R"].value == pytest.approx(0.268 - 0.2076, abs=2e-3)
    assert found["cut-offs alike at both sides"].value == pytest.approx(0.0, abs=1e-9)
    assert found["cut-off in full gear@R"].unit == "%"
    assert found["swing of the link@R"].unit == "rad"
    assert found["valve gear@L goes together"].verdict == "holds"
    assert {f.verdict for f in found.values()} <= {"holds", "close"}
    assert all(f.drawn_only for f in found.values())
    assert "slide_valve@R.over_edges" in found["lead in forward gear@R"].working


def test_rates_to_the_sizes_of_the_book_against_difference_quotients(values, asked):
    """Every requirement, every size it reads, the valve set again for equal leads each time."""
    system = values.system

    def best(address):
        return float(values.best[system.index[address]])

    for requirement in asked:
        row = requirement.linear(best)
        value = row.constant + math.fsum(rate * best(a) for a, rate in row.terms.items())
        assert value == pytest.approx(requirement.evaluate(best), abs=1e-9), requirement.subject
        assert not row.exact
        for address in requirement.reads[::8]:
            step = 1e-5

            def moved(a, by, at=address):
                return best(a) + (by if a == at else 0.0)

            up, down = (requirement.evaluate(lambda a, s=s: moved(a, s)) for s in (step, -step))
            assert row.terms[address] == pytest.approx((up - down) / (2 * step), rel=2e-4, abs=2e-4), (
                requirement.subject, address,
            )  # fmt: skip


@pytest.mark.parametrize("what", ["lead", "cutoff", "travel", "die_room", "link_swing"])
def test_sampled_gears_by_rates_agree_with_the_full_model(build, values, what):
    """A thousand gears: what is not worked out in full lies within a hundredth of the spread of what would be."""
    random = np.random.default_rng(4)
    ours = model(build, values)
    end = "back" if what in ("lead", "cutoff") else None
    angles = {a for a in ours.bound.reads if a.dim in ("incline", "spindle_incline") or a.part == "weighshaft"}
    spread = {a: random.normal(values.of(a), 0.001 if a in angles else 0.03, 1000) for a in ours.bound.reads}
    got = ours.figure(Wanted(what, -1.0, end), spread.__getitem__)
    rest = list(range(1, 1000, 90))
    truth = [ours.figure(Wanted(what, -1.0, end), lambda a, at=at: float(spread[a][at])) for at in rest]
    assert FEW < 1000
    assert got.shape == (1000,)
    assert np.abs(got[rest] - truth).max() < 0.05 * got.std()


def test_the_worst_corner_is_worse_and_chances_are_chances(found):
    for finding in found.values():
        assert finding.worst_low <= finding.value <= finding.worst_high
        assert 0.0 <= finding.chance <= 1.0
        assert sum(share.share for share in finding.shares) <= 1.0 + 1e-9


def test_what_is_not_known_is_named_and_nothing_is_guessed(fold_text, gear_text):
    text = gear_text.replace(
        'drawn = "4 15/64", process = "jig bored", keep = "near", note = "die pin',
        'drawn = "", process = "jig bored", keep = "near", note = "die pin',
    )
    assert text != gear_text
    values = compute(fold_text(text))
    finding = next(f for f in look(values, samples=0) if f.subject == "cut-off in full gear@R")
    assert finding.verdict == "not known"
    assert finding.missing == ("radius_rod@R.centres",)
    with pytest.raises(NotKnown, match=r"radius_rod@R\.centres"):
        sides_of(values.system.scope)[0].side_of(values.of)


def test_links_that_cannot_meet_fail_by_how_much_they_are_short(build):
    changed = replace(
        build, chosen={read_address("union_link.centres"): Chosen(0, read_address("union_link.centres"), "10 mm")}
    )
    values = compute(changed)
    found = {f.subject: f for f in look(values, samples=0) if f.code.startswith("valve")}
    together = found["valve gear@R goes together"]
    assert together.verdict == "fails"
    assert together.value < -1
    assert found["cut-off in full gear@R"].verdict == "not known"


def test_a_lap_beyond_half_the_travel_fails(build):
    chosen = Chosen(0, read_address("slide_valve.over_edges"), "34 mm")
    values = compute(replace(build, chosen={chosen.of: chosen}))
    found = {f.subject: f for f in look(values, samples=0) if f.code.startswith("valve")}
    assert found["valve gear@R goes together"].verdict == "fails"
    assert found["valve gear@R goes together"].value < 0


def test_a_zero_length_lever_is_no_crash(build):
    chosen = Chosen(0, read_address("combination_lever.top"), "0 mm")
    values = compute(replace(build, chosen={chosen.of: chosen}))
    found = {f.subject: f for f in look(values) if f.code.startswith("valve")}
    assert found["lead in forward gear@R"].verdict == "not known"
    with pytest.raises(OutOfRange, match="lever_top"):
        sides_of(values.system.scope)[0].side_of(values.of)


def test_the_valve_as_it_stands_on_its_spindle(fold_text, gear_text):
    """With a sum for mid the leads are what they are; set by hand where equal leads put it, nothing changes."""
    plain = compute(fold_text(gear_text))
    bound = sides_of(plain.system.scope)[0]
    mid = float(bound.side_of(plain.of).valve.mid)
    moved = gear_text.replace("[valve_gear.sizes]\n", f'[valve_gear.sizes]\nmid = "{mid + 0.1:.6f} mm"\n')
    values = compute(fold_text(moved))
    leads = events(sides_of(values.system.scope)[0].side_of(values.of), (1.0,)).lead[0, :, 0]
    assert leads[0] - leads[1] == pytest.approx(0.2, abs=1e-5)  # the pin 0.1 farther ahead over the ports: valve back
    requirement = next(r for r in values.system.requirements if r.subject == "leads alike at both ends@R")
    row = base_row(values, requirement)
    assert row is not None


def test_positions_asked_are_those_of_the_book(values):
    assert positions_asked(values.system.scope) == (1.0, 0.5, 0.0, -0.5, -1.0)


@pytest.mark.parametrize(("fields", "kind", "word"), [
    ({"what": "beat"}, Unknown, "beat"),
    ({"what": "lead", "at": [1.5]}, OutOfRange, "1.5"),
    ({"what": "lead", "at": ["full"]}, OutOfRange, "full"),
    ({"what": "lead", "least": "0.3 mm", "most": "0.1 mm"}, Refused, "least is more"),
    ({"what": "lead", "within": "0.3 mm", "most": "0.1 mm"}, Refused, "within"),
    ({"what": "cutoff", "most": "0.3 mm"}, Refused, "per cent"),
    ({"what": "travel", "between": "ends"}, Refused, "same at both ends"),
    ({"what": "lead", "between": "wheels"}, Unknown, "wheels"),
    ({"what": "lead", "gear": "valve gaer"}, Unknown, "valve gear"),
    ({"what": "lead", "places": []}, Refused, "which sides"),
    ({"what": "lead", "between": "sides"}, Refused, "no place"),
    ({"what": "lead", "colour": "red"}, Unknown, "colour"),
])  # fmt: skip
def test_an_event_that_cannot_be_read_is_refused_by_name(fold_text, gear_text, fields, kind, word):
    text = with_relation(gear_text, **{"name": "asked", "places": ["L", "R"], **fields})
    with pytest.raises(kind, match=word):
        compile_system(fold_text(text))


@pytest.mark.parametrize(("old", "new", "word"), [
    ('gear = "walschaerts"', 'gear = "walshaerts"', "walschaerts"),
    ('admission = "outside"', 'admission = "both"', "outside"),
    ('foot = "below"', "", "foot"),
    ('union_link = "union_link@{side}.centres"', "", "union_link"),
    ('union_link = "union_link@{side}.centres"', 'union_lnk = "union_link@{side}.centres"', "union_link"),
    ('union_link = "union_link@{side}.centres"', 'union_link = "union_link@{side}.center"', "centres"),
    ('port = "port_face@{side}.steam_port"', "", "port"),
    ("set_at = 1.0", "set_at = 2.0", "set_at"),
    ('set = "equal leads"', 'set = "by ear"', "equal leads"),
])  # fmt: skip
def test_a_gear_that_cannot_be_read_is_refused_by_name(fold_text, gear_text, old, new, word):
    text = gear_text.replace(old, new)
    assert text != gear_text
    with pytest.raises(AsmadeError, match=word):
        compile_system(fold_text(text))


def test_round_metric_lengths_are_chosen_together_and_the_full_model_keeps_every_limit(build):
    """Linearised in the choice of sizes, verified by the full model at what was chosen."""
    from asmade.reckon.choice import choose

    choice = choose(build, time_limit_s=20)
    assert choice.status in ("proven", "best_found")
    sizes = {str(change.dimension): change for change in choice.changes}
    lengths = ("eccentric_rod.centres", "radius_rod.centres", "combination_lever.bottom", "union_link.centres")
    for name in lengths:
        assert sizes[name].chosen_mm == pytest.approx(round(sizes[name].chosen_mm, 2))
        assert sizes[name].chosen_mm != pytest.approx(sizes[name].exact_mm, abs=1e-3)
    chosen = {c.dimension: Chosen(0, c.dimension, c.size) for c in choice.changes}
    after = look(compute(replace(build, chosen=chosen)), samples=0)
    events_after = [f for f in after if f.code.startswith("valve")]
    assert len(events_after) == 17
    assert [f.subject for f in events_after if f.verdict not in ("holds", "close")] == []


@pytest.mark.parametrize("name", ["walschaerts", "stephenson"])
def test_a_kit_gives_every_dimension_of_its_gear(fold_text, name):
    """Filled in with the gear's own example, the book moves the valve as the gear itself does."""
    from asmade.book.arrangements import compose
    from asmade.motion.gears import gear

    example = gear(name).example()
    system = compile_system(fold_text(compose("4-4-0", gear=name)))
    bound = sides_of(system.scope)[1]
    plain = {
        str(next(iter(nodes))): float(example[size])
        for size, node in bound.sums
        if size in example.sizes and len(nodes := set(addresses(node))) == 1
    }
    assert set(example.sizes) - set(bound.node) == {"axle_rise"}
    lap = {"slide_valve@L.over_edges": 24.6, "port_face@L.exhaust_port": 6.0, "port_face@L.bridge": 3.0,
           "port_face@L.steam_port": 4.0, "slide_valve@L.cavity": 12.0}  # fmt: skip
    circle = {"return_crank@L.circle": 25 / 64 * 25.4}
    side = bound.side_of(lambda address: (plain | lap | circle)[str(address)])
    assert {n: float(v) for n, v in side.gear.sizes.items()} == pytest.approx(
        {n: float(v) for n, v in example.sizes.items()}
    )
    assert float(side.valve.lap_front) == pytest.approx(24.6 / 2 - 3.0 - 3.0 - 4.0)
    assert float(side.valve.exhaust_lap_back) == pytest.approx(3.0 + 3.0 - 6.0)
