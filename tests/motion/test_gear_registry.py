"""Every gear found by name has a source, an anchor, a worked example that assembles, and a picture."""

from __future__ import annotations

import numpy as np
import pytest

from asmade.measure.errors import Unknown
from asmade.motion.gears import gear, gears, picture, sweeps

EVERY = pytest.mark.parametrize("kind", gears().values(), ids=gears().keys())


def positions_of(kind):
    return kind.reverser or (1.0, 0.5, 0.0, -0.5, -1.0)


def test_names():
    assert "walschaerts" in gears()
    with pytest.raises(Unknown, match="walschaerts"):
        gear("elbow gear")


@EVERY
def test_says_what_it_is(kind):
    assert kind.title
    assert kind.about
    assert kind.source
    assert kind.name == kind.name.lower().replace(" ", "_")
    names = [size.name for size in kind.sizes]
    choices = [choice.name for choice in kind.choices]
    assert len({*names, *choices}) == len(names) + len(choices)
    assert all(size.meaning and size.part for size in kind.sizes)


@EVERY
def test_anchors(kind):
    assert kind.anchors
    for anchor in kind.anchors:
        assert anchor.source
        assert anchor.computed() == pytest.approx(anchor.published, abs=anchor.within), anchor.statement


@EVERY
def test_worked_example_assembles_everywhere(kind):
    motion = kind.move(kind.example(), np.linspace(0, 2 * np.pi, 120), positions_of(kind)).required()
    assert motion.worst_gap_mm < 1e-9
    assert np.ptp(motion.place("valve"), axis=1).min() > 0.5


@EVERY
def test_picture_shows_every_member_with_its_length_kept(kind):
    motion = kind.move(kind.example(), np.linspace(0, 2 * np.pi, 24, endpoint=False), positions_of(kind))
    first = picture(kind, motion)
    other = picture(kind, motion, angle=7)
    assert set(first.links) == {member.name for member in kind.members}
    for name, points in first.links.items():
        if name in first.fixed:
            continue
        spans = [np.diff(np.array(drawn.links[name]), axis=0) for drawn in (first, other)]
        assert np.hypot(*spans[0].T) == pytest.approx(np.hypot(*spans[1].T)), name
        assert len(points) >= 2


@EVERY
def test_rates_of_the_valve_to_every_dimension(kind):
    """Forward-mode rates against central differences of the worked example."""
    example, crank, step = kind.example(), np.linspace(0.3, 6.1, 5), 1e-5
    reverser = positions_of(kind)[:2]
    motion = kind.move(example, crank, reverser, rates_to=tuple(example.sizes))
    for name, value in example.sizes.items():
        up, down = (
            kind.move(example.with_sizes({name: value + s}), crank, reverser).place("valve") for s in (step, -step)
        )
        assert motion.rates["valve"][name] == pytest.approx((up - down) / (2 * step), abs=1e-6), name


@EVERY
def test_sweeps_hold_every_picture(kind):
    motion = kind.move(kind.example(), np.linspace(0, 2 * np.pi, 12, endpoint=False), positions_of(kind))
    swept = sweeps(kind, motion)
    shown = picture(kind, motion, position=1, angle=5)
    for member in kind.members:
        points = [complex(*point) for point in shown.links[member.name]]
        assert np.abs(swept[member.name] - points).max(axis=1).min() < 1e-12, member.name


@EVERY
def test_wild_dimensions_give_findings_never_accidents(kind):
    """Dimensions far from any drawing, warnings as errors: finite places or a named pair of links, nothing else."""
    rng, example, failed = np.random.default_rng(8), kind.example(), 0
    for _ in range(40):
        spread = rng.choice([0.03, 0.1, 0.3])
        sizes = {
            size.name: example[size.name] + rng.normal(0, 2 * spread)
            if size.kind == "angle"
            else example[size.name] * np.exp(rng.normal(0, spread))
            for size in kind.sizes
            if size.name in example.sizes
        }
        wild = kind.of(sizes, example.choices)
        motion = kind.move(
            wild, rng.uniform(0, 6.3, 6), positions_of(kind)[:2], joints=True, rates_to=("crank_radius",)
        )
        assert np.isfinite(motion.place("valve")[motion.assembled]).all()
        assert np.isnan(motion.place("valve")[~motion.assembled]).all()
        assert bool(motion.faults) == (not motion.assembled.all())
        assert all(fault.short_mm > 0 and fault.count > 0 for fault in motion.faults)
        failed += bool(motion.faults)
    assert failed < 40
