"""Walschaerts gear against a general root finder on its constraint equations, and its own laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.gears import gear
from asmade.motion.gears.walschaerts import return_crank_angle
from asmade.motion.linkage import CRANK, DoesNotAssemble

KIND = gear("walschaerts")
EXAMPLE = KIND.example()
CHOICES = dict(EXAMPLE.choices)
UNKNOWNS = ("foot pin", "spindle pin", "union lever pin", "lifting pin", "die pin")


ABOVE = EXAMPLE.with_sizes({"foot_drop": -EXAMPLE["foot_drop"], "link_y": 5.0})
"""Foot pin of the link above its trunnion."""
BEHIND = EXAMPLE.with_sizes({"drop_ahead": EXAMPLE["drop_ahead"] + 2 * EXAMPLE["union_link"]})
"""Union pin of the crosshead ahead of the combination lever."""


def random_gear(rng, choices, base=EXAMPLE):
    """The worked example (or a variant) with every length and place moved by up to 4 per cent, every angle by up to 3 degrees."""
    sizes = {}
    for size in KIND.sizes:
        value = base[size.name]
        if size.kind == "angle":
            sizes[size.name] = value + rng.uniform(-0.05, 0.05)
        elif value == 0:
            sizes[size.name] = rng.uniform(-1.5, 1.5)
        else:
            sizes[size.name] = value * rng.uniform(0.96, 1.04)
    return KIND.of(sizes, choices)


def equations(sizes, crank, reverser):
    """Constraint equations written from the drawing, independent of the kernel: distances between pins."""
    d = sizes.sizes
    forward = complex(math.cos(crank), -math.sin(crank))
    axle = 1j * d["axle_rise"]
    pin = axle + d["crank_radius"] * forward
    leading = 1 if sizes.choices["return_pin"] == "leading" else -1
    bent = leading * d["return_crank_angle"]
    return_pin = pin - d["return_crank"] * complex(math.cos(bent), math.sin(bent)) * forward
    incline = complex(math.cos(d["cylinder_incline"]), math.sin(d["cylinder_incline"]))
    from_line = (pin - 1j * d["cylinder_line_y"]) / incline
    along = from_line.real + math.sqrt(d["connecting_rod"] ** 2 - from_line.imag**2)
    gudgeon = 1j * d["cylinder_line_y"] + along * incline
    union = gudgeon + incline * (d["drop_ahead"] - 1j * d["drop_below"])
    trunnion = complex(d["link_x"], d["link_y"])
    upright = -complex(d["foot_back"], d["foot_drop"])
    end = d["lift_angle_forward"] if reverser > 0 else d["lift_angle_backward"]
    lift = d["lift_angle_mid"] + abs(reverser) * (end - d["lift_angle_mid"])
    arm = complex(d["weigh_x"], d["weigh_y"]) + d["lift_arm"] * complex(math.cos(lift), math.sin(lift))
    line = complex(d["spindle_x"], d["spindle_y"])
    spindle = complex(math.cos(d["spindle_incline"]), math.sin(d["spindle_incline"]))
    sign = 1 if sizes.choices["lever"] == "spindle pin outermost" else -1
    whole = d["lever_bottom"] + sign * d["lever_top"]
    hanger_pin = complex(d["hanger_along"], d["hanger_above"])

    def gaps(x):
        foot, lever_pin, lifting, die = (complex(x[i], x[i + 1]) for i in (1, 3, 5, 7))
        spindle_pin = line + x[0] * spindle
        axis = (lever_pin - spindle_pin) / whole
        radius_pin = spindle_pin + axis * (sign * d["lever_top"] + 1j * d["lever_set"])
        swing = (foot - trunnion) / upright
        centre = trunnion + swing * complex(d["slot_offset"] + d["slot_radius"], d["slot_rise"])
        rod = (radius_pin - die) / d["radius_rod"]
        on_rod = lifting - die - rod * hanger_pin
        return [
            abs(foot - return_pin) - d["eccentric_rod"],
            abs(foot - trunnion) - abs(upright),
            abs(lever_pin - spindle_pin) - whole,
            abs(lever_pin - union) - d["union_link"],
            abs(radius_pin - die) - d["radius_rod"],
            on_rod.real,
            on_rod.imag,
            abs(lifting - arm) - d["hanger"],
            abs(die - centre) - d["slot_radius"],
        ]

    return gaps


def vector(motion, index=(0, 0, 0)):
    places = [motion.place(name)[index] for name in ("foot pin", "union lever pin", "lifting pin", "die pin")]
    return np.array([motion.place("valve")[index], *(part for p in places for part in (p.real, p.imag))])


@pytest.mark.parametrize("lever", ["spindle pin outermost", "radius rod pin outermost"])
@pytest.mark.parametrize("return_pin", ["leading", "following"])
def test_positions_against_a_general_root_finder(lever, return_pin):
    """75 random gears of each kind, each at a random crank angle and reverser position, one in general position."""
    rng = np.random.default_rng(11)
    compared = 0
    for _ in range(75):
        sizes = random_gear(rng, {**CHOICES, "lever": lever, "return_pin": return_pin})
        crank, reverser = rng.uniform(0, 2 * math.pi), rng.uniform(-1, 1)
        motion = KIND.move(sizes, crank, reverser)
        if motion.faults:
            continue
        ours = vector(motion)
        general = root(equations(sizes, crank, reverser), ours + rng.normal(0, 0.3, ours.size), tol=1e-13)
        assert general.success
        assert general.x == pytest.approx(ours, abs=1e-8)
        compared += 1
    assert compared >= 65


@pytest.mark.parametrize(
    ("base", "choice"), [(ABOVE, {"foot": "above"}), (BEHIND, {"lever_stands": "behind"})], ids=["foot above", "behind"]
)
def test_other_arrangements_against_a_general_root_finder(base, choice):
    rng, compared = np.random.default_rng(12), 0
    for _ in range(60):
        sizes = random_gear(rng, {**CHOICES, **choice}, base)
        crank, reverser = rng.uniform(0, 2 * math.pi), rng.uniform(-1, 1)
        motion = KIND.move(sizes, crank, reverser)
        if motion.faults:
            continue
        ours = vector(motion)
        general = root(equations(sizes, crank, reverser), ours + rng.normal(0, 0.3, ours.size), tol=1e-13)
        assert general.success
        assert general.x == pytest.approx(ours, abs=1e-8)
        assert (motion.place("foot pin").imag > motion.place("trunnion").imag).all() == ("foot" in choice)
        ahead = (motion.place("union lever pin") - motion.place("union crosshead pin")).real
        assert (ahead < 0).all() == ("lever_stands" in choice)
        compared += 1
    assert compared >= 50


def test_residual_of_a_whole_map():
    motion = KIND.move(EXAMPLE, np.linspace(0, 2 * np.pi, 720), np.linspace(-1, 1, 21)).required()
    assert motion.worst_gap_mm < 1e-12


@pytest.mark.parametrize("lifting", ["hanging link", "behind the link", "standing link", "die in slot"])
def test_lifted_rod_keeps_its_lengths(lifting):
    """Distances measured on the solved pins, for each way of lifting the radius rod."""
    sizes = EXAMPLE
    changes = {}
    if lifting == "standing link":  # weighshaft below instead of above
        changes = {"weigh_y": 2 * EXAMPLE["link_y"] - EXAMPLE["weigh_y"]}
    elif lifting == "behind the link":  # the rod reaches back past the link to its hanger
        changes = {"hanger_along": -18.0, "weigh_x": EXAMPLE["weigh_x"] - 44.0, "lift_arm": 32.0}
    elif lifting == "die in slot":  # lifting arm's die bears in a slot in the rod's tail behind the link
        changes = {
            "weigh_y": EXAMPLE["link_y"] + 3.0,
            "weigh_x": EXAMPLE["link_x"] - 70.0,
            "lift_arm": 40.0,
            "hanger_above": 1.0,
        }
    kept = {**EXAMPLE.sizes, **changes}
    if lifting == "die in slot":
        kept = {name: value for name, value in kept.items() if name not in ("hanger", "hanger_along")}
    choice = "hanging link" if lifting == "behind the link" else lifting
    sizes = KIND.of(kept, {**CHOICES, "lifting": choice})
    motion = KIND.move(sizes, np.linspace(0, 2 * np.pi, 90), np.linspace(-0.8, 0.8, 5)).required()
    die, radius, lift, arm = (
        motion.place(f"{name}") for name in ("die pin", "radius rod pin", "lifting pin", "lifting arm pin")
    )
    assert np.abs(die - radius) == pytest.approx(sizes["radius_rod"])
    if lifting == "die in slot":
        along = (radius - die) / sizes["radius_rod"]
        assert np.imag(np.conj(along) * (arm - die)) == pytest.approx(sizes["hanger_above"])
        assert np.real(np.conj(along) * (arm - die)).max() < 0  # behind the link
    else:
        assert np.abs(lift - arm) == pytest.approx(sizes["hanger"])
        assert ((lift - arm).imag < 0).all() == (lifting != "standing link")
        assert ((lift - die).real < 0).all() == (lifting == "behind the link")


def test_velocities_and_sensitivities_against_difference_quotients():
    names = (*EXAMPLE.sizes, CRANK)
    crank, step = np.linspace(0.2, 6.0, 7), 1e-5
    motion = KIND.move(EXAMPLE, crank, [1.0, -0.4], rates_to=names)
    for name in names:
        if name == CRANK:
            up, down = KIND.move(EXAMPLE, crank + step, [1.0, -0.4]), KIND.move(EXAMPLE, crank - step, [1.0, -0.4])
        else:
            up, down = (
                KIND.move(EXAMPLE.with_sizes({name: EXAMPLE[name] + s}), crank, [1.0, -0.4]) for s in (step, -step)
            )
        for out in ("valve", "piston", "die pin", "lifting pin", "swing"):
            quotient = (up.place(out) - down.place(out)) / (2 * step)
            assert motion.rates[out][name] == pytest.approx(quotient, abs=1e-6), (out, name)


def test_equal_leads_in_all_gears_of_the_ideal_layout():
    """Published relation (valve-gear textbooks): the lead of the ideal Walschaerts layout is the same in all gears.

    Ideal: radius rod as long as the slot's radius, and its lever pin at the slot's centre at both dead centres, so
    that running the die through the slot there does not move the lever. A real one drifts a little.
    """
    crank = [0.0, math.pi]
    free = ("eccentric_rod", "return_crank_angle")

    def changed(x):
        return EXAMPLE.with_sizes({**dict(zip(free, x, strict=True)), "radius_rod": EXAMPLE["slot_radius"]})

    def beside_centre(x):
        motion = KIND.move(changed(x), crank, 0.0)
        from_trunnion = (motion.place("radius rod pin") - motion.place("trunnion")) / motion.place("swing")
        return from_trunnion.imag[0, :, 0]

    def spread(sizes):
        leads = KIND.move(sizes, crank, np.linspace(-1, 1, 9)).required().place("valve")[:, :, 0]
        return np.ptp(leads, axis=0).max()

    ideal = root(beside_centre, [EXAMPLE[name] for name in free])
    assert ideal.success
    assert spread(changed(ideal.x)) < 1e-9
    assert 0.005 < spread(EXAMPLE) < 0.1


@settings(max_examples=25, deadline=None)
@given(scale=st.floats(0.1, 20.0))
def test_scaling_all_lengths_scales_the_travel(scale):
    crank = np.linspace(0, 2 * np.pi, 48)
    scaled = {size.name: EXAMPLE[size.name] * (1.0 if size.kind == "angle" else scale) for size in KIND.sizes}
    plain = KIND.move(EXAMPLE, crank, [1.0, -0.3]).place("valve")
    assert KIND.move(KIND.of(scaled, CHOICES), crank, [1.0, -0.3]).place("valve") == pytest.approx(
        scale * plain, rel=1e-9, abs=1e-9 * scale
    )


@settings(max_examples=25, deadline=None)
@given(crank=st.floats(0, 6.3), turned=st.floats(-0.3, 0.3))
def test_turning_everything_about_the_axle_turns_the_crank_angle(crank, turned):
    """Piston and link of a gear leaned back by an angle stand at crank angle a - angle as they did at a."""
    whole = np.exp(1j * turned)
    sizes = dict(EXAMPLE.sizes)
    for x, y in (("link_x", "link_y"), ("weigh_x", "weigh_y"), ("spindle_x", "spindle_y")):
        place = complex(EXAMPLE[x], EXAMPLE[y]) * whole
        sizes[x], sizes[y] = place.real, place.imag
    upright = complex(EXAMPLE["foot_back"], EXAMPLE["foot_drop"]) * whole
    sizes["foot_back"], sizes["foot_drop"] = upright.real, upright.imag
    for name in ("cylinder_incline", "spindle_incline", "lift_angle_forward", "lift_angle_mid", "lift_angle_backward"):
        sizes[name] += turned
    leaned = KIND.of(sizes, CHOICES)
    plain = KIND.move(EXAMPLE, crank, 0.7)
    assert KIND.move(leaned, crank - turned, 0.7).place("piston") == pytest.approx(plain.place("piston"), abs=1e-9)
    foot = KIND.move(leaned, crank - turned, 0.7).place("foot pin")
    assert foot == pytest.approx(plain.place("foot pin") * whole, abs=1e-9)


@pytest.mark.parametrize(
    ("changes", "choices", "error", "words"),
    [
        ({"lever_top": 0.0}, {}, OutOfRange, "lever_top"),
        ({"crank_radius": -5.0}, {}, OutOfRange, "crank_radius"),
        ({"union_link": float("nan")}, {}, OutOfRange, "union_link"),
        ({"elbow": 1.0}, {}, Unknown, "elbow"),
        ({}, {"lever": "sideways"}, Unknown, "sideways"),
    ],
)
def test_bad_input_is_named(changes, choices, error, words):
    with pytest.raises(error, match=words):
        KIND.of({**EXAMPLE.sizes, **changes}, {**CHOICES, **choices})


def test_missing_input_is_named():
    sizes = {name: value for name, value in EXAMPLE.sizes.items() if name != "eccentric_rod"}
    with pytest.raises(Unknown, match="eccentric rod, centre to centre"):
        KIND.of(sizes, CHOICES)
    with pytest.raises(Unknown, match="hanger"):
        KIND.of(EXAMPLE.sizes, {**CHOICES, "lifting": "die in slot"})
    with pytest.raises(Unknown, match="state it"):
        KIND.of(EXAMPLE.sizes, {})


def test_reverser_out_of_range():
    with pytest.raises(OutOfRange, match="full backward"):
        KIND.move(EXAMPLE, 0.0, 1.2)


def test_a_gear_that_cannot_be_assembled_names_its_links():
    short = EXAMPLE.with_sizes({"eccentric_rod": 0.7 * EXAMPLE["eccentric_rod"]})
    motion = KIND.move(short, np.linspace(0, 2 * np.pi, 36))
    assert motion.faults[0].links == ("eccentric rod", "expansion link")
    with pytest.raises(DoesNotAssemble, match="eccentric rod and expansion link"):
        motion.required()


def test_return_crank_angle():
    assert return_crank_angle(3.0, 4.0, 5.0) == pytest.approx(math.pi / 2)
    with pytest.raises(OutOfRange, match="triangle"):
        return_crank_angle(3.0, 4.0, 8.0)
