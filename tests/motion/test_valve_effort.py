"""Mean pressure and steam from events, against numerical integration and limits; refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import gear
from asmade.motion.valves.effort import (
    crank_effort,
    mean_pressure,
    mean_pressure_by_rule,
    mean_pressure_of_expansion,
    pressure_after_cutoff,
    starting_mean_pressure,
    steam_density,
    steam_per_turn,
    tractive_effort,
)
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.setting import set_valve

SIDE = set_valve(Side(gear("walschaerts").example(), Valve.alike("outside", lap=2.78, exhaust_lap=0.1, port=3.6)))
FOUND = events(SIDE)
SUPPLY, BACK, CLEARANCE = 0.60, 0.12, 0.09


def test_mean_pressure_is_the_area_of_the_diagram():
    """The pressure written point by point along both strokes and integrated numerically."""
    ours = mean_pressure(FOUND, SUPPLY, BACK, clearance=CLEARANCE, diagram_factor=1.0)
    for place in range(0, 9, 2):
        for end in range(2):
            here = (place, end, 0)
            cut, let = FOUND.cutoff.cycle[here], FOUND.release.cycle[here]
            early, closed = 2 - FOUND.admission.cycle[here], 2 - FOUND.compression.cycle[here]

            def out(x, cut=cut, let=let):
                if x > let:
                    return BACK
                return SUPPLY if x < cut else SUPPLY * (cut + CLEARANCE) / (x + CLEARANCE)

            def back(x, early=early, closed=closed):
                if x < early:
                    return SUPPLY
                return BACK if x > closed else BACK * (closed + CLEARANCE) / (x + CLEARANCE)

            work = quad(out, 0, 1, points=[cut, let])[0] - quad(back, 0, 1, points=[early, closed])[0]
            assert ours[here] == pytest.approx(work, abs=1e-9)


def test_mean_pressure_tends_to_the_published_expansion_formula():
    """Release and compression at the dead centres and admission there too: p/r (1 + ln r) less back pressure."""
    kind = gear("eccentric")
    lap = 1.2
    advance = math.asin(lap / 1.7)  # no lead: admission at the dead centre
    sizes = {**kind.example().sizes, "connecting_rod": 1e6, "eccentric_rod": 1e6, "spindle_x": 1e6}
    sizes |= {"advance_forward": advance, "advance_backward": advance}
    valve = Valve.alike("outside", lap=lap, exhaust_lap=lap - 1e-12, port=2.0)
    found = events(Side(kind.of(sizes, kind.example().choices), valve), (1.0,))
    got = mean_pressure(found, SUPPLY, BACK, clearance=1e-9, diagram_factor=1.0)[0, 0, 0]
    cut = float(found.cutoff.cycle[0, 0, 0])
    full = mean_pressure_of_expansion(SUPPLY, 0.0, cut)
    assert found.release.cycle[0, 0, 0] == pytest.approx(1.0, abs=1e-5)
    closed = 2 - float(found.compression.cycle[0, 0, 0])
    squeezed = BACK * (1 - closed) + BACK * closed * math.log(closed / 1e-9)  # compression begins before the end
    assert got == pytest.approx(full - squeezed, rel=2e-3)


def test_pressure_falls_with_the_cut_off_and_effort_follows():
    mean = mean_pressure(FOUND, SUPPLY, BACK, clearance=CLEARANCE, diagram_factor=0.8).mean(axis=1)[:, 0]
    assert (np.diff(mean[:5]) < 0).all()
    assert (np.diff(mean[5:]) > 0).all()
    pull = tractive_effort(33.0, 47.6, 100.0, float(mean[0]))
    # work of four strokes a turn over the way rolled
    assert pull == pytest.approx(4 * mean[0] * 0.25 * math.pi * 33.0**2 * 47.6 / (math.pi * 100.0))


def test_ends_that_never_open_have_no_pressure():
    closed = events(SIDE.with_sizes({"lap": 9.0}), (1.0,))
    assert np.isnan(mean_pressure(closed, SUPPLY, BACK, clearance=CLEARANCE, diagram_factor=0.8)).all()
    assert np.isnan(steam_per_turn(closed, 33.0, 47.6, SUPPLY, BACK, clearance=CLEARANCE)).all()


def test_steam_density_of_the_tables():
    """Steam tables recalled from memory: 1.694 m3/kg at 1 bar, 0.3749 at 5 bar, 0.1944 at 10 bar."""
    for pressure, volume in ((0.1, 1.694), (0.5, 0.3749), (1.0, 0.1944)):
        assert steam_density(pressure) == pytest.approx(1 / volume, rel=1e-3)
    # between the rows: 0.25 bar above 6 and 7 bar, the near hyperbola p v^1.06
    assert steam_density(0.65) == pytest.approx(3.168 * (6.5 / 6.0) ** (1 / 1.0646), rel=2e-3)
    with pytest.raises(OutOfRange, match="steam pressure"):
        steam_density(0.05)


def test_steam_per_turn():
    """Swept part at cut-off filled, less what was shut in; full gear takes more than half gear."""
    grams = steam_per_turn(FOUND, 33.3, 47.6, SUPPLY, BACK, clearance=CLEARANCE)
    cut, closed = float(FOUND.cutoff.cycle[0, 0, 0]), 2 - float(FOUND.compression.cycle[0, 0, 0])
    litres = math.pi / 4 * 0.333**2 * 0.476
    by_hand = litres * ((cut + CLEARANCE) * 3.168 - (closed + CLEARANCE) * steam_density(BACK))
    assert grams[0, 0, 0] == pytest.approx(by_hand, rel=1e-6)
    assert (grams[0] > grams[2]).all()


def test_crank_effort_balances():
    """Virtual work: turning moment times small angle is piston force times its small way."""
    for angle in np.radians([10.0, 75.0, 160.0, 250.0, 340.0]):
        got = crank_effort(100.0, angle, 20.0, 90.0)
        place = [20 * math.cos(a) + math.sqrt(90**2 - (20 * math.sin(a)) ** 2) for a in (angle + 1e-6, angle - 1e-6)]
        assert got.moment == pytest.approx(-100.0 * (place[0] - place[1]) / 2e-6, rel=1e-6)
        assert math.hypot(got.tangential, got.radial) == pytest.approx(abs(got.rod_thrust))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: tractive_effort(0.0, 50.0, 100.0, 0.3), "bore"),
        (lambda: starting_mean_pressure(-1.0), "boiler pressure"),
        (lambda: starting_mean_pressure(1.0, 1.2), "factor"),
        (lambda: mean_pressure_by_rule(0.5, 5.0), "10 to 75"),
        (lambda: mean_pressure_of_expansion(1.0, 0.1, 0.0), "cut-off"),
        (lambda: mean_pressure_of_expansion(1.0, 0.1, 0.5, -0.1), "clearance"),
        (lambda: pressure_after_cutoff(1.0, 0.3, 1.2), "stroke"),
        (lambda: mean_pressure(FOUND, SUPPLY, BACK, clearance=0.05, diagram_factor=0.0), "diagram"),
        (lambda: mean_pressure(FOUND, SUPPLY, BACK, clearance=0.0, diagram_factor=0.8), "clearance"),
        (lambda: crank_effort(1.0, 0.0, 90.0, 20.0), "crank radius"),
    ],
)
def test_bad_input_is_named(make, words):
    with pytest.raises(OutOfRange, match=words):
        make()
