"""A new book with each kit of a valve gear, filled in with the gear's own example: every answer comes of it."""

from __future__ import annotations

import re

import numpy as np
import pytest

from asmade.book.arrangements import compose, valve_gears
from asmade.book.grammar import addresses
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.bindings.valves import sides_of
from asmade.motion.gears import gear, gears
from asmade.motion.valves.engine import Side, Valve
from asmade.motion.valves.events import events
from asmade.motion.valves.setting import set_valve
from asmade.reckon.system import compile_system
from asmade.show.valve_pictures import DRAWN, strokes_of
from asmade.verbs.valve_proposal import propose_for
from asmade.verbs.valves import gears_of, matters_of, set_valves_of, valves_of

LEAD = 0.12


def kit_text(name):
    """The kit's book with its gear's example drawn in, mm; ports 3 mm, bridges 3, exhaust port 6, exhaust lap nil."""
    text = compose("0-4-0", gear=name, unit="mm")
    return text, sides_of(compile_system(_folded(text)).scope)[0]


def _folded(text):
    from dataclasses import replace

    from asmade.book.fold import fold
    from asmade.book.text import read_text

    return fold([replace(draft, number=n) for n, draft in enumerate(read_text(text), start=1)])


def example_of(name, bound):
    kind = gear(bound.gear)
    sizes = kind.example().sizes
    choices = dict(bound.choices)
    wanted = {size.name for size in kind.sizes if size.applies(choices)}
    return kind.of({n: v for n, v in sizes.items() if n in wanted}, choices)


def lap_of(example):
    """Half the movement between the dead centres in full forward gear, less the lead."""
    valve = gear(example.gear).move(example, [0.0, np.pi], 1.0).place("valve")[0, :, 0]
    return 0.5 * abs(float(valve[0] - valve[1])) - LEAD


@pytest.fixture(scope="module", params=valve_gears())
def filled(request):
    text, bound = kit_text(request.param)
    example = example_of(request.param, bound)
    lap = round(lap_of(example), 4)
    drawn = {"slide_valve.over_edges": round(2 * (lap + 9), 4), "slide_valve.cavity": 12.0, "port_face.steam_port": 3.0,
             "port_face.bridge": 3.0, "port_face.exhaust_port": 6.0, "valve_spindle.thread": "M3 x 0.5",
             "wheelset.quarter": "90 deg"}  # fmt: skip
    for name, node in bound.sums:
        of = set(addresses(node))
        if name in example.sizes and len(of) == 1:
            address = next(iter(of))
            angle = next(s.kind for s in gear(bound.gear).sizes if s.name == name) == "angle"
            value = float(example[name])
            drawn[f"{address.part}.{address.dim}"] = f"{np.degrees(value):.9f} deg" if angle else f"{value:.6f}"
    if bound.gear == "walschaerts":
        drawn["return_crank.circle"] = f"{25 / 64 * 25.4:.6f}"
    for name, size in drawn.items():
        part, dim = name.split(".")
        start = text.index(f"[part.{part}.dim]")
        end = text.index("\n[", start + 1)
        text = text[:start] + re.sub(
            rf'(\n{dim} *= .*?drawn = )"[^"]*"', rf'\g<1>"{size}"', text[start:end], count=1
        ) + text[end:]  # fmt: skip
    return _folded(text), example, lap


def test_there_is_a_kit_for_every_gear():
    of = {sides_of(compile_system(_folded(compose("0-4-0", gear=name))).scope)[0].gear for name in valve_gears()}
    assert of == set(gears())


def test_events_are_those_of_the_gear_itself(filled):
    build, example, lap = filled
    alone = set_valve(Side(example, Valve.alike("outside", lap=lap, exhaust_lap=0.0, port=3.0)))
    found = events(alone)
    result = valves_of(build)
    for row in (row for row in result.events.positions if row.side == "R"):
        place = int(np.flatnonzero(found.positions == row.reverser)[0])
        assert row.travel_mm == pytest.approx(float(found.travel[place, 0]), abs=1e-5)
        for end, each in enumerate(row.ends):
            assert each.lead_mm == pytest.approx(float(found.lead[place, end, 0]), abs=1e-5)
            assert each.cutoff.per_cent == pytest.approx(float(found.cutoff.per_cent[place, end, 0]), abs=1e-3)
    assert result.events.beats[0].out_by_deg < 6
    if example.gear == "eccentric":
        assert {row.reverser for row in result.events.positions} == set(gear("eccentric").positions(example.choices))


def test_what_to_set_evens_the_ends_out(filled):
    for side in set_valves_of(filled[0]).sides:
        assert side.best.after.score <= side.best.before.score
        assert side.steps[0].what == "find dead centres"
        assert side.thread == "M3"
        assert any(step.turns is not None for step in side.steps) or not side.best.changes["mid"]


def test_what_matters_names_parts_of_the_kit(filled):
    rows = matters_of(filled[0], values="drawn").sides[0].rows
    assert rows[0].effect.cutoff_per_cent > 0.1
    assert all("." in row.given_by for row in rows)


@pytest.mark.parametrize("picture", DRAWN)
@pytest.mark.parametrize("side", ["R", "L"])
def test_every_picture_is_drawn(filled, picture, side):
    assert len(strokes_of(gears_of(filled[0]), picture, side=side)) > 5


def test_a_gear_of_one_direction_refuses_the_other(filled):
    build, example, _ = filled
    if example.choices.get("eccentric") == "fixed":
        with pytest.raises(OutOfRange, match=r"\+1"):
            valves_of(build, positions=(-1.0,))
    else:
        assert valves_of(build, positions=(-1.0,)).events.positions


def test_a_gear_can_be_proposed_from_what_the_kit_has(filled):
    """The room comes from the book; steps of 1/64 in; nothing is written."""
    valve = gear(filled[1].gear).move(filled[1], np.linspace(0, 2 * np.pi, 180), 1.0).place("valve")
    travel = round(float(np.ptp(valve)), 1)
    said = propose_for(filled[0], {"cutoff": "75 %", "lead": "0.12 mm", "travel": f"{travel} mm"}, step="1/64 in")
    assert said.refined is not None
    full = [row for row in said.events.positions if abs(row.reverser) == 1.0]
    cutoffs = [end.cutoff.per_cent for row in full for end in row.ends]
    assert np.mean(cutoffs) == pytest.approx(75.0, abs=3.0)
    assert np.abs(np.array([end.lead_mm for row in full for end in row.ends]) - 0.12).max() < 0.12
    angles = {size.name for size in gear(filled[1].gear).sizes if size.kind == "angle"}
    assert {row.name for row in said.rows if row.angle} <= angles


def test_a_wish_that_is_none_is_named(filled):
    with pytest.raises(Unknown, match="may be wished: cutoff"):
        propose_for(filled[0], {"elbow": "3 mm"})
    with pytest.raises(Refused, match="it needs cutoff"):
        propose_for(filled[0], {})
    with pytest.raises(OutOfRange, match="0 to 100 per cent"):
        propose_for(filled[0], {"cutoff": "half"})
