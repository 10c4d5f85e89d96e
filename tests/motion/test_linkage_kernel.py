"""The planar kernel: pieces, rates against difference quotients, links that cannot meet, bad input."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.linkage import CRANK, LEFT, RIGHT, Assembly, DoesNotAssemble, Dual, solve, turn


def number(value: complex) -> Dual:
    return Dual(np.full((1, 1, 1), value))


def four_bar(d, crank, position, assembly):
    """Crank 0 - A, coupler A - B, rocker B - ground; a carried point ahead of the coupler's middle."""
    pin = d["crank"] * turn(crank)
    joint = assembly.dyad(pin, d["coupler"], d["ground"] + 0j, d["rocker"], LEFT, ("coupler", "rocker"))
    return {"pin": pin, "joint": joint, "carried": pin + (joint - pin) * (0.5 + 0.2j)}


def slider(d, crank, position, assembly):
    """Slider-crank whose slider is found by a closed loop instead of in closed form."""
    pin = d["crank"] * turn(crank)

    def chain(place):
        reach = (place - pin).length()
        return reach - d["rod"], {"slider": place}

    found = assembly.close(chain, lambda: pin.value.real + 0.5 * d["rod"].value, scale=d["rod"], links=("rod", "slide"))
    direct = assembly.on_line(pin, d["rod"], number(0), number(1), ahead=True, links=("rod", "slide"))
    return {**found, "direct": direct, "pin": pin}


FOUR_BAR = {"crank": 40.0, "coupler": 120.0, "rocker": 80.0, "ground": 100.0}


def test_pieces_at_figures_one_can_check_by_hand():
    """3-4-5 triangles."""
    assembly = Assembly()
    left = assembly.dyad(number(0), number(60), number(100), number(80), LEFT, ("a", "b"))
    right = assembly.dyad(number(0), number(60), number(100), number(80), RIGHT, ("a", "b"))
    place = assembly.on_line(number(3j), number(5), number(0), number(1), ahead=True, links=("a", "b"))
    behind = assembly.on_line(number(3j), number(5), number(0), number(1), ahead=False, links=("a", "b"))
    slotted = assembly.slotted(number(0), number(4 + 3j), number(3), ("a", "b"))
    assert left.value == pytest.approx(36 + 48j)
    assert right.value == pytest.approx(36 - 48j)
    assert place.value == pytest.approx(4)
    assert behind.value == pytest.approx(-4)
    assert slotted.value == pytest.approx(1)
    assert assembly.joints["a", "b"].angle_rad() == pytest.approx(np.pi / 2)
    assert not assembly.shortfalls


def test_shapes_follow_positions_angles_samples():
    motion = solve(four_bar, {**FOUR_BAR, "coupler": np.linspace(119, 121, 7)}, np.linspace(0, 6, 5), [0.0, 1.0])
    assert motion.place("joint").shape == (2, 5, 7)
    assert motion.assembled.shape == (2, 5, 7)


def test_samples_in_blocks_are_the_samples_one_by_one():
    rng = np.random.default_rng(2)
    lengths = {name: value * rng.uniform(0.97, 1.03, 60) for name, value in FOUR_BAR.items()}
    angles = np.linspace(0, 2 * np.pi, 720)
    motion = solve(four_bar, lengths, angles, joints=True, rates_to=("coupler",))
    alone = solve(four_bar, {name: value[41] for name, value in lengths.items()}, angles, joints=True)
    assert np.array_equal(motion.place("joint")[..., 41], alone.place("joint")[..., 0])
    assert np.array_equal(motion.joints["coupler", "rocker"][..., 41], alone.joints["coupler", "rocker"][..., 0])
    assert motion.rates["joint"]["coupler"].shape == (1, 720, 60)


def quotient(mechanism, lengths, crank, name, out):
    step = 1e-5
    if name == CRANK:
        up, down = solve(mechanism, lengths, crank + step), solve(mechanism, lengths, crank - step)
    else:
        up, down = (solve(mechanism, {**lengths, name: lengths[name] + s}, crank) for s in (step, -step))
    return (up.place(out) - down.place(out)) / (2 * step)


@pytest.mark.parametrize("mechanism", [four_bar, slider])
def test_rates_agree_with_difference_quotients(mechanism):
    lengths = FOUR_BAR if mechanism is four_bar else {"crank": 40.0, "rod": 120.0}
    crank = np.linspace(0.1, 6.2, 23)
    names = (*lengths, CRANK)
    motion = solve(mechanism, lengths, crank, rates_to=names)
    for out, rates in motion.rates.items():
        for name in names:
            assert rates[name] == pytest.approx(quotient(mechanism, lengths, crank, name, out), abs=2e-7), (out, name)


def test_closed_loop_finds_what_the_closed_form_gives():
    motion = solve(slider, {"crank": 40.0, "rod": np.linspace(41, 400, 50)}, np.linspace(0, 2 * np.pi, 360))
    assert motion.place("slider") == pytest.approx(motion.place("direct"), abs=1e-9)
    assert motion.worst_gap_mm < 1e-9


def test_a_poor_start_is_searched_by_sign():
    """A start outside the range in which the inner pair meets, and a gap with a flat stretch on the way."""

    def stubborn(d, crank, position, assembly):
        def chain(x):
            inner = assembly.dyad(x + 0j, d["a"], number(10) + 0j, d["a"], LEFT, ("inner link", "frame"))
            return inner.imag - 3.0, {"x": x}

        return assembly.close(chain, lambda: crank.value * 0.0 - 12.0, scale=d["a"], links=("slide", "height"))

    motion = solve(stubborn, {"a": 5.0}, np.array([0.0]))
    # reach 5 on both sides, pin at height 3: half the distance is 4, so x = 10 - 8
    assert motion.place("x")[0, 0, 0] == pytest.approx(2.0)
    assert not motion.faults


def test_links_that_cannot_meet_are_named_with_the_angle():
    motion = solve(four_bar, {**FOUR_BAR, "coupler": 30.0}, np.radians([0.0, 180.0]), [0.5])
    (fault,) = motion.faults
    assert fault.links == ("coupler", "rocker")
    assert np.degrees(fault.crank_rad) == pytest.approx(180.0)
    assert fault.short_mm == pytest.approx(140.0 - 110.0)
    assert fault.position == 0.5
    assert (fault.count, fault.tried) == (1, 2)
    assert "coupler and rocker cannot meet at crank angle 180.0 deg" in str(fault)
    assert motion.assembled[0, :, 0].tolist() == [True, False]
    assert np.isnan(motion.place("joint")[0, 1, 0])
    with pytest.raises(DoesNotAssemble, match="coupler and rocker cannot meet"):
        motion.required()


def test_a_loop_that_cannot_close_is_named():
    motion = solve(slider, {"crank": 40.0, "rod": 30.0}, np.radians([0.0, 90.0]))
    assert {fault.links for fault in motion.faults} == {("rod", "slide")}
    assert motion.assembled[0, :, 0].tolist() == [True, False]


def test_faults_of_many_blocks_are_one_finding():
    coupler = np.full(60, 120.0)
    coupler[[3, 55]] = 30.0, 29.0
    motion = solve(four_bar, {**FOUR_BAR, "coupler": coupler}, np.linspace(0, 2 * np.pi, 720, endpoint=False))
    (fault,) = motion.faults
    assert fault.sample == 55
    assert motion.assembled.all(axis=1)[0].sum() == 58


@pytest.mark.parametrize(
    ("lengths", "crank", "words"),
    [
        ({**FOUR_BAR, "crank": float("nan")}, 0.0, "crank"),
        ({**FOUR_BAR, "crank": float("inf")}, 0.0, "crank"),
        (FOUR_BAR, [0.0, float("nan")], "crank angle"),
        ({**FOUR_BAR, "crank": [40.0, 41.0], "rocker": [80.0, 81.0, 82.0]}, 0.0, "number of samples"),
    ],
)
def test_bad_numbers_are_refused_by_name(lengths, crank, words):
    with pytest.raises(OutOfRange, match=words):
        solve(four_bar, lengths, crank)


def test_rates_to_an_unknown_length_are_refused():
    with pytest.raises(Unknown, match="connecting rod"):
        solve(four_bar, FOUR_BAR, 0.0, rates_to=("connecting rod",))
    with pytest.raises(Unknown, match="elbow"):
        solve(four_bar, FOUR_BAR, 0.0).place("elbow")


@settings(max_examples=40, deadline=None)
@given(scale=st.floats(0.01, 100.0), angle=st.floats(-10, 10))
def test_scaling_all_lengths_scales_all_places(scale, angle):
    plain = solve(four_bar, FOUR_BAR, angle).place("carried")
    scaled = solve(four_bar, {name: scale * value for name, value in FOUR_BAR.items()}, angle).place("carried")
    assert scaled == pytest.approx(scale * plain, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(a=st.floats(5, 50), b=st.floats(5, 50), apart=st.floats(1, 90), turned=st.floats(-4, 4))
def test_a_meeting_pin_keeps_both_reaches_or_is_reported(a, b, apart, turned):
    assembly = Assembly()
    far = apart * np.exp(1j * turned)
    pin = assembly.dyad(number(0), number(a), number(far), number(b), LEFT, ("a", "b")).value.item()
    if assembly.shortfalls:
        short = max(apart - a - b, abs(a - b) - apart)
        assert assembly.shortfalls[0].short_mm.item() == pytest.approx(short, abs=1e-9)
    else:
        assert abs(pin) == pytest.approx(a)
        assert abs(pin - far) == pytest.approx(b)
        assert (np.conj(far) * pin).imag >= 0
