"""Where every joint goes: held to the gear itself, to lengths between pins, and to the events."""

from __future__ import annotations

import json

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange
from asmade.motion.gears import gear
from asmade.reckon.system import compile_system
from asmade.reckon.values import compute
from asmade.verbs.valve_motion import motion_at, motion_of, plain
from asmade.verbs.valves import gears_of, valves_of


@pytest.fixture(scope="module")
def build(fold_text, gear_text):
    return fold_text(gear_text)


@pytest.fixture(scope="module")
def found(build):
    return motion_of(compute(build, compile_system(build)))


def apart(side, one, two):
    return np.abs(side.joints[one] - side.joints[two])


def test_links_keep_their_lengths_all_round(found):
    """A rigid link is as long at every crank angle and reverser position as the book says."""
    for side, given in zip(found.sides, (found.gears.engine.right, found.gears.engine.left), strict=True):
        for one, two, name in (
            ("crank pin", "gudgeon", "connecting_rod"), ("return pin", "foot pin", "eccentric_rod"),
            ("die pin", "radius rod pin", "radius_rod"), ("union lever pin", "union crosshead pin", "union_link"),
            ("die pin", "slot centre", "slot_radius"), ("slot top", "slot centre", "slot_radius"),
        ):  # fmt: skip
            assert apart(side, one, two) == pytest.approx(float(given.gear[name]), abs=1e-9), name


def test_only_what_moves_is_repeated(found):
    """Rows where the reverser moves a joint, columns where the crank does."""
    joints = found.sides[0].joints
    assert {name: j.shape for name, j in joints.items() if name in ("axle", "crank pin", "lifting arm pin", "die pin")} == {
        "axle": (1, 1), "crank pin": (1, 72), "lifting arm pin": (9, 1), "die pin": (9, 72),
    }  # fmt: skip
    whole = gear("walschaerts").move(found.gears.engine.right.gear, np.radians(found.crank_deg), found.positions)
    for name, joint in joints.items():
        assert np.broadcast_to(joint, (9, 72)) == pytest.approx(whole.place(name)[..., 0], abs=1e-9)


def test_openings_and_piston_are_those_of_the_events(build, found):
    """The largest opening of a fine turn is that of the events; the piston ends where its stroke does."""
    fine = motion_at(found.gears, cranks=1440)
    rows = {(row.reverser, row.side): row for row in valves_of(build).events.positions}
    for side in fine.sides:
        for at, reverser in enumerate(fine.positions.tolist()):
            for end in rows[reverser, side.side].ends:
                assert side.opening_mm[end.end][at].max() == pytest.approx(end.opening_mm, abs=1e-4)
        assert side.piston_per_cent.min() == pytest.approx(0.0, abs=1e-3)
        assert side.piston_per_cent.max() == pytest.approx(100.0, abs=1e-3)


def test_left_crank_stands_a_quarter_behind_a_leading_right_one(found):
    assert [side.crank_ahead_deg for side in found.sides] == pytest.approx([0.0, -90.0])


def test_plain_data_is_lists_with_null_where_the_gear_does_not_go_together(fold_text, gear_text):
    """JSON knows no NaN; members and joints agree by name."""
    gears = gears_of(fold_text(gear_text), "drawn")
    told = plain(motion_at(gears, cranks=12, positions=(1.0, 0.0)))
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    for side in told["sides"].values():
        assert {j for m in told["members"] for j in m["joints"]} <= set(side["joints"])
        assert len(side["valve_mm"]) == 2
        assert len(side["valve_mm"][0]) == 12
    link = next(m for m in told["members"] if m["name"] == "expansion link")
    assert link == {"name": "expansion link", "joints": ["trunnion", "foot pin"], "slot": ["slot top", "slot bottom"],
                    "fixed": False}  # fmt: skip


def test_where_links_cannot_meet_there_is_null(fold_text, gear_text):
    """A lifting link that is short by far in forward gear only leaves mid gear whole."""
    gears = gears_of(fold_text(gear_text), "drawn")
    side = gears.engine.right
    torn = side.with_sizes({"lift_angle_forward": 2.6})
    from dataclasses import replace

    broken = replace(gears, engine=replace(gears.engine, right=torn))
    told = plain(motion_at(broken, cranks=24, positions=(1.0, 0.0)))["sides"]["R"]
    assert None in told["joints"]["die pin"]["x"][0]
    assert None not in told["joints"]["die pin"]["x"][1]


@pytest.mark.parametrize("count", [0, 2, 3601])
def test_too_few_or_too_many_crank_angles_are_refused(found, count):
    with pytest.raises(OutOfRange, match=r"3 to 3600"):
        motion_at(found.gears, cranks=count)


def test_positions_beyond_full_gear_are_refused(found):
    with pytest.raises(OutOfRange, match=r"reverser"):
        motion_at(found.gears, positions=(1.2,))
