"""Press, shrink and bonded joints: every row of the reference files. Rows from memory are a group of their own."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from asmade.reckon.joints import bonded, grip, lame, thermal
from asmade.reckon.joints.press import Metal, PressJoint, press

HERE = Path(__file__).parent
MEMORY = "from memory, not confirmed"


def rows(name: str, *categories: str, memory: bool = False) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        found = [row for row in csv.DictReader(file) if not categories or row["category"] in categories]
    return [row for row in found if (row["confirmed"] == MEMORY) == memory]


def given(row: dict[str, str]) -> dict[str, float]:
    return {key: float(value) for key, value in (pair.split("=") for pair in row["inputs"].split(";"))}


def agrees(row: dict[str, str], found: float) -> bool:
    return abs(found - float(row["value"])) <= float(row["tolerance"]) + 1e-9


def test_every_row_is_checked_by_a_group_below() -> None:
    known = {"Lame solid", "Lame hollow", "published example", "DIN 7190 smoothing", "shrink temperature"}
    assert {row["category"] for row in rows("interference_fits.csv")} <= known
    assert {row["category"] for row in rows("interference_fits.csv", memory=True)} == {"DIN 7190 smoothing"}
    assert {row["category"] for row in rows("bonded_joints.csv")} == {
        "ISO 10123 pin and collar",
        "retaining joint strength",
    }
    assert not rows("bonded_joints.csv", memory=True)


@pytest.mark.parametrize("row", rows("interference_fits.csv", "Lame solid", "Lame hollow"), ids=lambda row: row["id"])
def test_lame(row: dict[str, str]) -> None:
    """Lame thick-cylinder equations, plane stress (Shigley, Mechanical Engineering Design)."""
    put = given(row)
    hub = Metal("hub", put["E_hub_MPa"], put["nu_hub"])
    shaft = Metal("shaft", put["E_shaft_MPa"], put["nu_shaft"])
    mu = put.get("mu", 0.1)
    d = put["d_mm"]
    joint = PressJoint(
        d,
        d + put["diametral_interference_mm"],
        put["hub_od_mm"],
        put.get("length_mm", 1.0),
        hub,
        shaft,
        (mu, mu),
        put["shaft_bore_mm"],
    )
    found = press(joint)
    value = {
        "contact pressure": found.pressure_mpa,
        "hoop stress at hub bore": found.hoop_hub_mpa,
        "hoop stress at shaft bore (solid: -p)": found.hoop_shaft_mpa,
        "von Mises at hub bore": found.von_mises_hub_mpa,
        "slip torque": found.torque_nm,
        "axial slip force": found.force_n / 1000,
    }[row["quantity"]]
    assert agrees(row, value), row


@pytest.mark.parametrize("row", rows("interference_fits.csv", "published example"), ids=lambda row: row["id"])
def test_published_examples(row: dict[str, str]) -> None:
    """Timoshenko, Strength of Materials Part II; Numerical Methods with Applications."""
    put = given(row)
    if row["id"] == "timo-compound":
        e = put["E_psi"]
        value = lame.contact_pressure_mpa(
            2 * put["radial_interference_in"],
            2 * put["interface_r_in"],
            2 * put["outer_r_in"],
            2 * put["inner_r_in"],
            e_hub_mpa=e,
            nu_hub=0.3,
            e_shaft_mpa=e,
            nu_shaft=0.3,
        )
    elif row["id"].startswith("timo"):
        value = lame.hoop_at(
            put["at_r_in"], put["inner_r_in"], put["outer_r_in"], inside_mpa=put["internal_pressure_psi"]
        )
    else:
        value = thermal.diameter_change_mm(put["d_in"], put["T_from_F"], put["T_to_F"], put["alpha_per_F"])
    assert agrees(row, float(value)), row


@pytest.mark.parametrize("row", rows("interference_fits.csv", "shrink temperature"), ids=lambda row: row["id"])
def test_shrink_temperature(row: dict[str, str]) -> None:
    """DIN 7190: t = t0 + (U_max + S)/(alpha d)."""
    put = given(row)
    work_out = grip.heat_hub_to_c if row["quantity"].startswith("hub") else grip.cool_shaft_to_c
    value = work_out(
        put["max_interference_um"],
        put["d_mm"],
        put["alpha_per_K"],
        ambient_c=put["ambient_C"],
        clearance_um=put["assembly_clearance_um"],
    )
    assert agrees(row, float(value)), row


@pytest.mark.parametrize("row", rows("interference_fits.csv", memory=True), ids=lambda row: row["id"])
def test_from_memory_smoothing(row: dict[str, str]) -> None:
    """DIN 7190-1 smoothing, from memory on both sides: a mismatch would be a reason to look it up."""
    put = given(row)
    assert agrees(row, float(grip.effective_interference_um(put["U_um"], put["Rz_shaft_um"], put["Rz_hub_um"]))), row


@pytest.mark.parametrize("row", rows("bonded_joints.csv"), ids=lambda row: row["id"])
def test_bonded(row: dict[str, str]) -> None:
    """ISO 10123 pin and collar; uniform shear on the bond cylinder."""
    put = given(row)
    if row["category"].startswith("ISO 10123"):
        value = bonded.shear_strength_mpa(1000 * put["failure_force_kN"], put["pin_d_mm"], put["engaged_length_mm"])
    else:
        size = (put["d_mm"], put["length_mm"], put["shear_strength_MPa"], put["reduction_factor"])
        torque = row["quantity"] == "slip torque"
        value = bonded.bonded_torque_nm(*size) if torque else bonded.bonded_force_n(*size) / 1000
    assert agrees(row, float(value)), row
