"""Stephenson gear and single eccentric against a general root finder, the polar diagram and published relations."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.harmonic import angle_of_advance, events_of_eccentric

KIND = gear("stephenson")
EXAMPLE = KIND.example()
ROCKER = {
    "rocker_x": 126.0,
    "rocker_y": 40.0,
    "rocker_driven_arm": 40.0,
    "rocker_valve_arm": 34.0,
    "rocker_angle": math.pi,
    "valve_rod": 80.0,
    "spindle_x": 206.0,
    "spindle_y": 74.0,
}
PLAIN = gear("eccentric")


def with_rocker(**choices):
    """The example through a rocker with opposite arms: the eccentrics then follow the crank."""
    return KIND.of(
        {**EXAMPLE.sizes, **ROCKER},
        {**EXAMPLE.choices, "transmission": "rocker", "lies": "behind the crank", **choices},
    )


# pins in line with the slot, beyond its ends, and hung by its lower end
_REACH = 30.0
LAUNCH = EXAMPLE.with_sizes(
    {
        "slot_radius": 118.0,
        "spindle_x": 118.0,
        "weigh_x": 85.0,
        "top_pin": _REACH,
        "bottom_pin": _REACH,
        "top_pin_behind": 118.0 - math.sqrt(118.0**2 - _REACH**2),
        "bottom_pin_behind": 118.0 - math.sqrt(118.0**2 - _REACH**2),
        "hung_above": -_REACH,
        "hung_behind": 3.9,
        "hanger": 48.0 + _REACH,
    }
)


def unit(angle):
    return complex(math.cos(angle), math.sin(angle))


def equations(sizes, crank, reverser):
    """Distances between pins, written from the drawing, independent of the kernel."""
    d, made = sizes.sizes, sizes.choices
    axle = 1j * d["axle_rise"]
    half = 0 if made["lies"] == "ahead of the crank" else math.pi
    # clockwise is forward: an eccentric ahead of the crank has the smaller angle
    fore = axle + d["eccentric_forward"] * unit(half - crank - math.pi / 2 - d["advance_forward"])
    back = axle + d["eccentric_backward"] * unit(half - crank + math.pi / 2 + d["advance_backward"])
    end = d["lift_angle_forward"] if reverser > 0 else d["lift_angle_backward"]
    lift = d["lift_angle_mid"] + abs(reverser) * (end - d["lift_angle_mid"])
    arm = complex(d["weigh_x"], d["weigh_y"]) + d["lift_arm"] * unit(lift)
    line, along = complex(d["spindle_x"], d["spindle_y"]), unit(d["spindle_incline"])
    upper, lower = (fore, d["rod_forward"]), (back, d["rod_backward"])
    if made["rods"] == "crossed":
        upper, lower = lower, upper

    def gaps(x):
        middle, swing = complex(x[0], x[1]), unit(x[2])
        top = middle + swing * complex(-d["top_pin_behind"], d["top_pin"])
        bottom = middle + swing * complex(-d["bottom_pin_behind"], -d["bottom_pin"])
        hung = middle + swing * complex(-d["hung_behind"], d["hung_above"])
        centre = middle - swing * d["slot_radius"]
        if made["transmission"] == "rocker":
            shaft, die = complex(d["rocker_x"], d["rocker_y"]), complex(x[4], x[5])
            valve_arm = (die - shaft) / d["rocker_driven_arm"] * d["rocker_valve_arm"] * unit(d["rocker_angle"])
            rest = [
                abs(die - shaft) - d["rocker_driven_arm"],
                abs(line + x[3] * along - shaft - valve_arm) - d["valve_rod"],
            ]
        else:
            die, rest = line + x[3] * along, []
        return [
            abs(top - upper[0]) - upper[1],
            abs(bottom - lower[0]) - lower[1],
            abs(hung - arm) - d["hanger"],
            abs(die - centre) - d["slot_radius"],
            *rest,
        ]

    return gaps


@pytest.mark.parametrize("rods", ["open", "crossed"])
@pytest.mark.parametrize("base", [EXAMPLE, with_rocker(), LAUNCH], ids=["on the spindle", "rocker", "launch link"])
def test_positions_against_a_general_root_finder(base, rods):
    """75 random gears of each kind: lengths and places moved by up to 3 per cent, angles by up to 3 degrees."""
    rng, compared = np.random.default_rng(5), 0
    for _ in range(75):
        sizes = {
            size.name: base[size.name] + rng.uniform(-0.05, 0.05)
            if size.kind == "angle"
            else base[size.name] * rng.uniform(0.97, 1.03) + (rng.uniform(-1, 1) if size.kind == "place" else 0.0)
            for size in KIND.sizes
            if size.name in base.sizes
        }
        trial = KIND.of(sizes, {**base.choices, "rods": rods})
        crank, reverser = rng.uniform(0, 2 * math.pi), rng.uniform(-1, 1)
        motion = KIND.move(trial, crank, reverser)
        if motion.faults:
            continue
        at = {name: motion.place(name)[0, 0, 0] for name in ("slot middle", "swing", "valve", "driven pin")}
        ours = [at["slot middle"].real, at["slot middle"].imag, np.angle(at["swing"]), at["valve"]]
        if trial.choices["transmission"] == "rocker":
            ours += [at["driven pin"].real, at["driven pin"].imag]
        noise = rng.normal(0, 0.2, len(ours)) * np.where(np.arange(len(ours)) == 2, 0.02, 1.0)
        general = root(equations(trial, crank, reverser), ours + noise, tol=1e-13)
        assert general.success
        assert general.x == pytest.approx(np.array(ours), abs=1e-8)
        compared += 1
    assert compared >= 60


def leads(sizes, reversers):
    valve = KIND.move(sizes, [0.0, math.pi], reversers).required().place("valve")[:, :, 0]
    return np.abs(0.5 * (valve[:, 1] - valve[:, 0]))


@pytest.mark.parametrize("base", [EXAMPLE, with_rocker(), LAUNCH], ids=["on the spindle", "rocker", "launch link"])
def test_lead_grows_towards_mid_gear_with_open_rods_and_falls_with_crossed(base):
    """Published relation (valve-gear textbooks). Lap is the same, so lap + lead grows and falls alike."""
    reversers = np.array([1.0, 0.66, 0.33, 0.0])
    open_rods = leads(base, reversers)
    crossed = leads(KIND.of(base.sizes, {**base.choices, "rods": "crossed"}), reversers)
    assert (np.diff(open_rods) > 0).all()
    assert (np.diff(crossed) < 0).all()


def test_the_rocker_turns_the_movement_round():
    direct = KIND.move(EXAMPLE, [0.0, math.pi], 1.0).place("valve")[0, :, 0]
    rocked = KIND.move(with_rocker(), [0.0, math.pi], 1.0).place("valve")[0, :, 0]
    # eccentrics half a turn on and opposite arms 34 to 40: the same sense, 34/40 of the movement
    assert np.diff(rocked) == pytest.approx(0.85 * np.diff(direct), rel=0.03)


@pytest.mark.parametrize("exhaust_lap", [-0.4, 0.0, 0.5])
def test_long_rods_give_the_polar_diagram(exhaust_lap):
    """Harmonic limit: a plain eccentric with a rod of 100,000 radii, both ends, both directions."""
    lap, lead, radius = 1.9, 0.2, 4.0
    advance = angle_of_advance(2 * radius, lap, lead)
    sizes = {
        **PLAIN.example().sizes,
        "connecting_rod": 1e5,
        "eccentric_radius": radius,
        "advance_forward": advance,
        "advance_backward": advance,
        "eccentric_rod": 4e5,
        "spindle_x": 4e5,
    }
    side = Side(
        PLAIN.of(sizes, PLAIN.example().choices), Valve.alike("outside", lap=lap, exhaust_lap=exhaust_lap, port=3.0)
    )
    got = events(side, (1.0, -1.0))
    want = events_of_eccentric(2 * radius, lap, exhaust_lap, advance)
    for name in ("admission", "cutoff", "release", "compression"):
        assert getattr(got, name).crank_rad == pytest.approx(np.full((2, 2, 1), getattr(want, name)), abs=3e-5), name
    assert got.lead == pytest.approx(np.full((2, 2, 1), lead), abs=1e-4)
    assert got.opening == pytest.approx(np.full((2, 2, 1), want.opening), abs=1e-4)
    assert got.travel == pytest.approx(np.full((2, 1), 2 * radius), abs=1e-4)


def test_opening_equal_to_lap_cuts_off_at_three_quarters():
    """Common practice, follows from the geometry: lap equal to full-gear port opening is about 75 per cent cut-off."""
    happened = events_of_eccentric(4 * 1.5, 1.5, 0.0, angle_of_advance(4 * 1.5, 1.5, 0.0))
    assert happened.opening == pytest.approx(1.5)
    assert 0.5 * (1 - math.cos(happened.cutoff)) == pytest.approx(0.75)


def test_reversing_direction_mirrors_crank_angles():
    """A gear that is its own mirror image in the cylinder line has the same events in both directions."""
    side = Side(PLAIN.example(), Valve.alike("outside", lap=0.8, exhaust_lap=0.0, port=2.0, mid=0.0))
    got = events(side, (1.0, -1.0))
    for name in ("admission", "cutoff", "release", "compression"):
        both = getattr(got, name).crank_rad
        assert both[0] == pytest.approx(both[1], abs=1e-10)


@settings(max_examples=20, deadline=None)
@given(lap=st.floats(0.5, 2.5), exhaust_lap=st.floats(-0.5, 0.5), advance=st.floats(0.2, 0.6), mid=st.floats(-0.3, 0.3))
def test_mirror_image_swaps_ends(lap, exhaust_lap, advance, mid):
    """The valve turned end for end (movement mirrored) on a long-rod engine: the front end becomes the back end.

    Mirrored fore and aft, an engine with long rods is itself half a turn on; so setting the valve the other way and
    exchanging the laps exchanges the ends.
    """
    base = {**PLAIN.example().sizes, "connecting_rod": 1e6, "eccentric_radius": 4.0, "eccentric_rod": 1e6}
    sizes = PLAIN.of(
        {**base, "spindle_x": 1e6, "advance_forward": advance, "advance_backward": advance}, PLAIN.example().choices
    )
    one = Valve("outside", lap, 1.1, exhaust_lap, 0.1, 3.0, 3.0, mid)
    other = Valve("outside", 1.1, lap, 0.1, exhaust_lap, 3.0, 3.0, -mid)
    here, there = (events(Side(sizes, valve), (1.0,), details=False) for valve in (one, other))
    for name in ("admission", "cutoff", "release", "compression"):
        ours, mirrored = (getattr(e, name).crank_rad[0, :, 0] for e in (here, there))
        assert ours == pytest.approx(mirrored[::-1], abs=2e-5), name


def test_bad_input_is_named():
    with pytest.raises(OutOfRange, match=r"\+1 or -1"):
        PLAIN.move(PLAIN.example(), 0.0, 0.5)
    with pytest.raises(Unknown, match="rocker_x"):
        KIND.of(EXAMPLE.sizes, {**EXAMPLE.choices, "transmission": "rocker"})
    with pytest.raises(Unknown, match="rocker_x"):
        KIND.of({**EXAMPLE.sizes, **ROCKER}, EXAMPLE.choices)
    with pytest.raises(OutOfRange, match="never opens"):
        events_of_eccentric(4.0, 2.0, 0.0, 0.3)
    short = EXAMPLE.with_sizes({"rod_backward": 60.0})
    assert KIND.move(short, np.linspace(0, 6, 12)).faults[0].links == ("expansion link", "backward eccentric rod")
