"""Published wheel and track standards, versines and offsets from a chord: every row of the reference file."""

from __future__ import annotations

import csv
from math import radians, sin
from pathlib import Path

import pytest

from asmade.motion.wheels.curve import flange_freedom, offset_from_chord, versine

HERE = Path(__file__).parent


def rows() -> list[dict[str, str]]:
    with (HERE / "published_wheel_track.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def given(row: dict[str, str]) -> dict[str, float]:
    return {key: float(value) for key, value in (pair.split("=") for pair in row["inputs"].split(";"))}


def of_category(*names: str) -> list[dict[str, str]]:
    found = [row for row in rows() if row["category"] in names]
    assert found
    return found


def close(row: dict[str, str], got: float) -> bool:
    return abs(got - float(row["value"])) <= float(row["tolerance"]) + 1e-12


@pytest.mark.parametrize("row", of_category("versine"), ids=lambda row: row["id"])
def test_versine_of_a_curve(row):
    """Basak, Surveying and Levelling, ch. 10."""
    put = given(row)
    chord = put["chord_m"] if "chord_m" in put else 2 * put["radius_m"] * sin(radians(put["angle_deg"]) / 2)
    got = chord if row["quantity"] == "long chord" else versine(put["radius_m"], chord)
    assert close(row, got)


@pytest.mark.parametrize("row", of_category("offsets from the long chord"), ids=lambda row: row["id"])
def test_offset_from_the_long_chord(row):
    """Basak, Surveying and Levelling, ch. 10; the sideways movement of an inner axle on a curve."""
    put = given(row)
    assert close(row, offset_from_chord(put["radius_m"], put["half_chord_m"], put["distance_from_middle_m"]))


@pytest.mark.parametrize("row", of_category("wheel to rail clearance"), ids=lambda row: row["id"])
def test_side_play_between_the_rails(row):
    """Comparison of published 3 1/2 in gauge wheel standards."""
    put = given(row)
    got = flange_freedom(put["gauge_in"], put["back_to_back_in"], put["flange_thickness_in"])
    assert close(row, got)


def test_published_standards_agree_with_each_other():
    """Back to back plus one flange is the check gauge, plus two flanges the set gauge (same publication)."""
    by_id = {row["id"]: float(row["value"]) for row in rows()}
    back_to_back, flange = 3.28, by_id["p-wheel-s35b-2"]
    assert by_id["p-wheel-s35b-3"] == pytest.approx(back_to_back + flange, abs=0.0055)
    assert by_id["p-wheel-s35b-5"] == pytest.approx(back_to_back + 2 * flange, abs=0.0105)
    free = flange_freedom(3.5, back_to_back, flange)
    assert by_id["p-wheel-s35b-1"] - by_id["p-wheel-s35b-5"] == pytest.approx(free + 0.06, abs=0.0205)
