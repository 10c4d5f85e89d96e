"""Published cutting speeds and specific cutting forces: every row, recalled rows as a group of their own."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from asmade.standards.cutting import (
    cutting_force,
    cutting_force_of,
    handbook_speed,
    school_cutting_force,
    specific_cutting_force,
    spindle_speed,
    surface_speed,
)

RECALLED = "from memory, not confirmed"
HERE = Path(__file__).parent


def rows(name):
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def inputs_of(row):
    return dict(pair.split("=", 1) for pair in row["inputs"].split(";"))


ROWS = rows("cutting_data") + rows("shop_speeds")


def value(row):
    given, quantity = inputs_of(row), row["quantity"]
    if quantity == "cutting speed":
        return handbook_speed(given["material"], given["condition"], given["operation"], given["tool"]).ft_min
    if quantity == "speed":
        if "m_per_min" in given:
            return spindle_speed(float(given["m_per_min"]), float(given["diameter_mm"]))
        return spindle_speed(float(given["ft_per_min"]) * 0.3048, float(given["diameter_in"]) * 25.4)
    if "h_mm" in given:
        kc11, mc, h = float(given["kc1.1"]), float(given["mc"]), float(given["h_mm"])
        return (
            specific_cutting_force(kc11, mc, h)
            if quantity == "kc"
            else cutting_force(kc11, mc, h, float(given["b_mm"]))
        )
    force = (
        cutting_force_of(int(given["vdi_group"])) if "vdi_group" in given else school_cutting_force(given["material"])
    )
    return force.mc if quantity == "mc" else force.kc11_mpa


def check(row):
    found = value(row)
    assert abs(found - float(row["value"])) <= float(row["tolerance"]) + 1e-9, f"{row['source']}; here {found}"


@pytest.mark.parametrize("row", [r for r in ROWS if r["confirmed"] != RECALLED], ids=lambda r: r["id"])
def test_printed(row):
    check(row)
    given = inputs_of(row)
    if "operation" in given:
        assert not handbook_speed(given["material"], given["condition"], given["operation"], given["tool"]).recalled


@pytest.mark.parametrize("row", [r for r in ROWS if r["confirmed"] == RECALLED], ids=lambda r: r["id"])
def test_recalled(row):
    check(row)


@pytest.mark.parametrize("row", rows("shop_speeds"), ids=lambda r: r["id"])
def test_speed_turns_round(row):
    given = inputs_of(row)
    diameter = float(given["diameter_mm"]) if "diameter_mm" in given else float(given["diameter_in"]) * 25.4
    speed = float(given["m_per_min"]) if "m_per_min" in given else float(given["ft_per_min"]) * 0.3048
    assert surface_speed(diameter, float(row["value"])) == pytest.approx(speed, rel=1e-6)
