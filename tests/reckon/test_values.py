from __future__ import annotations

import math

import numpy as np
import pytest

from asmade.book.address import read_address
from asmade.measure.errors import Contradiction
from asmade.reckon.capability import learn
from asmade.reckon.findings import look
from asmade.reckon.sampling import chances
from asmade.reckon.values import SOURCES, compute


def where(values, text):
    at = values.system.at(read_address(text))
    return float(values.best[at]), SOURCES[int(values.source[at])]


PIN_AND_HOLE = """
[part.plate]
places = ["engine"]
[part.plate.dim]
hole = { kind = "bore", drawn = "6", process = "reamed", tool = "reamer 6" }
[part.pin]
places = ["engine"]
[part.pin.dim]
seat = { kind = "shaft", drawn = "6", process = "turned" }
[[fit]]
name = "pin in plate"
hole = "plate.hole"
shaft = "pin.seat"
least = "0.01 mm"
most = "0.05 mm"
to_suit = "shaft"
[shop.tool."reamer 6"]
kind = "reamer"
size = "6 mm"
"""
READ = """
[[made]]
piece = "plate#engine"
dim = "hole"
reading = "6.03"
instrument = "mic"
"""


def test_a_size_made_to_suit_follows_its_mate_as_measured(fold_text):
    """DESIGN: a to-suit size is its mates' measured sizes plus the wanted amount; middle of 0.01 to 0.05 is 0.03."""
    values = compute(fold_text(PIN_AND_HOLE + READ))
    assert where(values, "plate.hole") == (pytest.approx(6.03), "made")
    assert where(values, "pin.seat") == (pytest.approx(6.00), "suited")


def test_the_scatter_of_what_is_made_first_does_not_spoil_what_is_made_to_it(fold_text):
    values = compute(fold_text(PIN_AND_HOLE))
    at = values.system.at(read_address("pin.seat"))
    found = look(values)
    own = dict(zip(values.causes, values.sigma, strict=True))["pin@engine.seat"]
    assert values.spread(at)[0] > own, "the pin itself varies with the hole it is made to"
    assert "reamer" not in " ".join(s.cause for s in next(iter(found)).shares), "but the gap does not"


def test_without_to_suit_both_scatter(fold_text):
    loose = next(iter(look(compute(fold_text(PIN_AND_HOLE.replace('to_suit = "shaft"', ""))))))
    suited = next(iter(look(compute(fold_text(PIN_AND_HOLE)))))
    assert (loose.worst_high - loose.worst_low) > (suited.worst_high - suited.worst_low)
    assert any("plate" in s.cause for s in loose.shares)


def test_best_values_in_their_order_of_trust(fold_text):
    """made, else computed, else suited, else chosen, else drawn."""
    text = """
    [part.a]
    places = ["engine"]
    [part.a.dim]
    x = { kind = "length", drawn = "10" }
    y = { kind = "length", drawn = "20" }
    z = { kind = "length", drawn = "31" }
    w = { kind = "length" }
    [[formula]]
    name = "sum"
    gives = "a.z"
    is = "a.x + a.y"
    """
    values = compute(fold_text(text))
    assert where(values, "a.x") == (10.0, "drawn")
    assert where(values, "a.z") == (30.0, "computed")
    assert where(values, "a.w")[1] == "not known"
    chosen = text + '\n[[chosen]]\nof = "a.x"\nsize = "11 mm"\n'
    value, source = where(compute(fold_text(chosen)), "a.x")
    assert source == "chosen"
    assert value == pytest.approx(11, abs=0.05)
    measured = chosen + '\n[[made]]\npiece = "a#engine"\ndim = "z"\nreading = "30.2"\ninstrument = "mic"\n'
    assert where(compute(fold_text(measured)), "a.z") == (30.2, "made")


def test_least_hole_and_greatest_shaft_of_several_spots(fold_text):
    text = (
        PIN_AND_HOLE
        + """
[[made]]
piece = "plate#engine"
dim = "hole"
spots = ["6.03", "6.01", "6.02"]
instrument = "mic"
[[made]]
piece = "pin#engine"
dim = "seat"
spots = ["5.97", "5.98"]
instrument = "mic"
"""
    )
    values = compute(fold_text(text))
    assert where(values, "plate.hole")[0] == pytest.approx(6.01)
    assert where(values, "pin.seat")[0] == pytest.approx(5.98)


def test_a_plug_that_goes_and_one_that_stops_are_a_flat_band(fold_text):
    """Standard deviation of a flat band of width w is w / sqrt(12) (GUM 4.3.7)."""
    text = (
        PIN_AND_HOLE
        + '[[made]]\npiece = "plate#engine"\ndim = "hole"\ngoes = "6.00"\nstops = "6.04"\ninstrument = "mic"\n'
    )
    values = compute(fold_text(text))
    at = values.system.at(read_address("plate.hole"))
    assert values.best[at] == pytest.approx(6.02)
    assert values.spread(at)[0] == pytest.approx(math.hypot(0.04 / math.sqrt(12), 0.002))


def test_on_the_way_is_not_made(fold_text):
    text = PIN_AND_HOLE + '[[made]]\npiece = "pin#engine"\ndim = "seat"\nreading = "6.5"\nstage = "on the way"\n'
    assert where(compute(fold_text(text)), "pin.seat")[1] == "suited"


def test_an_instruments_zero_is_shared_by_its_readings_and_cancels_in_a_difference(fold_text):
    text = (
        (PIN_AND_HOLE + READ).replace('unit = "mm"', 'unit = "mm"')
        + """
[[made]]
piece = "pin#engine"
dim = "seat"
reading = "6.00"
instrument = "mic"
"""
    )
    text = text.replace("[shop.tool", '[shop.instrument.mic2]\nunit = "mm"\nzero = 0.01\nreads_to = 0.001\n[shop.tool')
    both = text.replace('instrument = "mic"\n', 'instrument = "mic2"\n')
    found = look(compute(fold_text(both)))
    assert found.spread[0] == pytest.approx(0.001 * math.sqrt(2), rel=1e-6)


def test_a_joint_disturbs_what_was_measured_before_it(fold_text):
    text = (
        PIN_AND_HOLE
        + """
[[joint]]
name = "pin pressed in"
fit = "pin in plate"
by = "press"
disturbs = ["plate.hole"]
"""
        + READ
        + '[[joined]]\njoint = "pin pressed in"\n'
    )
    values = compute(fold_text(text))
    assert where(values, "plate.hole")[1] == "not known"
    finding = next(iter(look(values)))
    assert finding.verdict == "not known"
    assert "pin pressed in was joined" in finding.missing[0]
    again = compute(
        fold_text(text.replace("[[joined]]", "[[joined]]\nat = 2026-01-02T10:00:00") + READ.replace("6.03", "6.02"))
    )
    assert where(again, "plate.hole")[0] == pytest.approx(6.02)


def test_a_ring_of_to_suit_sizes_is_refused_by_name(fold_text):
    text = (
        PIN_AND_HOLE
        + """
[[chain]]
name = "the other way"
is = "plate.hole - pin.seat"
least = "0 mm"
most = "1 mm"
to_suit = "plate.hole"
"""
    )
    with pytest.raises(Contradiction, match="ring"):
        compute(fold_text(text))


STACK = (
    """
[part.s]
places = ["engine"]
[part.s.dim]
"""
    + "\n".join(f'd{i} = {{ kind = "length", drawn = "{10 + i}", process = "faced" }}' for i in range(6))
    + """
[[chain]]
name = "sum"
is = "s.d0 + s.d1 - s.d2 - 0.5 * s.d3 + 0.25 * s.d4 - s.d5"
least = "-12 mm"
most = "-8.97 mm"
"""
)


def test_spread_of_linear_sums_against_the_uncertainties_package(fold_text):
    """Reference: the general-purpose package `uncertainties` on the same causes."""
    from uncertainties import ufloat

    values = compute(fold_text(STACK))
    found = look(values)
    causes = [ufloat(0, s) for s in values.sigma]
    sizes = [
        float(values.best[at]) + sum(rate * causes[c] for c, rate in row.items()) for at, row in enumerate(values.rows)
    ]  # fmt: skip
    total = sizes[0] + sizes[1] - sizes[2] - 0.5 * sizes[3] + 0.25 * sizes[4] - sizes[5]
    assert found.value[0] == pytest.approx(total.nominal_value)
    assert found.spread[0] == pytest.approx(total.std_dev)


def test_chance_worked_out_agrees_with_engines_drawn(fold_text):
    """Two ways to one figure: Student's t with effective freedom (GUM G.4), and Monte Carlo."""
    found = look(compute(fold_text(STACK)))
    assert 0.02 < found.chance[0] < 0.98
    assert chances(found, 200_000, seed=3)[0] == pytest.approx(found.chance[0], abs=0.01)


def test_samples_have_the_stated_mean_and_spread(fold_text):
    values = compute(fold_text(PIN_AND_HOLE + READ))
    at = values.system.at(read_address("plate.hole"))
    drawn = values.sampled(50_000, 7)[at]
    assert np.mean(drawn) == pytest.approx(6.03, abs=1e-4)
    assert np.std(drawn) == pytest.approx(values.spread(at)[0], rel=0.02)


def test_plays_are_taken_at_their_worst_never_sampled(fold_text):
    text = """
    [part.a]
    places = ["engine"]
    [part.a.dim]
    gap = { kind = "length", drawn = "2" }
    room = { kind = "length", drawn = "0.5" }
    [[play]]
    name = "side play"
    each_way = "a.room"
    [[chain]]
    name = "left over"
    is = "a.gap"
    against = ["side play"]
    least = "1 mm"
    """
    found = {f.subject: f for f in look(compute(fold_text(text)))}
    assert found["left over"].value == pytest.approx(1.5)
    assert found["left over"].plays == ("side play",)
    closed = text.replace('"0.5"', '"-0.5", signed = true')
    assert next(f for f in look(compute(fold_text(closed))) if f.subject == "left over").value == pytest.approx(2.0)


def test_a_reading_of_a_computed_size_is_checked_against_its_sum(fold_text):
    from asmade.reckon.findings import measured_against_sums

    text = """
    [part.a]
    places = ["engine"]
    [part.a.dim]
    x = { kind = "length", drawn = "10" }
    z = { kind = "length", drawn = "20" }
    [[formula]]
    name = "twice"
    gives = "a.z"
    is = "2 * a.x"
    [[made]]
    piece = "a#engine"
    dim = "x"
    reading = "10.00"
    instrument = "mic"
    [[made]]
    piece = "a#engine"
    dim = "z"
    reading = "READ"
    instrument = "mic"
    """
    good = next(measured_against_sums(compute(fold_text(text.replace("READ", "20.003")))))
    bad = next(measured_against_sums(compute(fold_text(text.replace("READ", "20.05")))))
    assert (good.verdict, bad.verdict) == ("holds", "fails")
    assert bad.value == pytest.approx(0.05)


def test_a_reading_teaches_the_tool_that_was_chosen_for_its_place(fold_text):
    text = """
    [part.wheel]
    places = ["1L", "1R"]
    [part.wheel.dim]
    bore = { kind = "bore", drawn = "16", process = "reamed" }
    [shop.tool."reamer A"]
    kind = "reamer"
    size = "16 mm"
    [[chosen]]
    of = "wheel@1R.bore"
    size = "16 mm"
    tool = "reamer A"
    [[aimed]]
    piece = "wheel#1R"
    dim = "bore"
    target = "16 mm"
    at = 2026-01-01T10:00:00
    [[made]]
    piece = "wheel#1R"
    dim = "bore"
    reading = "16.03"
    instrument = "mic"
    at = 2026-01-01T11:00:00
    """
    learned = learn(fold_text(text))
    assert list(learned.departures) == [("reamed", "reamer A", "")]
    assert learned.departures["reamed", "reamer A", ""] == pytest.approx((0.03,))


def test_a_relation_whose_mate_is_not_known_has_no_say_over_the_one_whose_mate_is(fold_text):
    """Hole made 16.00, fit 0.03 to 0.10 wants the shaft about 15.935 (by hand), whatever the collar may come to."""
    text = """
    [part.p]
    places = ["engine"]
    [part.p.dim]
    hole = { kind = "bore", drawn = "15.9" }
    shaft = { kind = "shaft", drawn = "15.9", process = "ground" }
    collar = { kind = "bore" }
    [[fit]]
    name = "in the collar"
    hole = "p.collar"
    shaft = "p.shaft"
    least = "0 mm"
    most = "1 mm"
    to_suit = "shaft"
    [[fit]]
    name = "in the hole"
    hole = "p.hole"
    shaft = "p.shaft"
    least = "0.03 mm"
    most = "0.10 mm"
    to_suit = "shaft"
    [[made]]
    piece = "p#engine"
    dim = "hole"
    reading = "16.00"
    instrument = "mic"
    """
    values = compute(fold_text(text))
    at = values.system.at(read_address("p.shaft"))
    assert SOURCES[values.source[at]] == "suited"
    assert values.best[at] == pytest.approx(15.935, abs=1e-6)
