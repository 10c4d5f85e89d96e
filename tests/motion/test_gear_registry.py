"""Every gear found by name has a source, an anchor, a worked example that assembles, and a picture."""

from __future__ import annotations

import numpy as np
import pytest

from asmade.measure.errors import Unknown
from asmade.motion.gears import gear, gears, picture

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
    assert len(names) == len(set(names))
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
