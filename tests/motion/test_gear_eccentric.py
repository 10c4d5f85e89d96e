"""Single eccentric, fixed or slipping, on the spindle or over a rocker: positions against a general root finder."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from scipy.optimize import root

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.harmonic import events_of_eccentric
from asmade.motion.valves.setting import set_valve

KIND = gear("eccentric")
EXAMPLE = KIND.example()
ROCKER = {"rocker_x": 28.0, "rocker_y": 9.0, "rocker_driven_arm": 9.0, "rocker_valve_arm": 10.0,
          "rocker_angle": math.pi, "valve_rod": 25.0, "spindle_y": 19.0}  # fmt: skip


def base(slips, lies, rocker):
    """An invented gear: hanging driven arm and standing valve arm where there is a rocker."""
    choices = {"eccentric": slips, "lies": lies, "transmission": "rocker" if rocker else "on the spindle",
               "driven_arm": "hangs"}  # fmt: skip
    names = {size.name for size in KIND.sizes if size.applies(choices)}
    sizes = {**EXAMPLE.sizes, "eccentric_rod": 28.0 if rocker else 31.0} | (ROCKER if rocker else {})
    return KIND.of({n: v for n, v in sizes.items() if n in names}, choices)


def equations(sizes, crank, reverser):
    """The constraints written out once more; unknowns: piston, driven pin, spindle pin along its line."""
    d, choices = sizes.sizes, sizes.choices
    axle = 1j * d["axle_rise"]
    pin = axle + d["crank_radius"] * np.exp(-1j * crank)
    backward = choices["eccentric"] == "slips" and reverser < 0
    turn = crank + (0.5 * math.pi + d["advance_forward"] if not backward else -0.5 * math.pi - d["advance_backward"])
    half = math.pi if choices["lies"] == "behind the crank" else 0.0
    centre = axle + d["eccentric_radius"] * np.exp(-1j * (turn + half))
    incline = np.exp(1j * d["cylinder_incline"])
    line, along = complex(d["spindle_x"], d["spindle_y"]), np.exp(1j * d["spindle_incline"])

    def gaps(x):
        gudgeon, driven, place = 1j * d["cylinder_line_y"] + x[0] * incline, complex(x[1], x[2]), line + x[3] * along
        rods = [abs(gudgeon - pin) - d["connecting_rod"], abs(driven - centre) - d["eccentric_rod"]]
        if choices["transmission"] == "on the spindle":
            return [*rods, (driven - place).real, (driven - place).imag]
        shaft = complex(d["rocker_x"], d["rocker_y"])
        arm = (driven - shaft) / d["rocker_driven_arm"] * np.exp(1j * d["rocker_angle"]) * d["rocker_valve_arm"]
        return [*rods, abs(driven - shaft) - d["rocker_driven_arm"], abs(place - shaft - arm) - d["valve_rod"]]

    return gaps


@pytest.mark.parametrize(
    ("slips", "lies", "rocker"),
    list(product(("fixed", "slips"), ("ahead of the crank", "behind the crank"), (False, True))),
)
def test_positions_against_a_general_root_finder(slips, lies, rocker):
    rng, compared = np.random.default_rng(11), 0
    first = base(slips, lies, rocker)
    for _ in range(40):
        sizes = first.with_sizes({
            size.name: first[size.name] + rng.uniform(-0.05, 0.05)
            if size.kind == "angle"
            else first[size.name] * rng.uniform(0.97, 1.03) + (rng.uniform(-0.5, 0.5) if size.kind == "place" else 0)
            for size in KIND.sizes
            if size.name in first.sizes
        })  # fmt: skip
        crank, reverser = rng.uniform(0, 2 * math.pi), float(rng.choice([1.0, -1.0])) if slips == "slips" else 1.0
        motion = KIND.move(sizes, crank, reverser)
        if motion.faults:
            continue
        driven = motion.place("driven pin")[0, 0, 0]
        piston, valve = (motion.place(name)[0, 0, 0] for name in ("piston", "valve"))
        ours = np.array([piston, driven.real, driven.imag, valve])
        gaps = equations(sizes, crank, reverser)
        general = root(gaps, ours + rng.normal(0, 0.02, 4), tol=1e-13)
        assert np.abs(gaps(general.x)).max() < 1e-10  # it stops for want of progress where nothing is left to gain
        assert general.x == pytest.approx(ours, abs=1e-8)
        compared += 1
    assert compared >= 35


def test_long_rods_give_the_polar_diagram_in_closed_form():
    """Polar diagram (Zeuner, Reuleaux): every event of both ends, both directions."""
    long = {"connecting_rod": 1e6, "eccentric_rod": 1e6, "spindle_x": 1e6}
    lap, exhaust, radius, advance = 0.8, 0.1, 1.7, math.asin(0.9 / 1.7)
    side = set_valve(Side(EXAMPLE.with_sizes(long), Valve.alike("outside", lap=lap, exhaust_lap=exhaust, port=2.0)))
    found, told = events(side), events_of_eccentric(2 * radius, lap, exhaust, advance)
    for place in (0, 1):
        for end in (0, 1):
            for name in ("admission", "cutoff", "release", "compression"):
                angle = float(getattr(found, name).crank_rad[place, end, 0])
                assert angle == pytest.approx(getattr(told, name), abs=1e-4), (place, end, name)
            assert float(found.lead[place, end, 0]) == pytest.approx(told.lead, abs=1e-5)


def test_a_rocker_with_opposite_arms_turns_the_movement_round():
    """Driven back, the valve goes forward, in the proportion of the arms where both stand square."""
    first = base("fixed", "behind the crank", rocker=True)
    motion = KIND.move(first, np.linspace(0, 2 * np.pi, 90), 1.0).required()
    driven = motion.place("driven pin")[0, :, 0].real
    valve = motion.place("valve")[0, :, 0]
    assert np.corrcoef(driven, valve)[0, 1] < -0.99
    assert np.ptp(valve) / np.ptp(driven) == pytest.approx(10.0 / 9.0, rel=0.03)


def test_slipping_mirrors_the_directions():
    """Pushed off the other way it does the same: crank angles mirrored, valve alike, spindle in line with the axle."""
    crank = np.linspace(0, 2 * np.pi, 60)
    ahead = KIND.move(EXAMPLE, crank, 1.0).place("valve")
    astern = KIND.move(EXAMPLE, -crank, -1.0).place("valve")
    assert ahead == pytest.approx(astern, abs=1e-12)


def test_bad_input_is_named():
    with pytest.raises(OutOfRange, match="no position between"):
        KIND.move(EXAMPLE, 0.0, 0.5)
    with pytest.raises(OutOfRange, match=r"\+1"):
        KIND.move(base("fixed", "ahead of the crank", rocker=False), 0.0, -1.0)
    with pytest.raises(OutOfRange, match="eccentric_radius"):
        KIND.of({**EXAMPLE.sizes, "eccentric_radius": 0.0}, EXAMPLE.choices)
    with pytest.raises(Unknown, match="rocker_x"):
        KIND.of(EXAMPLE.sizes, {**EXAMPLE.choices, "transmission": "rocker"})
    short = EXAMPLE.with_sizes({"spindle_y": 40.0})
    (fault,) = KIND.move(short, np.linspace(0, 6, 7), 1.0).faults
    assert fault.links == ("eccentric rod", "valve spindle")
