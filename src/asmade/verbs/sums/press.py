"""Quick sum: a press or shrink joint from its sizes, metals and friction."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from asmade.measure.errors import AsmadeError, OutOfRange, Refused
from asmade.reckon.joints import grip, lame
from asmade.reckon.joints.press import CAUTIONS, Metal, Press, PressJoint, chances, friction_range
from asmade.reckon.joints.press import press as worked
from asmade.reckon.metals import metal, usual_friction
from asmade.standards.fits import wanted
from asmade.standards.materials import material
from asmade.verbs.sums.result import QuickSum, Rows, amount, figure, mm, pair, quantity, size, thou, unique

LEAST_MODULUS_MPA: Final = 1000.0
ROOM_C: Final = 20.0
SEED: Final = 286
TURNING_NM: Final = 1000.0  # N mm in one N m


@dataclass(frozen=True, slots=True)
class Asked:
    """What is given of a press joint, as written; empty = not said."""

    shaft: str = ""  # diameter of the joint, or the shaft as measured where a hole is given too
    hub: str = ""
    length: str = ""
    tight: str = ""
    hole: str = ""
    want: str = ""
    pressure: str = ""  # wanted at the joint: gives the tightness
    shaft_bore: str = ""
    hub_material: str = "cast iron 250"
    shaft_material: str = "bright mild steel"
    friction: str = ""
    hub_rz: str = ""
    shaft_rz: str = ""
    turning: str = ""
    along: str = ""
    hub_modulus: str = ""
    hub_poisson: str = ""
    shaft_modulus: str = ""
    shaft_poisson: str = ""
    hole_spread: str = ""
    shaft_spread: str = ""
    shrunk: bool = False


def press(asked: Asked) -> QuickSum:
    """Pressure, stresses against strength, grip, force to press in, temperatures; chances where spreads are given."""
    read_as: list[str] = []
    d, least, most = _sizes(asked, read_as)
    hub_od = _read(asked.hub, "outside diameter of the hub", read_as)
    length = _read(asked.length, "joint length", read_as)
    bore = _read(asked.shaft_bore, "bore of the shaft", read_as) if asked.shaft_bore else 0.0
    lame.hub_hoop_mpa(0.0, d, hub_od)  # a hub without metal is refused before anything is made of its wall
    sources: list[str] = []
    hub = _metal(asked.hub_material, asked.hub_modulus, asked.hub_poisson, sources, read_as, hub_od, (hub_od - d) / 2)
    shaft = _metal(asked.shaft_material, asked.shaft_modulus, asked.shaft_poisson, sources, read_as, d, None)
    if asked.pressure:
        least = most = _tight_for(asked.pressure, d, hub_od, bore, hub, shaft, read_as)
    friction = _friction(asked, read_as)
    rz_hub = quantity(asked.hub_rz, "number", "Rz of the hub, µm")[0] if asked.hub_rz else None
    rz_shaft = quantity(asked.shaft_rz, "number", "Rz of the shaft, µm")[0] if asked.shaft_rz else None
    joint = PressJoint(
        hole_mm=d,
        shaft_mm=d + most,
        hub_od_mm=hub_od,
        length_mm=length,
        hub=hub,
        shaft=shaft,
        friction=friction,
        shaft_bore_mm=bore,
        rz_hub_um=rz_hub,
        rz_shaft_um=rz_shaft,
    )
    tightest = worked(joint)
    loosest = tightest if least == most else worked(replace(joint, shaft_mm=d + max(least, 0.0)))
    demand = _demand(asked, read_as)
    temperatures, temperature_data = _temperatures(asked, joint, tightest.interference_mm)
    chance_rows, chance_data = _chances(asked, joint, demand, read_as)
    tables = [_pressure(tightest, loosest), _strength(tightest), _grip(tightest, loosest, demand)]
    tables += [Rows("To put it together and take it apart", ("", "°C"), temperatures, (1,))] if temperatures else []
    tables += [Rows("Chances with these spreads", ("", ""), chance_rows, (1,))] if chance_rows else []
    return QuickSum(
        "press",
        tuple(read_as),
        tuple(tables),
        _working(tightest, loosest),
        unique(
            (
                lame.SOURCE,
                "friction: table friction, from memory, check before relying on it"
                if not asked.friction
                else "friction as given",
                *sources,
            )
        ),
        {**_data(tightest, loosest), **demand, **temperature_data, **chance_data},
        cautions=CAUTIONS,
        notes=(*tightest.notes, *(("it may come out without any tightness at all",) if least <= 0 else ())),
    )


def _sizes(asked: Asked, read_as: list[str]) -> tuple[float, float, float]:
    """Diameter of the joint, least and most tightness on diameter (equal where one is meant)."""
    given = [name for name in ("tight", "hole", "want", "pressure") if getattr(asked, name)]
    if len(given) != 1:
        raise Refused(
            "tightness",
            got=" and ".join(given) or "nothing",
            reason="give one of --tight, --hole, --want, --pressure",
            way_out="--tight 0.012, or --hole as measured, or --want H7/s6 or press",
        )
    shaft = _read(asked.shaft, "shaft", read_as)
    if asked.tight:
        found = amount(asked.tight, "tight by")
        read_as.append(f"tight by {found.how}")
        return shaft, float(found.mm), float(found.mm)
    if asked.hole:
        hole = _read(asked.hole, "hole", read_as)
        tight = round(shaft - hole, 9)
        if tight < 0:
            raise OutOfRange(
                "interference",
                got=f"{tight:g} mm",
                allowed="0 mm or more",
                way_out="the shaft is smaller than the hole: bond it (asmade reckon bond)",
            )
        return hole, tight, tight
    if asked.pressure:
        return shaft, 0.0, 0.0  # known once the metals are
    fit = wanted(asked.want, shaft)
    read_as.append(f"{fit.words}: tight by {mm(-fit.most_mm)} to {mm(-fit.least_mm)} mm")
    if fit.least_mm >= 0:
        raise OutOfRange(
            f"fit {asked.want!r}",
            got=f"{fit.least_mm:.3f} to {fit.most_mm:.3f} mm clear",
            allowed="fits that are tight",
            source=fit.source,
            way_out="press, drive, H7/p6, H7/s6",
        )
    return shaft, -fit.most_mm, -fit.least_mm


def _tight_for(
    pressure: str, d: float, hub_od: float, bore: float, hub: Metal, shaft: Metal, read_as: list[str]
) -> float:
    """Tightness on diameter that gives a wanted pressure."""
    wanted_mpa, said = quantity(pressure, "pressure", "pressure wanted", bare="MPa")
    read_as.append(said)
    return float(
        lame.interference_for_pressure_mm(
            wanted_mpa,
            d,
            hub_od,
            bore,
            e_hub_mpa=hub.e_mpa,
            nu_hub=hub.nu,
            e_shaft_mpa=shaft.e_mpa,
            nu_shaft=shaft.nu,
        )
    )


def _read(text: str, thing: str, read_as: list[str]) -> float:
    if not text:
        raise Refused(thing, got=text, reason="it is missing", way_out="see asmade reckon press --help")
    found = size(text, thing)
    read_as.append(f"{thing} {found.how}")
    return float(found.mm)


def _metal(
    name: str, modulus: str, poisson: str, sources: list[str], read_as: list[str], size_mm: float, wall_mm: float | None
) -> Metal:
    found, said = metal(name, size_mm=size_mm, wall_mm=wall_mm)
    sources.extend(said)
    read_as.append(f"{material(name).title} ({found.name})")
    if modulus:
        e_mpa = quantity(modulus, "pressure", "modulus of elasticity", bare="MPa")[0]
        if e_mpa < LEAST_MODULUS_MPA:
            raise OutOfRange(
                "modulus of elasticity",
                got=f"{e_mpa:g} MPa",
                allowed=f"above {LEAST_MODULUS_MPA:g} MPa",
                way_out="write it as 210 GPa",
            )
        found = replace(found, e_mpa=e_mpa)
    if poisson:
        found = replace(found, nu=quantity(poisson, "number", "Poisson's ratio")[0])
    return found


def _friction(asked: Asked, read_as: list[str]) -> tuple[float, float]:
    if asked.friction:
        low, high, said = pair(asked.friction, "friction", "friction")
        read_as.append(said)
        return low, high
    name = usual_friction(asked.hub_material, asked.shaft_material, shrunk=asked.shrunk)
    low, high = friction_range(name)
    read_as.append(f"friction {low:g} to {high:g} ({name})")
    return low, high


def _demand(asked: Asked, read_as: list[str]) -> dict[str, Any]:
    data: dict[str, Any] = {}
    if asked.turning:
        value, said = quantity(asked.turning, "torque", "to be carried turning", bare="N m")
        data["torque_needed_nm"] = value / TURNING_NM
        read_as.append(said)
    if asked.along:
        value, said = quantity(asked.along, "force", "to be carried along", bare="N")
        data["force_needed_n"] = value
        read_as.append(said)
    return data


def _pressure(tight: Press, loose: Press) -> Rows:
    rows = []
    both = loose is not tight
    for name, key, unit in (
        ("tight by, on diameter", "interference_mm", "mm"),
        ("pressure", "pressure_mpa", "MPa"),
        ("hoop stress at the hub's bore", "hoop_hub_mpa", "MPa"),
        ("von Mises stress there", "von_mises_hub_mpa", "MPa"),
        ("hoop stress in the shaft", "hoop_shaft_mpa", "MPa"),
        ("hub grows outside by", "hub_growth_mm", "mm"),
        ("shaft's bore closes by", "bore_closing_mm", "mm"),
    ):
        if key == "bore_closing_mm" and not tight.joint.shaft_bore_mm:
            continue  # a solid shaft has none
        values = [getattr(one, key) for one in ((loose, tight) if both else (tight,))]
        rows.append((name, *(mm(v, "0.0001") if unit == "mm" else figure(v) for v in values), unit))
    heads = ("least tight", "most tight") if both else ("",)
    return Rows("Press joint", ("", *heads, ""), tuple(rows), tuple(range(1, len(heads) + 1)))


def _strength(tight: Press) -> Rows:
    rows = []
    for part, one, which in (
        ("hub", tight.hub_strength, tight.joint.hub),
        ("shaft", tight.shaft_strength, tight.joint.shaft),
    ):
        verdict = "not known" if one.value is None else ("holds" if one.value >= 1 else "TOO MUCH")
        strength = which.strength_mpa
        rows.append((part, which.name, figure(strength), figure(one.put_in[1].value, 2), figure(one.value, 3), verdict))
    return Rows(
        "Against strength, at the tightest",
        ("", "", "strength MPa", "factor", "allowed over stress", ""),
        tuple(rows),
        (2, 3, 4),
    )


def _grip(tight: Press, loose: Press, demand: dict[str, Any]) -> Rows:
    rows = [
        (
            "torque it holds",
            figure(loose.torque_nm),
            figure(tight.torque_most_nm),
            "N m",
            _over(loose.torque_nm, demand, "torque_needed_nm"),
        ),
        (
            "force along it holds",
            figure(loose.force_n),
            figure(tight.force_most_n),
            "N",
            _over(loose.force_n, demand, "force_needed_n"),
        ),
        ("force to press it in", "", figure(tight.press_in_n), "N", ""),
    ]
    return Rows("Grip, from least to most", ("", "least", "most", "", "over what is asked"), tuple(rows), (1, 2, 4))


def _over(held: float, demand: dict[str, Any], key: str) -> str:
    needed = demand.get(key)
    return "" if needed is None else f"{figure(held / needed, 3)} times" if needed > 0 else "nothing is asked"


def _temperatures(
    asked: Asked, joint: PressJoint, tight_mm: float
) -> tuple[tuple[tuple[str, ...], ...], dict[str, Any]]:
    """Temperatures to put it together by heating the hub or cooling the shaft, and at which it is loose."""
    alphas = []
    for name in (asked.hub_material, asked.shaft_material):
        try:
            alphas.append(material(name).expansion_per_k)
        except AsmadeError:
            return (), {}
    d, um = joint.hole_mm, tight_mm * 1000
    hot = float(grip.heat_hub_to_c(um, d, alphas[0], ambient_c=ROOM_C))
    rows, data = [("heat the hub to, to slip on", f"{hot:.0f}")], {"heat_hub_to_c": hot}
    if hot > grip.HOTTEST_HUB_C:
        rows.append(("... but plain steel and iron should stay below", f"{grip.HOTTEST_HUB_C}"))
    try:
        when_cold = grip.expansion_when_cold_per_k(alphas[1])
        cold = float(grip.cool_shaft_to_c(um, d, when_cold, ambient_c=ROOM_C))
    except AsmadeError:
        rows.append(("cool the shaft to", "colder than can be had"))
    else:
        rows.append(("or cool the shaft to", f"{cold:.0f}"))
        data["cool_shaft_to_c"] = cold
    loose = grip.loose_at_c(um, d, *alphas, ambient_c=ROOM_C)
    through = "cold" if loose is not None and loose < ROOM_C else "warm"
    rows.append((f"loose, {through} through and through, at", "never" if loose is None else f"{loose:.0f}"))
    if loose is not None:
        data["loose_at_c"] = loose
    return tuple(rows), data


def _chances(
    asked: Asked, joint: PressJoint, demand: dict[str, Any], read_as: list[str]
) -> tuple[tuple[tuple[str, ...], ...], dict[str, Any]]:
    if not asked.hole_spread and not asked.shaft_spread:
        return (), {}
    spreads = []
    for text, thing in ((asked.hole_spread, "spread of the hole"), (asked.shaft_spread, "spread of the shaft")):
        found = amount(text, thing) if text else None
        spreads.append(0.0 if found is None else float(found.mm))
        read_as.append(f"{thing}: {'none' if found is None else found.how}")
    chance = chances(
        joint,
        hole_sd_mm=spreads[0],
        shaft_sd_mm=spreads[1],
        seed=SEED,
        torque_needed_nm=demand.get("torque_needed_nm"),
        force_needed_n=demand.get("force_needed_n"),
    )
    named = {
        "hub cracks" if joint.hub.brittle else "hub yields at its bore": chance.hub_gives,
        "shaft yields": chance.shaft_gives,
        "slips turning": chance.slips_turning,
        "slips along": chance.slips_along,
        "comes out without any tightness": chance.no_interference,
    }
    rows = tuple((name, "not known" if v is None else _per_cent(v)) for name, v in named.items())
    return rows, {
        "chance_hub_gives": chance.hub_gives,
        "chance_shaft_gives": chance.shaft_gives,
        "chance_slips_turning": chance.slips_turning,
        "chance_slips_along": chance.slips_along,
        "chance_no_tightness": chance.no_interference,
        "not_known": list(chance.missing),
    }


def _per_cent(chance: float) -> str:
    if 0 < chance < 0.001:
        return "< 0.1 %"
    return f"{100 * chance:.1f} %" if chance < 0.9995 or chance == 1 else "> 99.9 %"


def _working(tight: Press, loose: Press) -> tuple[str, ...]:
    j = tight.joint
    k = lame.compliance_per_mpa(
        j.hole_mm, j.hub_od_mm, j.shaft_bore_mm, j.hub.e_mpa, j.hub.nu, j.shaft.e_mpa, j.shaft.nu
    )
    d, big = j.hole_mm, j.hub_od_mm
    held, mu = loose.grip_pressure_mpa, j.friction[0]
    return (
        f"K = [(D^2 + d^2)/(D^2 - d^2) + nu_hub]/E_hub + [(d^2 + b^2)/(d^2 - b^2) - nu_shaft]/E_shaft = {k:.5e}",
        (
            f"with D = {big:g}, d = {d:g}, b = {j.shaft_bore_mm:g} mm; hub E {j.hub.e_mpa:g} MPa, nu {j.hub.nu:g}; "
            f"shaft E {j.shaft.e_mpa:g} MPa, nu {j.shaft.nu:g}"
        ),
        f"pressure = tight/(d K) = {tight.interference_mm:g}/({d:g} x {k:.5e}) = {tight.pressure_mpa:.3f} MPa",
        f"hoop stress in the hub = p (D^2 + d^2)/(D^2 - d^2) = {tight.hoop_hub_mpa:.3f} MPa",
        f"torque = mu p pi d^2 L/2 = {mu:g} x {held:.3f} pi {d:g}^2 x {j.length_mm:g}/2 = {loose.torque_nm:.3f} N m",
        (
            f"force along = mu p pi d L = {loose.force_n:.1f} N; to press in, at the most friction {j.friction[1]:g}: "
            f"{tight.press_in_n:.0f} N"
        ),
        tight.hub_strength.working,
        tight.shaft_strength.working,
        f"on diameter {tight.interference_mm:.4f} mm is {thou(tight.interference_mm)} thou",
    )


def _data(tight: Press, loose: Press) -> dict[str, Any]:
    j = tight.joint
    return {
        "joint_mm": j.hole_mm,
        "hub_mm": j.hub_od_mm,
        "length_mm": j.length_mm,
        "tight_mm": tight.interference_mm,
        "tight_least_mm": loose.interference_mm,
        "gripping_mm": loose.gripping_mm,
        "pressure_mpa": tight.pressure_mpa,
        "pressure_least_mpa": loose.pressure_mpa,
        "hoop_hub_mpa": tight.hoop_hub_mpa,
        "von_mises_hub_mpa": tight.von_mises_hub_mpa,
        "hoop_shaft_mpa": tight.hoop_shaft_mpa,
        "von_mises_shaft_mpa": tight.von_mises_shaft_mpa,
        "hub_strength_mpa": j.hub.strength_mpa,
        "shaft_strength_mpa": j.shaft.strength_mpa,
        "hub_margin": tight.hub_strength.value,
        "shaft_margin": tight.shaft_strength.value,
        "torque_nm": loose.torque_nm,
        "torque_most_nm": tight.torque_most_nm,
        "force_n": loose.force_n,
        "force_most_n": tight.force_most_n,
        "press_in_n": tight.press_in_n,
        "hub_growth_mm": tight.hub_growth_mm,
        "bore_closing_mm": tight.bore_closing_mm,
        "friction_least": j.friction[0],
        "friction_most": j.friction[1],
        "hub_material": j.hub.name,
        "shaft_material": j.shaft.name,
    }
