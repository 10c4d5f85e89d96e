"""Published and textbook valve events: polar diagram relations, old rules, printed examples, a demo gear.

The harmonic rows are worked twice: by the relations in closed form, and by the general valve gear sums on a plain
eccentric with rods so long that only the connecting rod's own obliquity is left.
"""

from __future__ import annotations

import csv
import json
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from asmade.motion.gears import gear
from asmade.motion.gears.walschaerts import return_crank_angle
from asmade.motion.valves.effort import pressure_after_cutoff
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.harmonic import (
    angle_of_advance,
    events_of_eccentric,
    lap_by_rule,
    lap_for_cutoff,
    lever_ratio,
    stroke_done,
)
from asmade.motion.valves.setting import spindle_from_depths

HERE = Path(__file__).parent


def rows(name):
    return list(csv.DictReader((HERE / name).read_text(encoding="utf-8").splitlines()))


def given(row):
    put = {}
    for pair in row["inputs"].split(";"):
        name, value = pair.split("=", 1)
        try:
            put[name] = float(value)
        except ValueError:
            put[name] = value
    return put


def named(words):
    """Which event a row's quantity speaks of."""
    for name in ("admission", "cutoff", "release", "compression"):
        if name in words.replace("cut-off", "cutoff"):
            return name
    return None


def harmonic(put):
    travel = put.get("travel", put.get("travel_in"))
    lap, exhaust_lap = put.get("steam_lap", put.get("steam_lap_in")), put.get("exhaust_lap", put.get("exhaust_lap_in"))
    if "angle_of_advance_deg" in put:
        advance = math.radians(put["angle_of_advance_deg"])
    else:
        advance = angle_of_advance(travel, lap, put.get("lead", put.get("lead_in")))
    return advance, events_of_eccentric(travel, lap, exhaust_lap, advance)


def found(row):  # one case for each group of rows
    put, words = given(row), row["quantity"]
    match row["category"]:
        case "Zeuner angles" | "published valve example":
            advance, happened = harmonic(put)
            if words == "angle of advance":
                return math.degrees(advance)
            return happened.opening if "opening" in words else math.degrees(getattr(happened, named(words)))
        case "events % of stroke":
            _, happened = harmonic(put)
            rod = math.inf if "infinite" in words else put["rod_to_crank"]
            angle = getattr(happened, named(words))
            if "crank end" in words:
                return 100 * (1 - stroke_done(angle + math.pi, rod))
            done = stroke_done(angle, rod)
            return 100 * (1 - done if named(words) == "compression" else done)
        case "exact lap for cut-off":
            return lap_for_cutoff(put["travel"], put["cutoff_fraction"], put["lead"])
        case "published lap rule":
            return lap_by_rule(put.get("travel", put.get("travel_in")), put["cutoff_fraction"], put["lead"])
        case "published release rule":
            _, happened = harmonic(put)
            if "return" in words:
                return put["piston_stroke"] * stroke_done(happened.compression)
            return put["piston_stroke"] * (1 - stroke_done(happened.release))
        case "Walschaerts combination lever":
            return lever_ratio(put["piston_stroke"], put["steam_lap"], put["lead"])
        case "lap against cut-off table":
            return lap_by_rule(1.0, 1 - put["remaining_stroke_fraction"], put["lead"])
        case "locomotive in service":
            _, happened = harmonic(put)
            return put["stroke_in"] * stroke_done(getattr(happened, named(words)))
        case "piston position":
            return put["stroke_mm"] * stroke_done(
                math.radians(put["crank_deg"]), put["rod_mm"] / (0.5 * put["stroke_mm"])
            )
    raise AssertionError(row)


PUBLISHED = rows("published_valve_events.csv")
SUMS = rows("valve_events.csv") + [
    row
    for row in PUBLISHED
    if row["category"] not in ("valve setting by measurement", "expansion after cut-off", "piston position")
]


@pytest.mark.parametrize("row", SUMS, ids=[row["id"] for row in SUMS])
def test_row(row):
    assert found(row) == pytest.approx(float(row["value"]), abs=float(row["tolerance"])), row["source"]


def test_printed_piston_position():
    """Khurmi and Gupta print the two-term series; our exact slider-crank gives what the row's note says."""
    (row,) = (row for row in PUBLISHED if row["category"] == "piston position")
    put = given(row)
    crank, angle = 0.5 * put["stroke_mm"], math.radians(put["crank_deg"])
    series = crank * ((1 - math.cos(angle)) + math.sin(angle) ** 2 / (2 * put["rod_mm"] / crank))
    assert series == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))
    assert "exact slider-crank gives 159.16 mm" in row["note"]
    assert found(row) == pytest.approx(159.16, abs=0.005)


@pytest.mark.parametrize(
    "row", [row for row in PUBLISHED if row["category"] == "valve setting by measurement"], ids=lambda row: row["id"]
)
def test_spindle_from_four_depths(row):
    put = given(row)
    told = spindle_from_depths(
        (put["travel_end1_in"], put["travel_end2_in"]), (put["port_opens_end1_in"], put["port_opens_end2_in"])
    )
    got = {
        "mid position of travel": told.middle_of_travel,
        "mid position between port openings": told.middle_of_ports,
        "valve rod too long by": told.too_long_by,
    }[row["quantity"]]
    assert got == pytest.approx(float(row["value"]), abs=float(row["tolerance"])), row["source"]


def test_printed_expansion_after_cutoff():
    """With the book's approximate piston position the printed pressure, with the exact one what the note says."""
    (row,) = (row for row in PUBLISHED if row["category"] == "expansion after cut-off")
    put = given(row)
    printed = (158.6 / 360, float(row["value"]), float(row["tolerance"]))
    for done, pressure, within in (printed, (159.16 / 360, 6.808, 5e-4)):
        got = 10 * pressure_after_cutoff(put["p_abs_bar"] / 10, put["cutoff_fraction"], done)
        assert got == pytest.approx(pressure, abs=within)


OBLIQUE = [row for row in SUMS if row["category"] == "events % of stroke" and "rod_to_crank" in row["inputs"]]


@pytest.mark.parametrize("row", OBLIQUE, ids=[row["id"] for row in OBLIQUE])
def test_row_by_the_general_sums(row):
    """The same events by the whole machinery: a plain eccentric whose own rod is long, the connecting rod as given."""
    put, kind = given(row), gear("eccentric")
    radius, advance = 0.5 * put["travel"], harmonic(put)[0]
    sizes = {
        "crank_radius": 10.0,
        "connecting_rod": 10.0 * put["rod_to_crank"],
        "eccentric_radius": radius,
        "advance_forward": advance,
        "eccentric_rod": 1e6,
        "spindle_x": 1e6,
        "spindle_y": 0.0,
    }
    valve = Valve.alike("outside", lap=put["steam_lap"], exhaust_lap=put["exhaust_lap"], port=put["travel"])
    got = events(Side(kind.of(sizes, {**kind.example().choices, "eccentric": "fixed"}), valve), (1.0,))
    end = 1 if "crank end" in row["quantity"] else 0
    happening = getattr(got, named(row["quantity"])).per_cent[0, end, 0]
    assert happening == pytest.approx(float(row["value"]), abs=float(row["tolerance"])), row["source"]


# ---------------------------------------------------------------------- the demo gear, by an independent program
DEMO = json.loads((HERE / "demo_gear.json").read_text(encoding="utf-8"))
NAMES = {
    "con_rod": "connecting_rod",
    "cyl_line_y": "cylinder_line_y",
    "return_crank_length": "return_crank",
    "ecc_rod": "eccentric_rod",
}
NOT_OF_THE_GEAR = {"return_circle_radius", "lap", "exhaust_lap", "steam_port", "cylinder_bore"}


def millimetres(text):
    sign, parts = (-1 if text.startswith("-") else 1), text.lstrip("-").split("-")
    return sign * 25.4 * float(sum(Fraction(part) for part in parts))


@pytest.fixture(scope="module")
def demo():
    inches = {name: millimetres(text) for name, text in DEMO["inches"].items()}
    degrees = {name: math.radians(value) for name, value in DEMO["angles_deg"].items()}
    sizes = {NAMES.get(name, name): value for name, value in inches.items() if name not in NOT_OF_THE_GEAR}
    sizes |= {
        "return_crank_angle": return_crank_angle(
            inches["crank_radius"], inches["return_crank_length"], inches["return_circle_radius"]
        ),
        "cylinder_incline": degrees["cyl_incline"],
        "spindle_incline": degrees["spindle_incline"],
        "lift_angle_forward": degrees["lift_angle_fwd"],
        "lift_angle_mid": degrees["lift_angle_mid"],
        "lift_angle_backward": degrees["lift_angle_back"],
    }
    kind = gear("walschaerts")
    drawn = kind.of(sizes, dict(kind.example().choices))
    at_dead_centres = kind.move(drawn, [0.0, math.pi], 1.0).place("valve")
    valve = Valve.alike(
        "outside",
        lap=inches["lap"],
        exhaust_lap=inches["exhaust_lap"],
        port=inches["steam_port"],
        mid=float(at_dead_centres.mean()),
    )
    return Side(drawn, valve)


def test_the_worked_example_is_the_demo_gear(demo):
    example = gear("walschaerts").example()
    for name, value in demo.gear.sizes.items():
        assert example[name] == pytest.approx(value, rel=1e-12), name


def test_demo_gear_events(demo):
    """Computed beforehand by an independent program, printed to 0.0001 mm and 0.001 per cent from sampled curves."""
    found_events = events(demo, [float(name) for name in DEMO["events"]])
    assert found_events.curve_error < 1e-9
    for place, (name, printed) in enumerate(DEMO["events"].items()):
        assert found_events.travel[place, 0] == pytest.approx(printed["travel_mm"], abs=2e-4), name
        for end, end_name in enumerate(("front", "back")):
            row = printed[end_name]
            here = (place, end, 0)
            assert found_events.lead[here] == pytest.approx(row["lead_mm"], abs=6e-5)
            assert found_events.opening[here] == pytest.approx(row["max_opening_mm"], abs=6e-5)
            for event in ("admission", "cutoff", "release", "compression"):
                got = getattr(found_events, event).per_cent[here]
                assert got == pytest.approx(row[event], abs=1.2e-3), (name, end_name, event)


def test_events_lie_on_the_mechanism_itself(demo):
    """The gear solved again at the very crank angles of the events: the port edge stands on the valve edge."""
    kind, found_events = gear("walschaerts"), events(demo)
    piston_front = 0.0
    for place, reverser in enumerate(found_events.positions):
        sense = -1.0 if reverser < 0 else 1.0
        for end, dead_centre in enumerate((piston_front, math.pi)):
            angles = [
                sense * (sense * dead_centre + getattr(found_events, event).crank_rad[place, end, 0])
                for event in ("admission", "cutoff", "release", "compression")
            ]
            place_of_valve = kind.move(demo.gear, np.array(angles), float(reverser)).place("valve")[0, :, 0]
            moved = demo.valve.opening_senses()[end] * (place_of_valve - demo.valve.mid)
            assert moved[:2] == pytest.approx(demo.valve.laps()[end], abs=1e-9)
            assert moved[2:] == pytest.approx(-demo.valve.exhaust_laps()[end], abs=1e-9)
