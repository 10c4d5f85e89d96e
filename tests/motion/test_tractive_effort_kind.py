"""Pull, mean pressure and steam as findings of a book, against a published pull and refusals."""

from __future__ import annotations

import csv
from importlib.resources import files
from pathlib import Path

import pytest

from asmade.measure.errors import AsmadeError
from asmade.reckon.findings import look_at
from asmade.reckon.values import compute

ANCHORS = Path(__file__).parents[1] / "anchors" / "published_tractive_engine.csv"
PULL = """
[figure]
boiler = { kind = "pressure", drawn = "%s" }

[[tractive_effort]]
name = "pull"
at = [1.0]
pressure = "boiler"
bore = "17 in"
stroke = "24 in"
tread = "68 in"
"""


def found(fold_text, text):
    values = compute(fold_text(text))
    asked = [r for r in values.system.requirements if r.code == "tractive_effort"]
    return {f.subject.split(", ")[1].split(" at reverser")[0]: f for f in look_at(values, asked, samples=0)}


def with_pull(gear_text, pressure="120 psi", more=""):
    figure, relation = (PULL % pressure).split("\n\n")
    line = figure.split("[figure]\n")[1]
    text = gear_text.replace("[figure]", f"[figure]\n{line}", 1) if "[figure]" in gear_text else gear_text + figure
    return f"{text}\n\n{relation}{more}\n"


def test_pull_of_the_published_engine_through_the_book(fold_text, gear_text):
    """Source: the row's own; pull is in proportion to mean pressure, of which the row has 80 psi."""
    with ANCHORS.open(encoding="utf-8") as file:
        row = next(r for r in csv.DictReader(file) if r["id"] == "p-tract-buch-1")
    ours = found(fold_text, with_pull(gear_text))
    psi = ours["mean pressure"].value / 0.006894757
    pull = ours["pull at the tread"].value / 4.4482216152605
    assert pull * 80 / psi == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))
    assert {f.verdict for f in ours.values()} == {"no limits"}
    assert all("common practice, no source" in f.source for f in ours.values())


def test_a_pressure_not_known_is_named_and_is_no_zero(fold_text, gear_text):
    for finding in found(fold_text, with_pull(gear_text, "")).values():
        assert finding.verdict == "not known"
        assert finding.value is None
        assert any("boiler" in each for each in finding.missing)


def test_limits_judge_the_pull_only(fold_text, gear_text):
    ours = found(fold_text, with_pull(gear_text, more='most = "1 N"'))
    assert ours["pull at the tread"].verdict == "fails"
    assert ours["mean pressure"].verdict == "no limits"


def test_pull_over_adhesion_where_the_weight_is_said(fold_text, gear_text):
    ours = found(fold_text, with_pull(gear_text, more='weight = "100000 N"\nfriction = "0.25"'))
    assert ours["pull over adhesion"].value == pytest.approx(ours["pull at the tread"].value / 25000)


@pytest.mark.parametrize("more", ['clearance = "-0.1"', 'diagram_factor = "1.2"', 'gear = "none"', 'clearence = "0.1"'])
def test_what_makes_no_sense_is_refused(fold_text, gear_text, more):
    with pytest.raises(AsmadeError, match="tractive_effort"):
        found(fold_text, with_pull(gear_text, more=more))


def test_rates_against_difference_quotients(fold_text):
    demo = files("asmade.book").joinpath("data", "demo", "harrowgill.toml").read_text(encoding="utf-8")
    values = compute(fold_text(demo))
    system = values.system
    for asked in [r for r in system.requirements if r.code == "tractive_effort"][:3]:
        row = asked.linear(values.of)
        for address in [a for a in asked.reads if "bore" in str(a) or "over_edges" in str(a)][:3]:
            up, down = (
                asked.evaluate(lambda a, s=s, at=address: values.of(a) + (s if a == at else 0.0)) for s in (1e-5, -1e-5)
            )
            assert row.terms[address] == pytest.approx((up - down) / 2e-5, rel=1e-3, abs=1e-5)


def test_the_piston_rod_takes_its_area_off_the_back_end(fold_text, gear_text):
    """Pull by hand from the mean pressures of the ends: area of the piston in front, that less the rod's behind."""
    bare, rod = (found(fold_text, with_pull(gear_text, more=more)) for more in ("", 'rod = "4 in"'))
    share = 1 - 4**2 / 17**2
    pull = rod["pull at the tread"].value
    assert bare["pull at the tread"].value * share < pull < bare["pull at the tread"].value
    assert pull / bare["pull at the tread"].value == pytest.approx(0.5 * (1 + share), abs=2e-3)  # ends nearly alike
    steam = rod["steam in a turn"].value / bare["steam in a turn"].value
    assert steam == pytest.approx(0.5 * (1 + share), abs=2e-3)
    # work in a turn over the volume swept is the mean pressure
    area = 3.141592653589793 / 4 * (17**2 + 17**2 * share) * 25.4**2
    way = 3.141592653589793 * 68 * 25.4
    assert pull == pytest.approx(rod["mean pressure"].value * 2 * area * 24 * 25.4 / way, rel=1e-9)
    wide = found(fold_text, with_pull(gear_text, more='rod = "18 in"'))
    assert wide["pull at the tread"].value is None


def test_placeholders_are_told_with_their_figure(fold_text, gear_text):
    ours = found(fold_text, with_pull(gear_text, more='weight = "100000 N"\nclearance = "0.08"'))
    assert "back_pressure 0.02 MPa, diagram_factor 0.8" in ours["mean pressure"].source
    assert "friction 0.2" in ours["pull over adhesion"].source
    assert "clearance" not in ours["pull over adhesion"].source
    assert "diagram_factor" not in ours["steam in a turn"].source


def test_estimates_at_any_kind_of_values(fold_text, gear_text):
    """At drawn sizes the same as a finding's value where nothing else is known."""
    from asmade.verbs.valves import valves_of

    build = fold_text(with_pull(gear_text, more='weight = "100000 N"'))
    drawn = {e.subject: e.value for e in valves_of(build, values="drawn").estimates}
    best = {e.subject: e.value for e in valves_of(build).estimates}
    assert drawn.keys() == best.keys()
    assert len(drawn) == 4
    for subject, value in drawn.items():
        assert value == pytest.approx(best[subject], rel=0.05)
    missing = valves_of(fold_text(with_pull(gear_text, ""))).estimates[0]
    assert missing.value is None
    assert any("boiler" in each for each in missing.missing)
