"""Slack of coupled rods: derived facts of the trade, an independent linear programme, an independent exact search."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog, minimize
from scipy.sparse import block_diag

from asmade.measure.errors import Refused
from asmade.motion.wheels.chassis import Chassis, index_of, names
from asmade.motion.wheels.closed_form import blocked_slack, least_blocked_slack
from asmade.motion.wheels.exact import solve_exact
from asmade.motion.wheels.eyes import eyes_slack
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.programme import CORNERS, batch_of, solve_each, solve_linear
from asmade.motion.wheels.rings import rings_slack
from asmade.motion.wheels.rise import lengthening
from asmade.motion.wheels.slack import joint_slack, slack_left
from asmade.motion.wheels.trials import Fitted, with_rods

R, SLACK = 24.0, 0.06
USUAL = {"axle_x": 0.02, "centres": 0.02, "crank_radius": 0.01, "quarter": 0.0008, "bore": 0.004, "axle_y": 0.1}


def drawn(axle_x=(110.0, 0.0), meetings=None, *, play=0.08, **more):
    return Chassis.as_drawn(
        axle_x=axle_x,
        crank_radius=R,
        bush_clearance=SLACK,
        pin=8.0,
        box_play=play,
        meetings=meetings,
        knuckle_reach=15.0,
        knuckle_clearance=0.03,
        **more,
    )


def changed(chassis, **to):
    """``field_i_j=delta``: one dimension moved."""
    vector = chassis.vector().copy()
    for name, delta in to.items():
        field, where = name.split("__")
        vector[index_of(chassis.layout, field, *(int(digit) for digit in where.split("_")))] += delta
    return chassis.with_vector(vector)


def scattered(chassis, count, seed, times=1.0):
    chance = np.random.default_rng(seed)
    size = np.zeros(len(names(chassis.layout)))
    for field, deviation in USUAL.items():
        first = index_of(chassis.layout, field, *([0] * getattr(chassis, field)[..., 0].ndim))
        size[first : first + getattr(chassis, field)[..., 0].size] = times * deviation
    return chassis.with_vector(chassis.vector() + size[:, None] * chance.standard_normal((size.size, count)))


def tight_at(chassis, section=0):
    turn = turn_angles(chassis)
    slack = blocked_slack(chassis, turn)[section, :, 0]
    lowest = (slack <= np.roll(slack, 1)) & (slack <= np.roll(slack, -1)) & (slack < slack.min() + 0.02 * SLACK)
    return np.degrees(turn[lowest]), slack.min()


class TestDerivedFacts:
    """What fitters of coupled wheels know, each worked out from the geometry."""

    def test_each_way_slack_is_the_clearance_of_equal_bushes(self):
        assert blocked_slack(drawn(), turn_angles(drawn())) == pytest.approx(SLACK, abs=1e-12)

    @pytest.mark.parametrize("error", [0.001, 0.01, 0.05])
    def test_all_axles_equally_off_ninety_degrees_need_no_slack(self, error):
        chassis = drawn((120.0, 0.0, -110.0), quarter=np.pi / 2 + error)
        for boxes in ("blocked", "free"):
            assert joint_slack(chassis, turn_angles(chassis), boxes) == pytest.approx(SLACK, abs=1e-12)
        assert solve_exact(chassis.with_boxes("blocked"), np.radians([10.0, 45, 200])).slack == pytest.approx(
            SLACK, abs=1e-9
        )

    @pytest.mark.parametrize("leads", ["L", "R"])
    def test_quarter_difference_needs_035_r_d_at_the_four_45_degree_places(self, leads):
        d = 0.002
        where, least = tight_at(changed(drawn(leads=leads), quarter__0=d))
        assert SLACK - least == pytest.approx(np.sqrt(2) / 4 * R * d, rel=2e-3)
        assert np.round(where / 45).tolist() == [1, 3, 5, 7]
        assert where == pytest.approx([45, 135, 225, 315], abs=1.01)

    @pytest.mark.parametrize("dimension", ["centres__0_1", "crank_radius__0_1", "crank_radius__1_1", "axle_x__0_1"])
    @pytest.mark.parametrize("error", [0.05, -0.05])
    def test_centres_and_radius_errors_need_their_full_amount_at_that_sides_dead_centres(self, dimension, error):
        where, least = tight_at(changed(drawn(), **{dimension: error}))
        assert SLACK - least == pytest.approx(abs(error), rel=1e-3)
        assert where == pytest.approx([0, 180], abs=0.01)

    def test_left_side_errors_bind_at_the_left_dead_centres(self):
        where, _ = tight_at(changed(drawn(), centres__0_0=0.05))
        assert where == pytest.approx([90, 270], abs=0.01)

    @pytest.mark.parametrize(("dimension", "senses"), [("centres__0_1", (1, 1)), ("crank_radius__0_1", (1, -1))])
    def test_rod_length_is_out_in_one_sense_at_both_dead_centres_a_radius_in_opposite_senses(self, dimension, senses):
        from asmade.motion.wheels.trials import Fitted, section_says

        chassis = changed(drawn(), **{dimension: 0.05})
        says = section_says(chassis, Fitted((0,), "both", "blocked"), np.array([0.0, np.pi]))[0, 1, :, 0]
        assert says[0] * says[1] == senses[0] * senses[1]

    def test_an_axle_that_rises_lengthens_its_centres_by_h2_over_2l(self):
        rise = 3.0
        chassis = changed(drawn(), axle_y__0_1=rise)
        _, least = tight_at(chassis)
        assert lengthening(110.0, rise) == pytest.approx(rise**2 / 220, rel=1e-3)
        assert SLACK - least == pytest.approx(lengthening(110.0, rise), rel=1e-3)

    def test_box_play_turns_a_bind_into_slack_but_adds_none(self):
        chassis = changed(drawn(play=0.1), centres__0_1=0.1)
        turn = turn_angles(chassis)
        assert joint_slack(chassis, turn, "blocked").min() == pytest.approx(SLACK - 0.1)
        assert joint_slack(chassis, turn, "free").min() == pytest.approx(SLACK)
        tight = changed(drawn(play=0.04), centres__0_1=0.1)
        # both boxes give 0.02 each way: 0.06 + 0.04 - 0.1
        assert joint_slack(tight, turn, "free").min() == pytest.approx(SLACK + 0.04 - 0.1)

    def test_a_side_that_is_off_leaves_only_the_dead_centres_tight(self):
        from asmade.motion.wheels.trials import Fitted, trial_slack

        chassis = changed(drawn(), centres__0_1=0.1)
        slack = trial_slack(chassis, Fitted((0,), "R", "blocked"), np.radians([0.0, 30, 90, 180]))[:, 0]
        assert slack == pytest.approx([SLACK - 0.1, SLACK, SLACK, SLACK - 0.1], abs=1e-9)

    def test_a_jointed_rod_and_its_knuckle_distance_make_up_the_axle_centres(self):
        chassis = drawn((120.0, 0.0, -110.0), ("knuckle ahead",))
        assert chassis.centres[0, :, 0] == pytest.approx([105.0, 105.0])
        turn = turn_angles(chassis)
        # joint and eye of the front rod: half of 0.03 + 0.06; the rear rod has its two eyes
        assert slack_left(chassis, turn, "blocked")[0] == pytest.approx(0.045)
        assert slack_left(chassis, turn, "blocked")[1] == pytest.approx(0.06)

    def test_an_error_of_the_rear_rod_is_taken_by_the_joint_only_as_far_as_its_own_bushes_let_it(self):
        chassis = drawn((120.0, 0.0, -110.0), ("knuckle ahead",))
        long_reach = changed(chassis, knuckle_reach__0_1=0.05)
        # 0.045 of its own, 0.03 that the carrying rod can shift on pin 2, none on pin 3 either way beyond 0.03
        assert joint_slack(long_reach, turn_angles(chassis), "blocked").min() == pytest.approx(0.045 + 0.03 - 0.05)

    def test_larger_clearance_never_lessens_slack(self):
        chassis = scattered(drawn((120.0, 0.0, -110.0)), 20, 1)
        turn = turn_angles(chassis, 40)
        eased = chassis.replace_unchecked(bore=chassis.bore + 0.01)
        assert (blocked_slack(eased, turn) >= blocked_slack(chassis, turn) - 1e-12).all()


def reference_sections(chassis, angle, sample):
    """What docs/wheels.md says, written out plainly: angles, pins, misses, leverage of each side."""
    vector = chassis.vector()[:, sample : sample + 1]
    one = chassis.with_vector(vector)
    n, lead = one.layout.axles, one.turning
    theta = np.empty((n, 2))
    for i in range(n):
        turned = lead * (one.quarter[i, 0] - one.quarter[one.driven, 0]) / 2
        theta[i] = angle + turned - lead * one.quarter[i, 0], angle + turned
    r, e = one.crank_radius[..., 0], one.pin_ahead[..., 0]
    px = one.axle_x[..., 0] + r * np.cos(theta) - e * np.sin(theta)
    py = one.axle_y[..., 0] - r * np.sin(theta) - e * np.cos(theta)
    k = -(r * np.sin(theta) + e * np.cos(theta)).mean(axis=0) / r.mean()
    return one, px, py, k


def reference_rows(chassis, angle, sample, *, eased):
    """Rows of the programme written from the words: separate and jointed rods on two or three axles, boxes as given."""
    one, px, py, k = reference_sections(chassis, angle, sample)
    layout, n = one.layout, one.layout.axles
    rods = layout.sections
    # unknowns: arc of each axle, box shift per axle and side, position of each rod per side, slack
    width = n + 2 * n + 2 * rods + 1
    a, b = [], []

    def pin(line, axle, side, sign):
        line[axle] += sign * k[side]
        line[n + 2 * axle + side] += sign

    def within(line, miss, room, share):
        for sense in (1, -1):
            row = sense * line
            row[-1] = share
            a.append(row)
            b.append(room - sense * miss)

    clearance = one.bore[..., 0] - one.pin[[axle for _, axle in layout.eyes]][..., 0]
    for side in (0, 1):
        joint = {}
        for section in (1, 0) if layout.knuckles and layout.knuckles[0].ahead else (0, 1):
            if section >= rods:
                continue
            place, node, room = [], [], []
            for axle in (section, section + 1):
                if (section, axle) in layout.eyes:
                    place.append((px[axle, side], py[axle, side]))
                    node.append(("pin", axle))
                    room.append(clearance[layout.eyes.index((section, axle)), side])
                else:
                    spot, carrier = joint["at"]
                    place.append(spot)
                    node.append(("rod", carrier))
                    room.append(one.knuckle_clearance[0, side, 0])
            dx, dy = place[0][0] - place[1][0], place[0][1] - place[1][1]
            length = one.centres[section, side, 0]
            miss = np.hypot(dx, dy) - length
            line = np.zeros(width)
            for sign, (kind, number) in zip((1, -1), node, strict=True):
                if kind == "pin":
                    pin(line, number, side, sign)
                else:
                    line[n + 2 * n + 2 * number + side] += sign
            within(line, miss, sum(room) / 2, 1.0)
            for knuckle_number, knuckle in enumerate(layout.knuckles):
                if knuckle.carrier == section:
                    reach = one.knuckle_reach[knuckle_number, side, 0]
                    far = reach if knuckle.ahead else -length - reach
                    # along the rod from its foremost place
                    size = np.hypot(dx, dy)
                    joint["at"] = ((place[0][0] + far * dx / size, place[0][1] + far * dy / size), section)
                    for at, (kind, number) in enumerate(node):
                        assert kind == "pin"
                        held = np.zeros(width)
                        pin(held, number, side, 1)
                        held[n + 2 * n + 2 * section + side] -= 1
                        within(held, -miss if at else 0.0, room[at] / 2, 0.5 if eased else 0.0)
    bounds = [(0, 0) if axle == one.driven else (None, None) for axle in range(n)]
    bounds += [(-one.box_aft[axle, side, 0], one.box_fore[axle, side, 0]) for axle in range(n) for side in (0, 1)]
    bounds += [(None, None)] * (2 * rods + 1)
    return np.array(a), np.array(b), bounds


def by_linprog(chassis, angles):
    """Slack of every sample at its own angle, all in one sparse programme that falls into blocks.

    The carrying rods' bushes count in full where it turns, and are eased with the rods where it does not.
    """
    eased = one_programme([reference_rows(chassis, angles[i], i, eased=True) for i in range(angles.size)])
    if not chassis.layout.knuckles:
        return eased
    full = one_programme([reference_rows(chassis, angles[i], i, eased=eased[i] < 0) for i in range(angles.size)])
    return np.where(eased > 0, full, eased)


def one_programme(blocks):
    bounds = [bound for _, _, some in blocks for bound in some]
    last = np.cumsum([len(some) for _, _, some in blocks]) - 1
    cost = np.zeros(len(bounds))
    cost[last] = -1
    rows = block_diag([a for a, _, _ in blocks], format="csr")
    answer = linprog(cost, rows, np.concatenate([b for _, b, _ in blocks]), bounds=bounds, method="highs-ds")
    assert answer.success
    return answer.x[last]


class TestAgainstLinearProgramme:
    def test_closed_form_on_two_thousand_chassis(self):
        chassis = scattered(drawn(), 2000, 2)
        angles = np.random.default_rng(3).uniform(0, 2 * np.pi, 2000)
        found = by_linprog(chassis.with_boxes("blocked"), angles)
        ours = np.array(
            [blocked_slack(chassis.with_vector(chassis.vector()[:, [i]]), angles[[i]])[0, 0, 0] for i in range(2000)]
        )
        assert ours == pytest.approx(found, abs=1e-9)
        assert (found < 0).any()
        assert (found > 0.03).any()

    @pytest.mark.parametrize("meeting", ["separate", "knuckle ahead", "knuckle behind"])
    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_rings_on_three_axles(self, meeting, boxes):
        chassis = scattered(drawn((120.0, 0.0, -110.0), (meeting,), play=0.03), 300, 4, times=1.5).with_boxes(boxes)
        angles = np.random.default_rng(5).uniform(0, 2 * np.pi, 300)
        found = by_linprog(chassis, angles)
        assert rings_slack(chassis, angles[None, :])[0] == pytest.approx(found, abs=1e-9)
        assert (found < 0).any()

    @pytest.mark.parametrize("meeting", ["separate", "knuckle ahead", "knuckle behind"])
    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_rings_on_the_very_dead_centres(self, meeting, boxes):
        """Where a side has no leverage at all it must hold as it stands."""
        chassis = drawn((120.0, 0.0, -110.0), (meeting,), play=0.03)
        chance = np.random.default_rng(18)
        errors = np.zeros((chassis.vector().shape[0], 40))
        first = index_of(chassis.layout, "centres", 0, 0)
        errors[first : first + 4] = 0.05 * chance.standard_normal((4, 40))
        many = chassis.with_vector(chassis.vector() + errors).with_boxes(boxes)
        angles = np.resize(np.radians([0.0, 90.0, 180.0, 270.0]), 40)
        found = by_linprog(many, angles)
        ours = rings_slack(many, angles[None, :])
        assert ours[0] == pytest.approx(found, abs=1e-9)
        own = [rings_slack(many, angles[None, :], section=section, floor=ours) for section in (0, 1)]
        assert np.minimum(*own)[0] == pytest.approx(found, abs=1e-9)

    @pytest.mark.parametrize(
        "meetings",
        [
            ("separate", "separate"),
            ("knuckle ahead", "separate"),
            ("knuckle behind", "knuckle ahead"),
            ("knuckle ahead", "knuckle behind"),
            ("knuckle ahead", "knuckle ahead"),
            ("separate", "knuckle behind", "separate", "knuckle ahead"),
        ],
    )
    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_rings_interior_point_and_simplex_agree_on_long_engines(self, meetings, boxes):
        axles = 120.0 - 115.0 * np.arange(len(meetings) + 2)
        chassis = scattered(drawn(axles, meetings, play=0.03), 12, 6).with_boxes(boxes)
        angles = np.random.default_rng(7).uniform(0, 2 * np.pi, 5)
        solved = solve_linear(chassis, angles)
        ours = rings_slack(chassis, angles)
        assert ours.reshape(-1) == pytest.approx(solved.slack, abs=1e-9)
        for section in range(chassis.layout.sections):
            own = rings_slack(chassis, angles, section=section, floor=ours)
            other = solve_linear(chassis, angles, section=section, floor=solved.slack - 1e-9).slack
            assert own.reshape(-1) == pytest.approx(other, abs=1e-7)

    @pytest.mark.parametrize("meetings", [("rigid",), ("rigid", "knuckle ahead"), ("knuckle ahead", "rigid")])
    def test_rods_over_three_pins_by_simplex(self, meetings):
        axles = 120.0 - 115.0 * np.arange(len(meetings) + 2)
        chassis = scattered(drawn(axles, meetings, play=0.03), 15, 8)
        for boxes in ("blocked", "free"):
            solved = solve_linear(chassis.with_boxes(boxes), np.array([0.3]))
            for b in range(15):
                found = simplex(solved, b, eased=True)
                if found > 0:
                    found = simplex(solved, b, eased=False)
                assert solved.slack[b] == pytest.approx(found, abs=1e-9)

    @pytest.mark.parametrize(
        "meetings",
        [("rigid",), ("rigid", "rigid"), ("separate", "rigid"), ("rigid", "knuckle ahead"), ("knuckle ahead", "rigid")],
    )
    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_many_rods_over_three_pins_by_simplex(self, meetings, boxes):
        """The quick way has no unknown for most boxes and writes no row of an eye out; scipy's simplex has them all."""
        axles = 120.0 - 115.0 * np.arange(len(meetings) + 2)
        chassis = scattered(drawn(axles, meetings, play=0.03), 8, 19).with_boxes(boxes)
        wide, each = batch_of(chassis, np.array([0.0, 0.3, 2.5]))
        solved = solve_each(wide, each)
        found = [simplex(solved, b, eased=True) for b in range(each.size)]
        if chassis.layout.knuckles:
            found = [simplex(solved, b, eased=False) if t > 0 else t for b, t in enumerate(found)]
        ours = eyes_slack(wide, each)
        assert ours == pytest.approx(found, abs=1e-10)
        for section in range(chassis.layout.sections):
            own = eyes_slack(wide, each, section=section, floor=ours - 1e-6)
            other = solve_each(wide, each, section=section, floor=ours - 1e-6).slack
            assert own == pytest.approx(other, abs=1e-8)

    def test_a_rod_off_one_side_hangs_free(self):
        chassis = scattered(drawn((120.0, 0.0, -110.0), ("rigid",)), 10, 20)
        off = with_rods(chassis, Fitted((0, 1), "R", "blocked")).with_boxes("blocked")
        wide, each = batch_of(off, np.array([0.4, 1.6]))
        assert eyes_slack(wide, each) == pytest.approx(solve_each(wide, each).slack, abs=1e-8)


def simplex(solved, b, *, eased):
    per_t = [{"rod": 1.0, "eye": 0.5, "held": 0.5 * eased}.get(row.kind, 0.0) for row in solved.lines.rows]
    matrix = np.c_[solved.lines.matrix[b], per_t]
    close = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
    answer = linprog(
        [*np.zeros(matrix.shape[1] - 1), -1.0], matrix, (solved.lines.room - solved.lines.miss)[b],
        bounds=(None, None), method="highs-ds", options=close,
    )  # fmt: skip
    assert answer.success
    return -answer.fun


class TestRigid:
    def test_a_rod_over_three_pins_binds_upright_where_a_middle_radius_is_out(self):
        """At 90 degrees the middle pin stands out of line by the error; the bushes take half the sum of all three."""
        chassis = changed(drawn((120.0, 0.0, -120.0), ("rigid",)), crank_radius__1_1=0.1)
        slack = solve_linear(chassis.with_boxes("blocked"), np.radians([90.0]))
        # room per eye r: middle r + (r + r) / 2 = 2 r against 0.1, so what is left of each eye is 0.03 - 0.05
        inside = np.cos(np.pi / CORNERS)
        assert slack.slack[0] == pytest.approx(2 * (0.03 * inside - 0.05), abs=1e-4)
        separate = changed(drawn((120.0, 0.0, -120.0)), crank_radius__1_1=0.1)
        assert blocked_slack(separate, np.radians([90.0])).min() == pytest.approx(SLACK, abs=1e-3)

    def test_exact_circles_lie_between_the_polygons(self):
        chassis = scattered(drawn((120.0, 0.0, -110.0), ("rigid",)), 6, 11, times=0.5).with_boxes("blocked")
        angles = np.radians([20.0, 75.0])
        inside = solve_linear(chassis, angles).slack
        exact = solve_exact(chassis, angles).slack
        assert (exact > inside - 1e-3).all()  # linearising costs up to that
        assert (exact < inside + 2 * 0.03 * (1 - np.cos(np.pi / CORNERS)) + 1e-3).all()


class TestExact:
    def test_two_axles_against_a_search_of_the_relative_angle(self):
        """Independent: distances of turned pins, best relative angle by thirds, two thousand chassis, large errors."""
        chassis = scattered(drawn(), 2000, 12, times=2.0).with_boxes("blocked")
        angle = 0.7
        ours = solve_exact(chassis, np.array([angle])).slack
        assert ours == pytest.approx(best_by_search(chassis, angle), abs=1e-9)

    def test_jointed_rods_against_a_solver_that_moves_every_rod_in_the_plane(self):
        """Independent: scipy's SLSQP over wheel angles, the carrying rod's place and tilt, true circles and distances."""
        chassis = scattered(drawn((120.0, 0.0, -110.0), ("knuckle ahead",)), 4, 17, times=1.5).with_boxes("blocked")
        for angle in (0.2, 2.6):
            ours = solve_exact(chassis, np.array([angle])).slack
            for sample in range(4):
                found = jointed_in_the_plane(chassis, angle, sample)
                if found > 0:  # below nothing the carrying rod's bushes are thought eased, which is no geometry
                    assert found - 2e-5 < ours[sample] < found + 1e-7

    @pytest.mark.parametrize(("times", "most"), [(1.0, 0.002), (4.0, 0.02)])
    def test_what_linearising_costs(self, times, most):
        """Reported in docs/wheels.md; at usual errors it is far below what a builder can measure."""
        chassis = scattered(drawn((120.0, 0.0, -110.0)), 40, 13, times=times).with_boxes("blocked")
        angles = np.linspace(0, 2 * np.pi, 24, endpoint=False) + 0.01
        error = solve_exact(chassis, angles).slack - solve_linear(chassis, angles).slack
        assert np.abs(error).max() < most

    def test_jointed_rods_come_to_rest_far_from_right(self):
        chassis = scattered(drawn((120.0, 0.0, -110.0), ("knuckle ahead",)), 10, 14, times=8.0)
        solved = solve_exact(chassis, np.linspace(0.1, 6, 7))
        assert np.isfinite(solved.slack).all()


def turned_pins(one, axle, angle, turned):
    theta = np.array(
        [angle + turned - one.turning * one.quarter[axle], angle + turned + np.zeros_like(one.quarter[axle])]
    )
    r, e = one.crank_radius[axle], one.pin_ahead[axle]
    x = one.axle_x[axle] + r * np.cos(theta) - e * np.sin(theta)
    return x, one.axle_y[axle] - r * np.sin(theta) - e * np.cos(theta)


def best_by_search(chassis, angle):
    room = 0.5 * (chassis.bore[0] + chassis.bore[1] - chassis.pin[0] - chassis.pin[1])
    x1, y1 = turned_pins(chassis, 1, angle, 0.0)

    def slack(turned):
        x0, y0 = turned_pins(chassis, 0, angle, turned)
        return (room - np.abs(np.hypot(x0 - x1, y0 - y1) - chassis.centres[0])).min(axis=0)

    low, high = np.full(chassis.samples, -0.02), np.full(chassis.samples, 0.02)
    for _ in range(120):
        a, b = low + (high - low) / 3, high - (high - low) / 3
        left = slack(a) < slack(b)
        low, high = np.where(left, a, low), np.where(left, high, b)
    return slack((low + high) / 2)


def jointed_in_the_plane(chassis, angle, sample):
    """Knuckle ahead of pin 2: largest room on the lengths of both rods, carrying rod anywhere within its bushes."""
    one = chassis.with_vector(chassis.vector()[:, sample : sample + 1])
    clear = (one.bore - one.pin[[0, 1, 2]])[..., 0]
    pins1 = turned_pins(one, 1, angle, 0.0)

    def places(v):
        """v: arcs of axles 0 and 2, then for each side the carrying rod's eye on pin 2 off the pin (x, y), its tilt."""
        return turned_pins(one, 0, angle, v[0] / R), pins1, turned_pins(one, 2, angle, v[1] / R)

    def room(v):
        (x0, y0), (x1, y1), (x2, y2) = places(v)
        out = []
        for s in (0, 1):
            dx, dy, tip = v[2 + 3 * s : 5 + 3 * s]
            length, reach, front = one.centres[1, s, 0], one.knuckle_reach[0, s, 0], one.centres[0, s, 0]
            t = tip / length
            eye = np.array([x1[s, 0] + dx, y1[s, 0] + dy])
            ahead = np.array([np.cos(t), np.sin(t)])
            third = eye - length * ahead - np.array([x2[s, 0], y2[s, 0]])
            joint = eye + reach * ahead
            hold = np.hypot(x0[s, 0] - joint[0], y0[s, 0] - joint[1])
            apart = np.hypot(x1[s, 0] - x2[s, 0], y1[s, 0] - y2[s, 0])
            own, rear = (one.knuckle_clearance[0, s, 0] + clear[0, s]) / 2, (clear[1, s] + clear[2, s]) / 2
            out += [
                own - (hold - front) - v[-1],
                own + (hold - front) - v[-1],
                rear - (apart - length) - v[-1],
                rear + (apart - length) - v[-1],
                (clear[1, s] / 2) ** 2 - dx**2 - dy**2,
                (clear[2, s] / 2) ** 2 - third @ third,
            ]
        out = np.array(out)
        out[[4, 5, 10, 11]] /= 0.03
        return out

    best = -np.inf
    for start in (0.0, 0.01):
        guess = np.zeros(9)
        guess[[2, 5]] = start
        guess[-1] = -0.1
        for s in (0, 1):
            _, (_, y1), (_, y2) = places(guess)
            guess[4 + 3 * s] = y1[s, 0] - y2[s, 0]
        found = minimize(
            lambda v: -v[-1],
            guess,
            jac=lambda _: -np.eye(9)[-1],
            constraints={"type": "ineq", "fun": room},
            method="SLSQP",
            options={"ftol": 1e-14, "maxiter": 400},
        )
        if room(found.x).min() > -1e-9:
            best = max(best, found.x[-1])
    return best


def test_least_of_all_angles_without_keeping_them():
    chassis = scattered(drawn((120.0, 0.0, -110.0)), 700, 15)
    turn = turn_angles(chassis, 90)
    assert least_blocked_slack(chassis, turn) == pytest.approx(blocked_slack(chassis, turn).min(axis=1), abs=0)


def test_closed_form_refuses_what_has_none():
    with pytest.raises(Refused, match="small programme"):
        blocked_slack(drawn((120.0, 0.0, -110.0), ("knuckle ahead",)), np.zeros(1))
    with pytest.raises(Refused, match="small programme"):
        least_blocked_slack(drawn((120.0, 0.0, -110.0), ("rigid",)), np.zeros(1))
    with pytest.raises(Refused, match="no ring"):
        rings_slack(drawn((120.0, 0.0, -110.0), ("rigid",)), np.zeros(1))


@pytest.mark.parametrize("meetings", [("separate",), ("knuckle ahead",)])
def test_least_section_slack_is_the_slack_of_the_whole(meetings):
    chassis = scattered(drawn((120.0, 0.0, -110.0), meetings, play=0.03), 30, 16, times=1.5)
    turn = turn_angles(chassis, 24)
    for boxes in ("blocked", "free"):
        joint = joint_slack(chassis, turn, boxes)
        assert slack_left(chassis, turn, boxes).min(axis=0) == pytest.approx(joint, abs=1e-9)


class TestLaws:
    @pytest.mark.parametrize("meetings", [("separate",), ("knuckle behind",), ("rigid",)])
    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_sides_and_lead_swapped_is_the_same_engine(self, meetings, boxes):
        """Seen from the other side: left for right, right-hand lead for left-hand, counted on the other crank."""
        chassis = scattered(drawn((120.0, 0.0, -110.0), meetings, play=0.03), 1, 21)
        swapped = {
            name: getattr(chassis, name)[..., ::-1, :]
            for name in chassis.__dataclass_fields__
            if name not in ("leads", "driven", "meetings", "quarter")
        }
        other = Chassis(leads="L", driven=chassis.driven, meetings=chassis.meetings, quarter=chassis.quarter, **swapped)
        angles = np.linspace(0.05, 6.2, 9)
        here = joint_slack(chassis, angles, boxes)
        there = joint_slack(other, angles - chassis.quarter[chassis.driven, 0], boxes)
        assert there == pytest.approx(here, abs=1e-9)

    @pytest.mark.parametrize("meetings", [("separate",), ("knuckle ahead",), ("rigid",)])
    def test_all_lengths_doubled_double_the_slack(self, meetings):
        chassis = scattered(drawn((120.0, 0.0, -110.0), meetings, play=0.03), 5, 22)
        angles = np.linspace(0.05, 6.2, 9)
        vector = 2 * chassis.vector()
        first = index_of(chassis.layout, "quarter", 0)
        vector[first : first + 3] /= 2
        for boxes in ("blocked", "free"):
            twice = joint_slack(chassis.with_vector(vector), angles, boxes)
            assert twice == pytest.approx(2 * joint_slack(chassis, angles, boxes), abs=1e-9)

    @pytest.mark.parametrize("meetings", [("separate",), ("knuckle ahead",), ("rigid",)])
    def test_more_box_play_never_lessens_slack(self, meetings):
        chassis = scattered(drawn((120.0, 0.0, -110.0), meetings, play=0.02), 5, 23)
        more = chassis.replace_unchecked(box_fore=chassis.box_fore + 0.01)
        angles = np.linspace(0.05, 6.2, 9)
        less = joint_slack(chassis, angles, "blocked"), joint_slack(chassis, angles, "free")
        assert (less[1] >= less[0] - 1e-9).all()
        assert (joint_slack(more, angles, "free") >= less[1] - 1e-9).all()

    def test_where_the_driven_axle_is_hardly_matters(self):
        """Another axle only counts the angle otherwise: slack over the whole turn stays."""
        front = scattered(drawn((120.0, 0.0, -110.0), driven=0), 20, 24)
        rear = front.replace_unchecked(driven=2)
        angles = np.linspace(0, 2 * np.pi, 720, endpoint=False)
        assert least_blocked_slack(front, angles) == pytest.approx(least_blocked_slack(rear, angles), abs=5e-4)
