"""The running gear over a turn: against plain trigonometry and the slider-crank, and rigid wherever it is rigid."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from asmade.book.address import Address
from asmade.measure.errors import OutOfRange, Unknown
from asmade.reckon.values import compute
from asmade.verbs import demo, new, store
from asmade.verbs.gap_turn import gap_over_turn
from asmade.verbs.gaps import gaps_of
from asmade.verbs.motion_frames import Track, body_of, frames_of, plain, valve_at


@pytest.fixture(scope="module")
def build(tmp_path_factory):
    return store.read_build(demo.demo(tmp_path_factory.mktemp("frames")).path)


@pytest.fixture(scope="module")
def values(build):
    return compute(build)


@pytest.fixture(scope="module")
def frames(values):
    return frames_of(values)


def body(frames, side, name):
    return next(each for each in frames.side(side).bodies if each.name == name)


def size(values, text):
    part, _, rest = text.partition("@")
    place, _, dim = rest.partition(".")
    return float(values.of(Address(part, place, dim=dim)))


@pytest.mark.parametrize("degrees", [0.0, 37.0, 90.0, 211.5, 359.0])
def test_crank_pins_go_round_their_axles(values, frames, degrees):
    """Forward running is clockwise with the front to the right: x = a + r cos, y = -r sin. Plain trigonometry."""
    angle = math.radians(degrees)
    radius = size(values, "wheel@2R.crank_radius")
    axle = frames.side("R").axles["2"]
    x, y, _ = body(frames, "R", "crank pin 2").track.at(0.0, degrees / 360)
    assert x == pytest.approx(axle + radius * math.cos(angle), abs=0.02)
    assert y == pytest.approx(-radius * math.sin(angle), abs=0.02)
    _, _, turn = body(frames, "R", "wheel 2").track.at(0.0, degrees / 360)
    assert (turn + degrees) % 360 == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("degrees", [0.0, 45.0, 123.0, 270.0])
def test_the_crosshead_is_that_of_a_slider_crank(values, frames, degrees):
    """x = r cos a + sqrt(l^2 - (r sin a)^2), any text on the slider-crank; the piston goes with it."""
    r, long = size(values, "wheel@2R.crank_radius"), size(values, "connecting_rod@R.centres")
    a = math.radians(degrees)
    x, y, turn = body(frames, "R", "crosshead").track.at(0.0, degrees / 360)
    axle = frames.side("R").axles["2"]
    assert x == pytest.approx(axle + r * math.cos(a) + math.sqrt(long**2 - (r * math.sin(a)) ** 2), abs=0.02)
    assert (y, turn) == (0.0, 0.0)
    assert body(frames, "R", "piston").track.at(0.0, degrees / 360)[0] == pytest.approx(x)


def test_links_are_as_long_as_the_book_says(values, frames):
    for side in "RL":
        for link, dim in (
            ("eccentric rod", "eccentric_rod"),
            ("radius rod", "radius_rod"),
            ("union link", "union_link"),
        ):
            found = body(frames, side, link)
            assert abs(found.bar[-1] - found.bar[0]) == pytest.approx(size(values, f"{dim}@{side}.centres"), abs=1e-3)


def test_the_reverser_moves_the_gear_and_nothing_else(frames):
    for each in frames.side("R").bodies:
        rows = max(rows.shape[0] for rows in (each.track.x_mm, each.track.y_mm, each.track.turn_deg))
        assert (rows > 1) == (each.name in {"radius rod", "lifting arm", "lifting link", "combination lever",
                                            "union link", "valve spindle", "slide valve"}), each.name  # fmt: skip


def test_between_two_rows_is_half_way_and_a_turn_closes(frames):
    for side in frames.sides:
        for each in side.bodies:
            first, last = each.track.at(0.0, 0.0), each.track.at(0.0, 1.0)
            assert first[:2] == pytest.approx(last[:2], abs=0.011)
            assert math.cos(math.radians(first[2] - last[2])) == pytest.approx(1.0)
    track = Track(np.array([[0.0, 2.0]]), np.array([[1.0], [3.0]]), np.array([[0.0]]))
    assert track.at(0.5, 0.25) == (0.5, 2.0, 0.0)
    assert track.at(1.0, 1.0) == (2.0, 3.0, 0.0)


def test_the_valve_opens_as_the_gear_says(frames):
    """At the front dead centre the front port is open by the lead: the valve stands so much past its lap."""
    side = frames.side("R")
    told = valve_at(side, frames.row_of(1.0), 0.0)
    gear = side.gear
    assert told["piston"] == pytest.approx(0.0, abs=1e-6)
    assert told["front"] == pytest.approx(float(gear.opening_mm["front"][0, 0]))
    assert told["back"] < 0 < told["front"]


def test_positions_and_sides_are_asked_for_by_name(frames):
    assert frames.row_of(frames.positions[0]) == 0.0
    assert frames.row_of(frames.positions[-1]) == len(frames.positions) - 1
    at_ends = replace(frames, positions=(1.0, -1.0))
    assert [at_ends.row_of(each) for each in (1.0, 0.2, -0.2, -1.0)] == [0.0, 0.0, 1.0, 1.0]
    with pytest.raises(OutOfRange):
        frames.row_of(1.2)
    with pytest.raises(Unknown):
        frames.side("X")


def test_findings_are_seen_at_a_body(values, frames):
    side = frames.side("R")
    assert body_of(side, [Address("wheel", "2R", dim="tread")]) == "wheel 2"
    assert body_of(side, [Address("axlebox", "3R", dim="bore")]) == "wheel 3"
    assert body_of(side, [Address("rod_bush", "12R", dim="bore")]) == "coupling rod 12"
    assert body_of(side, [Address("wheel", "2L", dim="tread")]) == ""
    assert body_of(side, []) == ""


def test_plain_data_has_one_track_for_each_body_and_is_small(frames):
    told = plain(frames, "R")
    assert len(told["tracks"]) == len(frames.side("R").bodies)
    assert len(json.dumps(told, separators=(",", ":"))) < 120_000
    assert set(told["valve"]) == {"piston", "valve", "front", "back"}


def test_a_new_book_has_nothing_to_draw_and_says_why(tmp_path):
    path = tmp_path / "new.asmade"
    new.new(path, arrangement="0-4-0", title="just begun")
    frames = frames_of(compute(store.read_build(path)))
    assert frames.no_gear
    assert all(side.left_out for side in frames.sides)
    assert all(math.isfinite(body.track.at(0.0, 0.5)[0]) for side in frames.sides for body in side.bodies)


def test_the_gap_over_the_turn_has_the_least_that_was_found(build):
    """Of `verbs.gaps`, which searches the same scene by other means: bounds first, then exact distances."""
    for side in gaps_of(build).sides:
        assert side.pairs
        for pair in side.pairs:
            turn = gap_over_turn(side, pair)
            assert turn.gap_mm.min() == pytest.approx(pair.finding.least.gap_mm, abs=2e-3)
            assert turn.gap_mm[0] == turn.gap_mm[-1]
            assert (turn.angles_deg[0], turn.angles_deg[-1]) == (0.0, 360.0)
