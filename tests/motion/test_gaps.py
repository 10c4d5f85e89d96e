"""Gaps against closed forms for circles and straight edges, and against brute force with fine outlines."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given as random_cases
from hypothesis import settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.gaps import (
    Element,
    Pair,
    Poses,
    Scene,
    Sizes,
    across,
    carried,
    closing,
    elements_of,
    even_angles,
    find_gaps,
    first_to_touch,
    fixed,
    given,
    gudgeon,
    least_gap,
    near_pairs,
    nearest_of_bodies,
    offsets_on_curve,
    pairs_of,
    pin,
    sliding,
    sweep,
    together,
    turning,
    where_to_take_it_from,
)
from asmade.reckon.shapes import Disc, Layer, Polygon, Shape, rectangle

ANGLES = even_angles(720)
TURN = 2 * math.pi


def element(name, pieces, poses, low=0.0, high=1.0, plays=None):
    return Element(name, name, tuple(pieces), poses, low, high, plays or {})


def plane(one, other, *, depth=True, angles=ANGLES):
    return sweep(one, other, depth=depth, keep_mm=math.inf).plane_mm


# ---------------------------------------------------------------- closed forms
def test_two_circles():
    """A pin of 3 going round at 20 against a fixed circle of 4, 30 ahead: distance of the middles less 7."""
    turned = element("pin", [Disc(20.0, 0.0, 3.0)], turning(ANGLES, 0.0, 0.0))
    still = element("post", [Disc(0.0, 0.0, 4.0)], fixed(ANGLES, 30.0, 0.0))
    wanted = np.sqrt(20**2 + 30**2 - 2 * 20 * 30 * np.cos(ANGLES)) - 7  # cosine rule
    assert plane(turned, still) == pytest.approx(wanted, abs=1e-12)
    found = least_gap(Scene((turned, still), ANGLES), turned, still)
    assert found.gap_mm == pytest.approx(3.0, abs=1e-12)
    assert found.at_rad == 0.0
    assert found.where == "in the plane"


def test_pin_under_a_bar():
    """Running forward the pin is at its highest three quarters of a turn from the front dead centre."""
    turned = element("pin", [Disc(20.0, 0.0, 3.0)], turning(ANGLES, 0.0, 0.0))
    bar = element("bar", [rectangle(-50.0, 25.0, 50.0, 30.0)], fixed(ANGLES))
    found = least_gap(Scene((turned, bar), ANGLES), turned, bar)
    assert found.gap_mm == pytest.approx(25 - 20 - 3, abs=1e-12)
    assert math.degrees(found.at_rad) == pytest.approx(270.0)
    assert plane(turned, bar) == pytest.approx(25 - 3 + 20 * np.sin(ANGLES), abs=1e-9)


def test_pin_past_the_end_of_a_bar_goes_by_its_corner():
    turned = element("pin", [Disc(20.0, 0.0, 1.0)], turning(ANGLES, 0.0, 0.0))
    bar = element("bar", [rectangle(22.0, 5.0, 60.0, 30.0)], fixed(ANGLES))
    angle = math.atan2(5.0, 22.0)  # the corner's own bearing is nearest
    scene = Scene((turned, bar), ANGLES)
    found = least_gap(scene, turned, bar)
    assert found.gap_mm == pytest.approx(math.hypot(22, 5) - 21, abs=2e-3)
    assert found.at_rad == pytest.approx(TURN - angle, abs=math.radians(0.5))


def test_segment_against_segment():
    """A blade 40 long turning about its end, 1 high, against a wall 45 ahead: 45 - 40 cos - 0.5 sin of its corner."""
    blade = element("blade", [rectangle(0.0, -0.5, 40.0, 0.5)], turning(ANGLES, 0.0, 0.0))
    wall = element("wall", [rectangle(45.0, -99.0, 50.0, 99.0)], fixed(ANGLES))
    reach = np.maximum.reduce([40 * np.cos(ANGLES) + 0.5 * np.abs(np.sin(ANGLES)), 0.5 * np.abs(np.sin(ANGLES))])
    assert plane(blade, wall) == pytest.approx(45 - reach, abs=1e-9)


@pytest.mark.parametrize(
    ("one", "other", "deep"),
    [
        (rectangle(0, 0, 10, 10), rectangle(8, 3, 20, 6), 2.0),  # in by its end
        (rectangle(0, 0, 10, 10), rectangle(-5, 4, 15, 6), 6.0),  # right through: out over the nearer side
        (Disc(0, 0, 5), Disc(7, 0, 4), 2.0),
        (Disc(0, 0, 1), rectangle(-3, -9, 9, 9), 4.0),  # 3 to the edge and its own radius
        (rectangle(-3, -9, 9, 9), Disc(0, 0, 1), 4.0),
    ],
)
def test_how_deep_an_overlap_is(one, other, deep):
    a, b = (element(n, [p], fixed(ANGLES)) for n, p in (("a", one), ("b", other)))
    assert plane(a, b) == pytest.approx(-deep)
    assert plane(a, b, depth=False) == pytest.approx(0.0)


def test_overlap_of_an_outline_that_is_not_convex_is_its_narrow_way():
    bracket = Polygon(np.array([(0, 0), (10, 0), (10, 2), (2, 2), (2, 10), (0, 10)], dtype=float))
    assert not bracket.convex
    a = element("a", [bracket], fixed(ANGLES))
    b = element("b", [rectangle(5, 1.5, 9, 6)], fixed(ANGLES))
    assert plane(a, b) == pytest.approx(-0.5)


def test_a_rod_in_the_opening_of_a_bracket():
    """The opening is 20 high, the rod 8: 6 above and below in the middle, 6 less what the pin lifts it."""
    bracket = Polygon(
        np.array([(-2, -30), (2, -30), (2, 30), (-2, 30)], dtype=float),
        (np.array([(-1.5, -10), (1.5, -10), (1.5, 10), (-1.5, 10)], dtype=float),),
    )
    lifted = given(0.0, 3.0 * np.sin(ANGLES), 0.0, ANGLES.size)
    rod = element("rod", [rectangle(-1, -4, 1, 4)], lifted)
    still = element("bracket", [bracket], fixed(ANGLES))
    assert plane(still, rod) == pytest.approx(np.minimum(0.5, 6 - 3 * np.abs(np.sin(ANGLES))), abs=1e-9)
    turned_about = element("bracket", [bracket], fixed(ANGLES))
    assert plane(rod, turned_about) == pytest.approx(plane(still, rod), abs=1e-9)


# ---------------------------------------------------------------- across the engine
def test_across_where_outlines_overlap_in_the_plane_where_widths_do():
    turned = turning(ANGLES, 0.0, 0.0)
    cap = element("cap", [Disc(20.0, 0.0, 5.0)], turned, 60.0, 66.0)
    head = element("crosshead", [rectangle(10, -10, 40, 10)], fixed(ANGLES), 66.4, 80.0)
    scene = Scene((cap, head), ANGLES)
    found = least_gap(scene, cap, head)
    assert found.gap_mm == pytest.approx(0.4)
    assert found.where == "across"
    reach = math.degrees(math.asin((10 + 5) / 20))  # sideways the cap clears the crosshead's edge beyond this
    assert math.degrees(found.at_rad) == pytest.approx(360 - reach, abs=0.5)
    assert math.degrees(found.until_rad) == pytest.approx(reach, abs=0.5)
    low = element("crosshead", [rectangle(10, -10, 40, 10)], fixed(ANGLES), 65.0, 80.0)
    assert least_gap(Scene((cap, low), ANGLES), cap, low).where == "overlap"
    assert least_gap(Scene((cap, low), ANGLES), cap, low).gap_mm == pytest.approx(-1.0)


def test_past_the_corner_both_gaps_count():
    assert together(np.array([3.0]), 4.0) == pytest.approx(5.0)
    a = element("a", [Disc(0, 0, 1)], fixed(ANGLES), 0.0, 1.0)
    b = element("b", [Disc(5, 0, 1)], fixed(ANGLES), 5.0, 6.0)
    found = least_gap(Scene((a, b), ANGLES), a, b)
    assert found.gap_mm == pytest.approx(5.0)
    assert found.where == "past the corner"


def test_side_play_closes_the_gap_but_not_between_what_it_carries_alike():
    plays = {"side play 1": 1.0}
    wheel = element("wheel", [Disc(0, 0, 30)], turning(ANGLES, 0, 0), 50.0, 60.0, plays)
    cap = element("cap", [Disc(20, 0, 5)], turning(ANGLES, 0, 0), 60.5, 66.0, plays)
    head = element("head", [rectangle(0, -9, 40, 9)], fixed(ANGLES), 67.0, 80.0)
    scene = Scene((wheel, cap, head), ANGLES, {"side play 1": 0.7})
    assert closing(scene, wheel, cap) == 0.0
    assert closing(scene, cap, head) == pytest.approx(0.7)
    assert least_gap(scene, cap, head).gap_mm == pytest.approx(0.3)
    assert least_gap(scene, cap, head, freedoms=False).gap_mm == pytest.approx(1.0)
    assert across(cap, head) == across(head, cap) == pytest.approx(1.0)


# ---------------------------------------------------------------- brute force
def convex(draw_points):
    hull = shapely.convex_hull(shapely.multipoints(draw_points))
    return Polygon(shapely.get_coordinates(hull)[:-1])


def random_body(random, count):
    pieces = []
    for _ in range(count):
        if random.random() < 0.4:
            pieces.append(Disc(*random.uniform(-25, 25, 2), random.uniform(1, 6)))
        elif random.random() < 0.4:
            corner = np.array([(0, 0), (12, 0), (12, 3), (3, 3), (3, 14), (0, 14)]) @ np.array(
                [[0.8, 0.6], [-0.6, 0.8]]
            )
            pieces.append(Polygon(random.uniform(-25, 25, 2) + corner))
        else:
            middle = random.uniform(-25, 25, 2)
            pieces.append(convex(middle + random.uniform(-8, 8, (7, 2))))
    return pieces


def as_shapely(piece, poses, at):
    if isinstance(piece, Disc):
        middle = poses.place[at] + poses.along[at] * complex(piece.x, piece.y)
        return shapely.Point(middle.real, middle.imag).buffer(piece.radius, 720)
    moved = poses.place[at] + poses.along[at] * (piece.ring @ np.array([1, 1j]))
    return shapely.polygons(np.stack([moved.real, moved.imag], axis=1))


@pytest.mark.parametrize("seed", range(12))
def test_against_brute_force(seed):
    """Every piece against every piece at every angle, circles as polygons of 2,880 corners."""
    random = np.random.default_rng(seed)
    crank = even_angles(36)
    one = element("one", random_body(random, 3), turning(crank, 0.0, 0.0))
    spread = random.uniform(30, 70)
    moved = given(spread + 5 * np.cos(crank), 8 * np.sin(2 * crank), 0.4 * np.sin(crank), crank.size)
    other = element("other", random_body(random, 3), moved)
    brute = np.array(
        [
            min(
                shapely.distance(as_shapely(a, one.poses, at), as_shapely(b, other.poses, at))
                for a in one.pieces
                for b in other.pieces
            )
            for at in range(crank.size)
        ]
    )
    found = sweep(one, other, depth=False, keep_mm=math.inf)
    assert found.plane_mm == pytest.approx(brute, abs=2e-4)
    lazy = sweep(one, other, depth=False)
    assert lazy.plane_mm.min() == pytest.approx(brute.min(), abs=2e-4)
    assert (lazy.plane_mm <= brute + 2e-4).all()  # a bound where it is not exact
    assert lazy.plane_mm[lazy.exact] == pytest.approx(brute[lazy.exact], abs=2e-4)


@pytest.mark.parametrize("seed", range(6))
def test_depth_is_the_least_move_that_parts_two_convex_outlines(seed):
    random = np.random.default_rng(100 + seed)
    crank = even_angles(8)
    one = convex(random.uniform(-10, 10, (8, 2)))
    other = convex(random.uniform(-10, 10, (8, 2)))
    poses = turning(crank, 0.0, 0.0)
    deep = -plane(element("a", [one], fixed(crank)), element("b", [other], poses), angles=crank)
    still = shapely.polygons(one.ring)
    tried = 0
    for at in range(crank.size):
        moving = as_shapely(other, poses, at)
        if not shapely.intersects(still, moving):
            continue
        tried += 1
        ways = np.exp(1j * np.linspace(0, TURN, 720, endpoint=False))

        def moved(by, ways=ways, moving=moving):
            return [shapely.affinity.translate(moving, by * way.real, by * way.imag) for way in ways]

        assert shapely.intersects(still, moved(0.99 * deep[at])).all()  # no direction parts them with less
        assert not shapely.intersects(still, moved(1.001 * deep[at])).all()  # one does with as much
    assert tried > 4


@settings(deadline=None, max_examples=40)
@random_cases(
    st.floats(-50, 50), st.floats(-50, 50), st.floats(0, TURN), st.floats(0.5, 9), st.floats(0.5, 9), st.floats(0, 40)
)
def test_seen_from_anywhere_the_gap_is_the_same(x, y, turn, one, two, apart):
    crank = even_angles(24)
    a = element("a", [Disc(5, 1, one), rectangle(0, 0, 9, 4)], turning(crank, 0, 0))
    b = element("b", [rectangle(-two, -two, two, two)], given(apart, 3 * np.sin(crank), 0.2 * np.cos(crank), 24))
    wanted = plane(a, b, angles=crank)

    def moved(poses):
        along = np.exp(1j * turn)
        return Poses(x + 1j * y + along * poses.place, along * poses.along)

    found = plane(element("a", a.pieces, moved(a.poses)), element("b", b.pieces, moved(b.poses)), angles=crank)
    assert found == pytest.approx(wanted, abs=1e-9)
    wide = element("b", [rectangle(-two - 0.5, -two, two + 0.5, two)], b.poses)
    assert (plane(a, wide, angles=crank) <= wanted + 1e-9).all()  # a larger body never has more room


# ---------------------------------------------------------------- motions
def test_slider_crank_rows():
    """Rows of the copied reference table: fraction of the stroke from the dead centre farthest from the shaft."""
    rows = csv.DictReader(
        (Path(__file__).parents[1] / "anchors" / "linkages.csv").read_text(encoding="utf-8").splitlines()
    )
    tried = 0
    for row in rows:
        if row["category"] != "slider-crank position":
            continue
        put = dict(pair.split("=", 1) for pair in row["inputs"].split(";"))
        crank, ratio = np.array([0.0, math.radians(float(put["crank_deg"]))]), float(put["rod_to_crank"])
        places = gudgeon(pin(crank, 0.0, 0.0, 1.0), ratio).real
        assert (places[0] - places[1]) / 2 == pytest.approx(float(row["value"]), abs=float(row["tolerance"])), row[
            "source"
        ]
        tried += 1
    assert tried > 3


def test_an_inclined_line_above_the_axle():
    pins = pin(ANGLES, 0.0, 0.0, 24.0)
    places = gudgeon(pins, 180.0, line_y_mm=6.0, incline_rad=0.05)
    assert np.abs(places - pins) == pytest.approx(180.0)
    off_line = (np.conj(np.exp(0.05j)) * (places - 6j)).imag
    assert off_line == pytest.approx(0.0, abs=1e-12)


def test_coupling_rods_keep_their_direction_and_forward_is_clockwise():
    fore, aft = pin(ANGLES, 130.0, 0.0, 24.0), pin(ANGLES, 0.0, 0.0, 24.0)
    rod = carried(fore, aft)
    assert rod.along == pytest.approx(1.0)
    quarter = pin(np.array([math.pi / 2]), 0.0, 0.0, 24.0)[0]
    assert quarter == pytest.approx(-24j)  # from the front dead centre downwards, front to the right
    assert turning(np.array([math.pi / 2]), 0, 0).along[0] == pytest.approx(-1j)


# ---------------------------------------------------------------- findings
BEST = {
    "crank": 24.0,
    "rod": 170.0,
    "boss": 11.0,
    "bar_low": 16.0,
    "pin_face": 66.0,
    "head": 66.9,
    "play": 0.3,
    "rise": 0.0,
}


def gear(sizes, crank):
    """A big end and a crank-pin cap near a slide bar and a crosshead."""
    pins = pin(crank, 0.0, sizes["rise"], sizes["crank"])
    little = gudgeon(pins, sizes["rod"])
    rod = (rectangle(-sizes["rod"], -4, 0, 4, "bar"), Disc(-sizes["rod"], 0, sizes["boss"]), Disc(0, 0, 8))
    elements = (
        element("connecting rod", rod, carried(little, pins), 60.0, 72.0),
        element(
            "lower bar", [rectangle(95, -sizes["bar_low"] - 6, 200, -sizes["bar_low"], "bar")], fixed(crank), 65.0, 80.0
        ),
        element(
            "cap",
            [Disc(sizes["crank"], 0, 5.0)],
            turning(crank, 165.0, 0.0),
            60.0,
            sizes["pin_face"],
            {"side play": 1.0},
        ),
        element("crosshead", [rectangle(-14, -12, 14, 12, "head")], sliding(little), sizes["head"], 80.0),
    )
    return Scene(elements, crank, {"side play": sizes["play"]})


PAIRS = (Pair("connecting rod", "lower bar", 1.0), Pair("cap", "crosshead", 0.5))
SIGMA = {"crank": 0.02, "rod": 0.05, "boss": 0.03, "bar_low": 0.05, "pin_face": 0.02, "head": 0.04}
REACH = {name: 2 * value for name, value in SIGMA.items()}


def test_findings_of_a_small_gear():
    rod, cap = find_gaps(gear, Sizes(BEST, SIGMA, REACH), PAIRS)
    assert rod.least.where == "in the plane"
    assert rod.middle_mm == pytest.approx(rod.least.gap_mm)
    assert rod.rates["bar_low"] == pytest.approx(math.cos(0.0), abs=0.05)  # the bar lowered gives about as much
    assert rod.worst.gap_mm < rod.least.gap_mm
    assert cap.least.where == "across"
    assert cap.least.gap_mm == pytest.approx(0.6)
    assert cap.middle_mm == pytest.approx(0.9)
    assert cap.margin_mm == pytest.approx(0.1)
    assert cap.rates == pytest.approx({"pin_face": -1.0, "head": 1.0, "play": -1.0})
    assert cap.worst.gap_mm == pytest.approx(0.6 - 0.04 - 0.08)
    assert cap.verdict == "close"
    assert dict(cap.shares) == pytest.approx({"head": 80.0, "pin_face": 20.0})  # 0.04^2 to 0.02^2
    assert cap.deviation_mm == pytest.approx(math.hypot(0.02, 0.04))
    assert cap.chance == pytest.approx(0.5 * math.erfc(0.1 / math.hypot(0.02, 0.04) / math.sqrt(2)))


def test_rates_are_those_of_the_least_gap_itself():
    rod = find_gaps(gear, Sizes(BEST, SIGMA, REACH), PAIRS[:1])[0]
    for name in ("crank", "rod", "boss", "bar_low"):
        step = 0.02
        ends = [
            find_gaps(gear, Sizes({**BEST, name: BEST[name] + way}), PAIRS[:1], angles=2880)[0].least.gap_mm
            for way in (step, -step)
        ]
        assert rod.rates.get(name, 0.0) == pytest.approx((ends[0] - ends[1]) / (2 * step), abs=2e-3)


def test_no_engine_within_reach_is_worse_than_the_worst():
    findings = find_gaps(gear, Sizes(BEST, SIGMA, REACH, {"rise": 0.8}), PAIRS)
    random = np.random.default_rng(7)
    ways = {**REACH, "rise": 0.8}
    for _ in range(150):
        sizes = {
            name: value + ways.get(name, 0.0) * random.choice([-1, 1, random.uniform(-1, 1)])
            for name, value in BEST.items()
        }
        scene = gear(sizes, even_angles(180))
        for finding in findings:
            gap = least_gap(scene, scene.element(finding.pair.one), scene.element(finding.pair.other)).gap_mm
            assert gap >= finding.worst.gap_mm - 2e-3


def test_a_freedom_is_taken_at_its_worst_and_has_no_share():
    still = find_gaps(gear, Sizes(BEST, SIGMA, REACH), PAIRS[:1])[0]
    risen = find_gaps(gear, Sizes(BEST, SIGMA, REACH, {"rise": 1.0}), PAIRS[:1])[0]
    assert risen.least.gap_mm < still.least.gap_mm - 0.05
    assert "rise" not in dict(risen.shares)
    assert risen.middle_mm == pytest.approx(still.middle_mm)
    by_hand = min(
        find_gaps(gear, Sizes({**BEST, "rise": rise}), PAIRS[:1])[0].least.gap_mm
        for rise in (-1.0, -0.5, 0.0, 0.5, 1.0)
    )
    assert risen.least.gap_mm == pytest.approx(by_hand, abs=1e-6)


def test_between_sampled_angles_the_least_gap_is_found():
    coarse = find_gaps(gear, Sizes(BEST), PAIRS[:1], angles=90)[0].least
    fine = find_gaps(gear, Sizes(BEST), PAIRS[:1], angles=7200)[0].least
    assert coarse.gap_mm == pytest.approx(fine.gap_mm, abs=2e-3)


def test_where_to_take_it_from_and_what_it_spoils():
    sizes = Sizes({**BEST, "head": 66.5}, SIGMA, REACH)
    findings = find_gaps(gear, sizes, (*PAIRS, Pair("crosshead", "lower bar", 1.5)))
    short = findings[1]
    assert short.verdict == "fails"
    cures = where_to_take_it_from(short, findings, {"pin_face": 1.0, "head": 1.0, "rod": 5.0, "play": 0.1})
    assert [cure.size for cure in cures] == [
        "head",
        "pin_face",
    ]  # the play may not change by enough, the rod is no help
    assert {cure.size: cure.change_mm for cure in cures} == pytest.approx({"head": 0.3, "pin_face": -0.3})
    for cure in cures:
        again = find_gaps(gear, Sizes({**sizes.best, cure.size: sizes.best[cure.size] + cure.change_mm}), PAIRS)[1]
        assert again.margin_mm == pytest.approx(0.0, abs=1e-6)
    assert findings[2].margin_mm > 0
    assert where_to_take_it_from(findings[2], findings, {"bar_low": 5.0}) == ()  # nothing is short
    more = where_to_take_it_from(short, findings, {"head": 2.0}, extra_mm=0.1, worst=True)
    assert more[0].change_mm == pytest.approx(0.3 + 0.1 + 0.12)


def test_a_cure_that_spoils_another_pair_comes_last():
    def model(sizes, crank):
        still = fixed(crank)
        bodies = [
            element("cap", [Disc(0, 0, 5)], still, 0.0, sizes["cap"]),
            element("head", [Disc(0, 0, 9)], still, sizes["head"], sizes["head"] + 5),
            element("cover", [Disc(0, 0, 9)], still, sizes["cover"], sizes["cover"] + 2),
        ]
        return Scene(tuple(bodies), crank)

    pairs = (Pair("cap", "head", 0.5), Pair("head", "cover", 0.5))
    findings = find_gaps(model, Sizes({"cap": 6.0, "head": 6.2, "cover": 11.8}), pairs)
    cures = where_to_take_it_from(findings[0], findings, {"head": 1.0, "cap": 1.0})
    assert [cure.size for cure in cures] == ["cap", "head"]
    (spoiled,) = cures[1].spoils
    assert spoiled.pair == "head - cover"
    assert spoiled.margin_mm == pytest.approx(-0.2)


def test_a_rod_between_two_bars_loses_room_whichever_way_it_rises():
    """Its gap is the same above and below, so the plain rate is nothing; the steeper way counts."""

    def model(sizes, crank):
        rod = element("rod", [rectangle(-5, -4, 5, 4)], given(0.0, sizes["rise"], 0.0, crank.size))
        bars = element("bars", [rectangle(-9, 6, 9, 9), rectangle(-9, -9, 9, -6)], fixed(crank))
        return Scene((rod, bars), crank)

    (found,) = find_gaps(model, Sizes({"rise": 0.0}, freedoms={"rise": 0.7}), [Pair("rod", "bars", 1.0)])
    assert found.middle_mm == pytest.approx(2.0)
    assert found.least.gap_mm == pytest.approx(1.3)


def test_only_near_pairs_and_the_nearest_of_each_two_bodies():
    crank = even_angles(24)
    still = fixed(crank)
    layers = (
        Element("rod, bar", "rod", (rectangle(0, -2, 50, 2),), still, 0, 4),
        Element("rod, eye", "rod", (Disc(0, 0, 8),), still, -1, 5),
        Element("head", "head", (rectangle(-9, -9, 40, 9),), still, 5.4, 9),
        Element("far", "far", (Disc(500, 0, 8),), still, 0, 5),
    )
    scene = Scene(layers, crank)
    pairs = pairs_of(scene, 0.5, moving_only=False)
    near = near_pairs(scene, pairs, 2.0)
    assert {pair.name for pair in near} == {"rod, bar - head", "rod, eye - head"}
    findings = find_gaps(
        lambda _, angles: Scene(
            tuple(Element(e.name, e.body, e.pieces, fixed(angles), e.inner_mm, e.outer_mm) for e in layers), angles
        ),
        Sizes({}),
        near,
    )
    (nearest,) = nearest_of_bodies(scene, findings)
    assert nearest.pair.name == "rod, eye - head"
    assert nearest.margin_mm == pytest.approx(-0.1)
    assert find_gaps(gear, Sizes(BEST), []) == ()


# ---------------------------------------------------------------- on a curve
def test_on_the_least_curve_all_freedom_is_used():
    """The least radius of the chord geometry, with the curve as x^2/2R to better than a thousandth."""
    from asmade.motion.wheels.curve import least_curve

    axles, free = (140.0, 20.0, -110.0), (0.8, 1.2, 0.6)
    radius = least_curve(axles, free).radius
    offsets = offsets_on_curve(radius * 1.001, axles, free)
    assert [abs(o) / f for o, f in zip(offsets, free, strict=True)] == pytest.approx([1.0, 1.0, 1.0], abs=3e-3)
    assert [o > 0 for o in offsets] == [False, True, False]  # the middle one towards the outside
    with pytest.raises(OutOfRange, match="side play"):
        offsets_on_curve(radius * 0.98, axles, free)
    assert offsets_on_curve(3026.0, (110.0, 0.0, -110.0), (1.0, 1.0, 1.0)) == pytest.approx((-1, 1, -1), abs=1e-3)


def test_the_frame_lies_on_a_curve_so_that_the_most_used_freedom_is_used_least():
    """Against a linear programme over the frame's place and slant."""
    from scipy.optimize import linprog

    random = np.random.default_rng(3)
    for _ in range(30):
        count = int(random.integers(3, 7))
        axles = np.sort(random.uniform(-200, 200, count))[::-1]
        if np.min(-np.diff(axles)) < 5:
            continue
        free = random.uniform(0.5, 2, count)
        radius = 60_000.0
        offsets = np.array(offsets_on_curve(radius, axles, free))
        x = axles - (axles[0] + axles[-1]) / 2
        inward = radius - np.sqrt(radius**2 - x**2)
        rows = np.concatenate([np.stack([np.ones(count), x, -free], 1), np.stack([-np.ones(count), -x, -free], 1)])
        best = linprog([0, 0, 1], rows, np.concatenate([inward, -inward]), bounds=[(None, None)] * 2 + [(0, None)])
        assert np.abs(offsets / free).max() == pytest.approx(best.fun, rel=1e-6)


def test_first_to_touch_on_a_curve():
    play = {"side play 1": 1.0}
    cap = element("cap", [Disc(20, 0, 5)], turning(ANGLES, 0, 0), 60.0, 66.0, play)
    head = element("head", [rectangle(0, -9, 40, 9)], fixed(ANGLES), 67.0, 80.0)
    frame = element("frame", [rectangle(0, -9, 40, 9)], fixed(ANGLES), 50.0, 59.5)
    scene = Scene((cap, head, frame), ANGLES, {"side play 1": 0.9})
    first, second = first_to_touch(scene, (Pair("cap", "head", 0.5), Pair("cap", "frame", 0.2)), {"side play 1": -0.4})
    assert (first.pair.other, second.pair.other) == ("frame", "head")
    assert first.least.gap_mm == pytest.approx(0.1)
    assert first.margin_mm == pytest.approx(-0.1)
    assert second.least.gap_mm == pytest.approx(0.6)
    with pytest.raises(Unknown, match="sideways"):
        first_to_touch(scene, (), {"side play 9": 0.1})


@pytest.mark.parametrize(
    ("radius", "axles", "free"),
    [(0.0, (1.0, -1.0), (1.0, 1.0)), (1e4, (1.0,), (1.0,)), (1e4, (1.0, 2.0), (1.0, 1.0)), (1e4, (1.0, 0.0), (1.0, 0.0)),
     (50.0, (60.0, 0.0, -60.0), (1.0, 1.0, 1.0)), (math.nan, (1.0, 0.0), (1.0, 1.0))],
)  # fmt: skip
def test_curves_that_cannot_be(radius, axles, free):
    with pytest.raises(OutOfRange):
        offsets_on_curve(radius, axles, free)


# ---------------------------------------------------------------- scenes
def test_elements_of_a_shape_and_pairs():
    shape = Shape("rod", (Layer("bar", (rectangle(0, 0, 5, 1),), -1, 1), Layer("fore", (Disc(0, 0, 3),), -2, 2)), 1.0)
    parts = elements_of(shape, "rod", fixed(ANGLES), 60.0, {"float": 1.0}, plays_of={"fore": {"side play 1": 1.0}})
    assert [(each.name, each.inner_mm, each.outer_mm, dict(each.plays)) for each in parts] == [
        ("rod, bar", 59.0, 61.0, {"float": 1.0}),
        ("rod, fore", 58.0, 62.0, {"side play 1": 1.0}),
    ]
    wheel = element("wheel", [Disc(1, 0, 9)], turning(ANGLES, 0, 0))
    post = element("post", [Disc(0, 0, 1)], fixed(ANGLES, 30.0))
    scene = Scene((*parts, wheel, post), ANGLES, {"float": 0.1, "side play 1": 0.2})
    names = {(pair.one, pair.other) for pair in pairs_of(scene, 0.5)}
    assert names == {("rod, bar", "wheel"), ("rod, fore", "wheel"), ("wheel", "post")}
    fewer = pairs_of(scene, 0.5, touching=[frozenset(("rod", "wheel"))])
    assert [pair.name for pair in fewer] == ["wheel - post"]


@pytest.mark.parametrize(
    ("wrong", "kind", "says"),
    [
        (lambda: element("a", [], fixed(ANGLES)), Refused, "outline"),
        (lambda: element("a", [Disc(0, 0, 1)], fixed(ANGLES), 2.0, 2.0), OutOfRange, "thickness"),
        (lambda: element("a", [Disc(0, 0, 1)], fixed(ANGLES), math.nan, 2.0), Refused, "not known"),
        (lambda: Pair("a", "b", -0.1), OutOfRange, "0 mm or more"),
        (lambda: pin(ANGLES, 0, 0, 0.0), OutOfRange, "crank radius"),
        (lambda: pin(ANGLES, 0, 0, math.nan), OutOfRange, "crank radius"),
        (lambda: gudgeon(pin(ANGLES, 0, 0, 24.0), 20.0), OutOfRange, "connecting rod"),
        (lambda: gudgeon(pin(ANGLES, 0, 0, 24.0), math.nan), OutOfRange, "connecting rod"),
        (lambda: given(np.full(720, np.nan), 0, 0, 720), Refused, "not known"),
        (lambda: carried(np.zeros(3, complex), np.zeros(3, complex)), OutOfRange, "pins of a rod"),
        (lambda: even_angles(3), OutOfRange, "8 or more"),
        (lambda: Sizes({"a": math.nan}), Refused, "not known"),
        (lambda: Sizes({"a": 1.0}, {"b": 1.0}), Unknown, "b"),
        (lambda: Sizes({"a": 1.0}, {"a": -1.0}), OutOfRange, "0 or more"),
        (lambda: find_gaps(gear, Sizes(BEST), [Pair("cap", "valance", 0.1)]), Unknown, "crosshead"),
    ],
)
def test_what_cannot_be_is_refused_by_name(wrong, kind, says):
    with pytest.raises(kind, match=says):
        wrong()


def test_scenes_that_do_not_hold_together():
    one = element("a", [Disc(0, 0, 1)], fixed(ANGLES), plays={"side play": 1.0})
    with pytest.raises(Unknown, match="side play"):
        Scene((one,), ANGLES)
    with pytest.raises(OutOfRange, match="each way"):
        Scene((one,), ANGLES, {"side play": -0.1})
    with pytest.raises(Refused, match="twice"):
        Scene((one, one), ANGLES, {"side play": 0.1})
    with pytest.raises(Refused, match="poses"):
        Scene((one,), even_angles(8), {"side play": 0.1})
