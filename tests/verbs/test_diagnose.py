"""asmade diagnose: observations as they are said at the bench, a known fault found again, what is refused."""

from __future__ import annotations

import math

import pytest

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.bindings.wheels import bind, relation_of, spreads_of
from asmade.motion.wheels.trials import Fitted, observe
from asmade.reckon.values import compute
from asmade.verbs.demo import demo_text
from asmade.verbs.diagnose import diagnose_build, plain, read_observation


@pytest.fixture(scope="module")
def build(fold_text):
    return fold_text(demo_text())


@pytest.fixture(scope="module")
def bound(build):
    return bind(relation_of(build.design), compute(build).system.scope)


def test_an_observation_is_read_as_it_is_said(bound):
    trial = read_observation("12 23 left free forward: 350 to 10, 100-120; 23L is too long at 45", bound)
    assert trial.fitted == Fitted((0, 1), "L", "free")
    assert trial.direction == "forward"
    assert [round(math.degrees(arc.start)) for arc in trial.tight] == [350, 100]
    assert trial.looks[0].says == "too long"
    assert trial.looks[0].section == 1
    bears = read_observation("23: 30-60, 23R bears outside at 45, 23R bears inside at 225", bound).looks
    assert [look.says for look in bears] == ["too short", "too long"]
    assert read_observation("23: nowhere", bound).tight == ()
    assert read_observation("all: nowhere", bound).fitted.sections == (0, 1)


@pytest.mark.parametrize(
    ("text", "fault", "words"),
    [
        ("23 30-60", Refused, "no colon"),
        ("23:", Refused, "no colon"),
        ("24: nowhere", Unknown, "23"),
        (": nowhere", Unknown, "before the colon"),
        ("left: nowhere", Refused, "which sections"),
        ("23 left right: nowhere", Refused, "left and right"),
        ("23: nowhere, 30-60", Refused, "nowhere and somewhere"),
        ("23: 23R too long at 45", Refused, "where it is tight"),
        ("23: around noon", Refused, "neither an arc"),
        ("23: 30-400", OutOfRange, "0 to 360"),
        ("23: 30-60, 45R too long at 45", Unknown, "rods are named"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_an_example(bound, text, fault, words):
    with pytest.raises(fault) as refused:
        read_observation(text, bound)
    assert words in f"{refused.value.message} {refused.value.way_out}"


def test_nothing_observed_is_refused(build):
    with pytest.raises(Refused):
        diagnose_build(build, ())


def test_a_rod_that_hangs_on_another_cannot_be_on_alone(build):
    with pytest.raises(Refused) as refused:
        diagnose_build(build, ["12: nowhere"], per_cause=10)
    assert "carrying rod" in refused.value.way_out


def test_a_known_fault_beyond_the_spreads_ranks_high(fold_text):
    """A crank radius 0.25 too long at 2R, all quarters read alike: seen at trial turning, it is among the first two."""
    reading = "".join(
        f'[[made]]\npiece = "wheelset#{axle}"\ndim = "quarter"\nreading = "90.45"\n'
        f'instrument = "dividing head and dial indicator"\nat = 2026-11-20T10:0{axle}:00\n'
        for axle in "12"
    )
    build = fold_text(demo_text() + "\n" + reading)
    values = compute(build)
    bound = bind(relation_of(build.design), values.system.scope)
    right = bound.chassis(values.of, "blocked")
    radius = right.crank_radius.copy()
    radius[1, 1] += 0.25
    seen = observe(right.replace_unchecked(crank_radius=radius), Fitted((1,), "both", "blocked"), look=True)
    assert seen.tight
    said = ", ".join(
        [f"{math.degrees(a.start) % 360:.0f}-{math.degrees(a.end) % 360:.0f}" for a in seen.tight]
        + [f"23{k.side} {k.says} at {math.degrees(k.at):.0f}" for k in seen.looks]
    )
    found = diagnose_build(build, [f"23: {said}"], per_cause=150)
    assert "crank radius 2R" in " ".join(s.what for s in found.suspects[:2])
    assert spreads_of(bound, values).causes


def test_the_answer_names_sizes_and_the_measurement_to_take(build):
    found = diagnose_build(build, ["23: 15-70, 195-250"], per_cause=60)
    assert sum(s.probability for s in found.suspects) <= 1 + 1e-9
    assert found.measure is not None
    assert any("see `asmade wheels` first" in remark for remark in found.remarks)
    data = plain(found)
    assert data["causes"][0]["probability"] >= data["causes"][1]["probability"]
    assert any("wheelset@" in size for cause in data["causes"] for size in cause["sizes"])
    assert data["read_as"] == ["section 23, both sides, boxes blocked: tight 15 to 70, 195 to 250"]
