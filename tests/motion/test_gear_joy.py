"""Joy gear: lengths kept, positions against a general root finder, and the limits of its parts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import root

from asmade.motion.gears import gear
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events

KIND = gear("joy")
EXAMPLE = KIND.example()


def equations(sizes, crank, reverser):
    d = sizes.sizes
    pin = 1j * d["axle_rise"] + d["crank_radius"] * np.exp(-1j * crank)
    incline = np.exp(1j * d["cylinder_incline"])
    end = d["slide_angle_forward"] if reverser > 0 else d["slide_angle_backward"]
    tilt = d["slide_angle_mid"] + abs(reverser) * (end - d["slide_angle_mid"])
    centre = complex(d["slide_x"], d["slide_y"]) + d["slot_radius"] * np.exp(1j * tilt)
    line, along = complex(d["spindle_x"], d["spindle_y"]), np.exp(1j * d["spindle_incline"])

    def gaps(x):
        gudgeon = 1j * d["cylinder_line_y"] + x[0] * incline
        rod = (gudgeon - pin) / d["connecting_rod"]
        joint = pin + rod * complex(d["joint_along"], d["joint_above"])
        swung, die = complex(x[1], x[2]), complex(x[3], x[4])
        axis = (swung - joint) / d["vibrating_link"]
        lever = joint + axis * complex(d["lever_joint"], d["lever_joint_ahead"])
        valve_pin = die + (die - lever) / d["lever_to_die"] * d["die_to_rod"]
        return [
            abs(gudgeon - pin) - d["connecting_rod"],
            abs(swung - joint) - d["vibrating_link"],
            abs(swung - complex(d["anchor_x"], d["anchor_y"])) - d["anchor_link"],
            abs(die - lever) - d["lever_to_die"],
            abs(die - centre) - d["slot_radius"],
            abs(line + x[5] * along - valve_pin) - d["valve_rod"],
        ]

    return gaps


def test_positions_against_a_general_root_finder():
    rng, compared = np.random.default_rng(3), 0
    for _ in range(100):
        sizes = KIND.of(
            {
                size.name: EXAMPLE[size.name] + rng.uniform(-0.05, 0.05)
                if size.kind == "angle"
                else EXAMPLE[size.name] * rng.uniform(0.98, 1.02) + (rng.uniform(-1, 1) if size.kind == "place" else 0)
                for size in KIND.sizes
            },
            EXAMPLE.choices,
        )
        crank, reverser = rng.uniform(0, 2 * math.pi), rng.uniform(-1, 1)
        motion = KIND.move(sizes, crank, reverser)
        if motion.faults:
            continue
        swung, die = (motion.place(name)[0, 0, 0] for name in ("anchor link pin", "die pin"))
        piston, valve = (motion.place(name)[0, 0, 0] for name in ("piston", "valve"))
        ours = np.array([piston, swung.real, swung.imag, die.real, die.imag, valve])
        general = root(equations(sizes, crank, reverser), ours + rng.normal(0, 0.2, 6), tol=1e-13)
        assert general.success
        assert general.x == pytest.approx(ours, abs=1e-8)
        compared += 1
    assert compared >= 90


def test_leads_hardly_change_with_cut_off():
    """Published relation (valve-gear textbooks): Joy gear has constant lead; the example drifts by a few hundredths."""
    middle = KIND.move(EXAMPLE, [0.0, math.pi], 1.0).place("valve")[0, :, 0]
    valve = Valve.alike("outside", lap=2.235, exhaust_lap=0.0, port=3.5, mid=float(middle.mean()))
    got = events(Side(EXAMPLE, valve), (1.0, 0.5, 0.0, -0.5, -1.0))
    assert np.ptp(got.lead[:, 0, 0]) < 0.05
    assert np.ptp(got.lead[:, 1, 0]) < 0.05
    cutoff = got.cutoff.per_cent[..., 0]
    assert (cutoff[0] > cutoff[1]).all()
    assert (cutoff[1] > cutoff[2]).all()
