"""Coupled wheels from a book: what is found by the kits' names, what is said, and what its spreads carry along."""

from __future__ import annotations

import math

import numpy as np
import pytest

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.bindings.wheels import bind, parts_known, relation_of, spreads_of
from asmade.motion.bindings.wheels_model import Model
from asmade.motion.wheels.chassis import Chassis, names
from asmade.motion.wheels.findings import tightest
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.slack import least_slack
from asmade.reckon.findings import look
from asmade.reckon.values import compute
from asmade.verbs.demo import demo_text
from asmade.verbs.wheels import wheels_of

PLAIN = """
[places]
axles = ["1", "2"]
sides = ["L", "R"]
sections = ["12"]
driven = "2"
[part.frame]
places = ["L", "R"]
[part.frame.dim]
horn_at.1 = { kind = "position", drawn = "120" }
horn_at.2 = { kind = "position", drawn = "0" }
[part.wheel]
places = ["1L", "1R", "2L", "2R"]
[part.wheel.dim]
crank_radius = { kind = "crank radius", drawn = "24" }
[part.wheelset]
places = ["1", "2"]
[part.wheelset.dim]
quarter = { kind = "angle", drawn = "90 deg", signed = true }
[part.crank_pin_a]
places = ["1L", "1R", "2L", "2R"]
[part.crank_pin_a.dim]
journal.diameter = { kind = "shaft", drawn = "8" }
[part.rod]
places = ["12L", "12R"]
form = { kind = "rod" }
[part.rod.dim]
centres = { kind = "centres", drawn = "120", process = "jig bored" }
eye_fore = { kind = "bore", drawn = "8.06", process = "reamed" }
eye_aft = { kind = "bore", drawn = "8.06", process = "reamed" }
"""
BINDING = '[[binding]]\nname = "turn"\nleast = "0.01 mm"\n'


def bound_of(build):
    values = compute(build)
    return bind(relation_of(build.design), values.system.scope), values


def made(piece, dim, reading):
    return f'[[made]]\npiece = "{piece}"\ndim = "{dim}"\nreading = "{reading}"\ninstrument = "mic"\n'


def test_the_chassis_is_that_of_the_figures_themselves(fold_text):
    """The book's way and plain figures give one chassis, row by row."""
    bound, values = bound_of(fold_text(PLAIN))
    by_hand = Chassis.as_drawn(axle_x=[120, 0], crank_radius=24, bush_clearance=0.06, pin=8, box_play=0.0)
    assert np.allclose(bound.chassis(values.of, "blocked").vector(), by_hand.vector())
    assert bound.sections == ("12",)


def test_the_knuckle_of_the_demo_is_found(fold_text):
    bound, values = bound_of(fold_text(demo_text()))
    assert bound.meetings == ("knuckle ahead",)
    rows = dict(zip(names(bound.layout), bound.chassis(values.of).vector()[:, 0], strict=True))
    assert rows["knuckle joint from pin 2L"] == pytest.approx(0.75 * 25.4)
    # Pin to knuckle and on to the rear rod's eye is what the axles stand apart: 146.06 mm on the left as measured.
    assert rows["rod centres 12L"] + rows["knuckle joint from pin 2L"] == pytest.approx(146.06, abs=0.021)
    assert math.degrees(rows["quarter of axle 3"]) == pytest.approx(90.45, abs=0.02)


def test_a_long_rod_and_a_wrong_quarter_bind_as_the_trade_says(fold_text):
    """0.1 too long: 0.03 each way less 0.05; a quarter out by q costs 0.354 r q at 45 degrees (derivation in docs)."""
    rod = PLAIN + BINDING + made("rod#12R", "centres", "120.10")
    found = {f.subject: f for f in look(compute(fold_text(rod)), samples=0)}
    # At the right dead centre: clearance 0.06, the rod out by 0.1 in full.
    assert found["turn@12"].value == pytest.approx(0.06 - 0.10, abs=2e-3)
    assert found["turn@12"].verdict == "fails"
    turned = PLAIN.replace('drawn = "90 deg", signed', 'drawn = "90 deg", drawn_at = { "2" = "90.2 deg" }, signed')
    found = {f.subject: f for f in look(compute(fold_text(turned + BINDING)), samples=0)}
    assert found["turn@12"].value == pytest.approx(0.06 - 0.3536 * 24 * math.radians(0.2), abs=1e-3)


def test_what_is_made_to_suit_carries_its_mates_along(fold_text):
    """A rod bored to the horns as measured: the horns' readings cancel, and only the rod's own scatter is left."""
    suits = """
    [[chain]]
    name = "rod to axles"
    places = ["12L", "12R"]
    is = "rod@{place}.centres - frame@{side}.horn_at.{fore} + frame@{side}.horn_at.{aft}"
    least = "-0.05 mm"
    most = "0.05 mm"
    to_suit = "rod@{place}.centres"
    """
    bound, values = bound_of(fold_text(PLAIN + BINDING + suits.replace("\n    ", "\n")))
    spreads = spreads_of(bound, values, "blocked")
    row = dict(zip(names(bound.layout), range(200), strict=False))
    miss = np.zeros(len(bound.nodes))
    miss[row["axle position 1L"]], miss[row["axle position 2L"]], miss[row["rod centres 12L"]] = 1.0, -1.0, -1.0
    left = dict(spreads.variances(bound.chassis(values.of, "blocked"), miss))
    assert left, "the rod's own scatter is left"
    assert all("horn" not in cause for cause in left)


def test_sampled_builds_spread_as_the_causes_say(fold_text):
    bound, values = bound_of(fold_text(demo_text()))
    spreads = spreads_of(bound, values)
    chassis = bound.chassis(values.of)
    drawn = spreads.draw(chassis, 4000, 3).vector()
    told = np.sqrt((spreads.shared**2).sum(axis=0))
    some = told > 1e-6
    assert some.any()
    ratio = drawn.std(axis=1)[some] / told[some]
    assert (ratio > 0.9).all(), "Student's t where few readings taught spreads no less than the normal"
    assert np.allclose(drawn.std(axis=1)[~some], 0.0, atol=1e-6)


def test_the_model_is_the_sum_of_the_chassis(fold_text):
    bound, values = bound_of(fold_text(demo_text()))
    model = Model(bound, "blocked")
    chassis = bound.chassis(values.of, "blocked")
    for section in range(2):
        row = model.row(section, values.of)
        value = row.constant + sum(rate * values.of(address) for address, rate in row.terms.items())
        assert value == pytest.approx(tightest(chassis, "blocked", section, angles=72).tight.slack_mm, abs=1e-9)
        turned = least_slack(chassis, turn_angles(chassis, 24), "blocked")[section, 0]
        assert model.least(section, values.of) == pytest.approx(turned)


def test_rates_agree_with_difference_quotients(fold_text):
    """Where the slack goes evenly; at a corner (as tight at two places) the rate is one of those beside it."""
    bound, values = bound_of(fold_text(demo_text()))
    model = Model(bound, "blocked")
    row = model.row(1, values.of)
    even = 0

    def slack(address, change):
        found = model.tight(1, lambda a: values.of(a) + (change if a == address else 0.0))
        return found.tight.linear_mm

    here = slack(None, 0.0)
    for address, rate in row.terms.items():
        step = 1e-6 if str(address).endswith("quarter") else 1e-4
        up, down = (slack(address, step) - here) / step, (here - slack(address, -step)) / step
        near = 2e-2 * max(1.0, abs(rate))
        if abs(up - down) < near:
            even += 1
            assert rate == pytest.approx(up, abs=near), address
        else:
            assert min(up, down) - near <= rate <= max(up, down) + near, address
    assert even > 5


def test_every_part_of_a_chassis_that_is_known_is_told(fold_text):
    text = demo_text()
    broken = text.replace(
        'quarter      = { kind = "angle", drawn = "90 deg"', 'quarter      = { kind = "angle", drawn = ""'
    )
    bound, values = bound_of(fold_text(broken))
    missing = [str(a) for a in bound.missing(values.of, "blocked")]
    assert missing == ["wheelset@1.quarter", "wheelset@2.quarter"]
    assert parts_known(bound, values.of, "blocked") == ()
    one = text.replace(
        'quarter      = { kind = "angle", drawn = "90 deg"',
        'quarter      = { kind = "angle", drawn = "90 deg", drawn_at = { "1" = "" }',
    )
    bound, values = bound_of(fold_text(one))
    (part,) = parts_known(bound, values.of, "blocked")
    assert part.axles == ("2", "3"), "the rear rod carries its own pins; the front one is taken off"
    assert bound.part(0, 1) is None, "the front rod hangs on the rear one"


def test_own_parts_are_said_by_sums(fold_text):
    text = (
        PLAIN.replace("crank_pin_a", "journal_pin")
        .replace("[part.rod]", "[part.bar]")
        .replace("[part.rod.dim]", "[part.bar.dim]")
    )
    with pytest.raises(Refused) as refused:
        bound_of(fold_text(text + BINDING))
    assert "pin (crank-pin journal) at 1L, 1R, 2L, 2R" in refused.value.message
    said = text + BINDING + '[binding.sizes]\npin = "journal_pin@{place}.journal.diameter"\n'
    bound, _ = bound_of(fold_text(said))
    assert bound.sections == ("12",)


@pytest.mark.parametrize(
    ("line", "fault", "words"),
    [
        ('boxes = "tight"', Unknown, "boxes"),
        ('least = "-1 mm"', OutOfRange, "0 mm or more"),
        ('meet = ["rigid"]', Refused, "0 inner pins"),
        ('[binding.sizes]\npinn = "8 mm"', Unknown, "pin"),
        ('sizes = "all"', Refused, "table"),
    ],
)  # fmt: skip
def test_bad_bindings_are_refused_by_name(fold_text, line, fault, words):
    text = BINDING.replace('least = "0.01 mm"\n', "") if line.startswith("least") else BINDING
    with pytest.raises(fault) as refused:
        compute(fold_text(PLAIN + text + line + "\n"))
    assert words in f"{refused.value.message} {refused.value.way_out}"


def test_rods_that_cannot_be_assembled_fail_and_do_not_crash(fold_text):
    text = PLAIN + BINDING + made("rod#12L", "eye_fore", "7.90")
    found = {f.subject: f for f in look(compute(fold_text(text)))}
    assert found["turn@12"].verdict == "fails"
    assert found["turn@12"].value == pytest.approx((-0.10 + 0.06) / 2), "each way: half of both ends' clearances"


def test_a_section_without_length_is_not_known(fold_text):
    found = {
        f.subject: f for f in look(compute(fold_text(PLAIN.replace('drawn = "120" }', 'drawn = "0" }') + BINDING)))
    }
    assert found["turn@12"].verdict == "not known"


def test_missing_readings_are_named(fold_text):
    text = PLAIN.replace(
        'crank_radius = { kind = "crank radius", drawn = "24" }', 'crank_radius = { kind = "crank radius" }'
    )
    found = {f.subject: f for f in look(compute(fold_text(text + BINDING)))}
    assert found["turn@12"].verdict == "not known"
    assert "wheel@1L.crank_radius" in found["turn@12"].missing


class TestCheckAndWheelsAgree:
    """One worst case and one chance, whoever asks: the requirement in the book, or ``asmade wheels``."""

    @pytest.mark.parametrize("boxes", ["blocked", "free"])
    def test_on_the_demo(self, fold_text, boxes):
        build = fold_text(
            demo_text().replace('boxes = "free"\nleast = "0.01 mm"', f'boxes = "{boxes}"\nleast = "0.01 mm"')
        )
        found = {f.subject: f for f in look(compute(build)) if f.code == "binding"}
        told = wheels_of(build)
        assert len(found) == 2
        for section in told.sections:
            state = told.state(section)
            of_check = found[f"wheels turn freely@{section.section}"]
            assert of_check.value == pytest.approx(state.slack_mm, abs=1e-6)
            assert of_check.worst_low == pytest.approx(state.worst_mm, abs=1e-9)
            assert 1 - of_check.chance == pytest.approx(state.chance_of_less, abs=1e-9)

    def test_a_section_as_tight_everywhere_is_worst_by_either_side(self, fold_text):
        """Rods as long as the axles stand apart: the slack is even over the turn, and its rates at one place know of
        one side and one sense only. No corner of all causes drawn at random is worse than the worst case."""
        build = fold_text(PLAIN + BINDING)
        values = compute(build)
        (found,) = [f for f in look(values) if f.code == "binding"]
        (section,) = wheels_of(build).sections
        assert found.worst_low == pytest.approx(section.blocked.worst_mm, abs=1e-9)
        bound, _ = bound_of(build)
        spreads = spreads_of(bound, values, "blocked")
        chassis = bound.chassis(values.of, "blocked")
        corners = np.random.default_rng(5).choice([-1.0, 1.0], (spreads.bounds.size, 4000)) * spreads.bounds[:, None]
        many = chassis.with_vector(chassis.vector() + spreads.rates.T @ corners)
        worst = least_slack(many, turn_angles(chassis, 72), "blocked").min()
        assert found.worst_low <= worst + 1e-9
        assert worst < found.value - 0.05, "the corners reach far"

    def test_run_out_enters_the_chance(self, fold_text):
        """A dial that reads 0.24 on every pin's seat: 0.12 off, far over the 0.06 that the bushes give."""
        true = fold_text(PLAIN + BINDING)
        out = fold_text(PLAIN + BINDING + '[binding.sizes]\nrun_out = "0.24 mm"\n')
        chances = []
        for build in (true, out):
            (found,) = [f for f in look(compute(build)) if f.code == "binding"]
            chances.append(found.chance)
        assert chances[1] < 0.5 * chances[0]
        (section,) = wheels_of(out).sections
        assert 1 - chances[1] == pytest.approx(section.blocked.chance_of_less, abs=1e-9)
