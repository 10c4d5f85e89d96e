"""Quick sum: a pin, key or grub screw that backs a joint up."""

from __future__ import annotations

from typing import Any

from asmade.measure.errors import Refused
from asmade.reckon.joints.pinned import (
    cross_pin_torque_nm,
    grub_screw,
    grub_screw_torque_nm,
    joint_line_pin_torque_nm,
    key_torque_nm,
    pin_shear_force_n,
    shear_yield_mpa,
)
from asmade.reckon.metals import metal
from asmade.verbs.sums.result import QuickSum, Rows, figure, quantity, size

CRUSHING = 1.5
"""Crushing stress allowed over the shear stress allowed: common practice, no source."""


def pin(
    text: str = "",
    *,
    shaft: str = "",
    length: str = "",
    height: str = "",
    material_name: str = "silver steel",
    shear: str = "",
    crushing: str = "",
    safety: str = "2",
    turning: str = "",
    grub: str = "",
) -> QuickSum:
    """What a pin of diameter (or a key of width) ``text`` holds: across, through a shaft, along the joint, as a key.

    ``length`` with it: let in along the joint, half in each; ``height`` besides: a key. ``grub``: a grub screw instead.
    """
    if grub:
        return _grub(grub, shaft)
    thing = "key width" if height else "pin"
    found = size(text, thing) if text else None
    if found is None:
        raise Refused(thing, got=text, reason="it is missing", way_out="asmade reckon pin 3 --shaft 12")
    d = float(found.mm)
    read_as = [f"{thing} {found.how}"]
    factor = quantity(safety, "number", "factor of safety")[0]
    if factor < 1:
        raise Refused("factor of safety", got=safety, reason="below 1 it is none", way_out="2 is usual")
    stress, sources, working = _shear(material_name, shear, d, factor, read_as)
    crush = quantity(crushing, "pressure", "crushing stress", bare="MPa")[0] if crushing else CRUSHING * stress
    data: dict[str, Any] = {"pin_mm": d, "shear_mpa": stress, "crushing_mpa": crush, "safety": factor}
    rows: list[tuple[str, ...]] = []
    if not height:
        for planes, words in ((1, "single shear"), (2, "double shear")):
            force = float(pin_shear_force_n(d, stress, planes))
            rows.append((f"force across, {words}", figure(force), "N"))
            data["force_n" if planes == 1 else "force_double_n"] = force
        working.append(f"force = n tau pi d^2/4 = {stress:g} x pi x {d:g}^2/4 = {data['force_n']:.1f} N a plane")
    if shaft:
        through = size(shaft, "shaft")
        read_as.append(f"shaft {through.how}")
        _in_shaft(d, float(through.mm), length, height, stress, crush, rows, data, working, read_as)
    elif length or height:
        raise Refused("shaft", got=shaft, reason="a pin along the joint or a key needs its shaft", way_out="--shaft 12")
    if turning:
        needed = quantity(turning, "torque", "to be carried turning", bare="N m")[0] / 1000
        data["torque_needed_nm"] = needed
        if "torque_nm" in data and needed > 0:
            rows.append(("over what is asked", figure(data["torque_nm"] / needed, 3), "times"))
    return QuickSum(
        "pin",
        tuple(read_as),
        (Rows(f"{thing} {d:g} mm at {figure(stress, 3)} MPa in shear", ("", "", ""), tuple(rows), (1,)),),
        tuple(working),
        (
            *sources,
            "Shigley, Mechanical Engineering Design, pins and keys in shear",
            "crushing 1.5 times the shear allowed unless given: common practice, no source",
        ),
        data,
        notes=("the hole weakens the shaft: this is not in the sum",),
        cautions=("A pin drilled across a finished joint cannot be undrilled: measure, mark, and clamp first.",),
    )


def _shear(name: str, shear: str, d: float, factor: float, read_as: list[str]) -> tuple[float, list[str], list[str]]:
    if shear:
        stress, said = quantity(shear, "pressure", "shear stress allowed", bare="MPa")
        read_as.append(said)
        return stress / factor, ["shear stress as given"], [f"tau = {stress:g}/{factor:g} = {stress / factor:.1f} MPa"]
    found, said_of = metal(name, size_mm=d)
    if found.proof_mpa is None:
        raise Refused(
            "pin material",
            got=name,
            reason="its proof strength is not held",
            way_out="give the stress it may bear: --shear '100 MPa'",
        )
    stress = float(shear_yield_mpa(found.proof_mpa)) / factor
    read_as.append(f"pin of {found.name}, proof strength {found.proof_mpa:g} MPa")
    return stress, list(said_of), [f"tau = Rp/sqrt(3)/safety = {found.proof_mpa:g}/1.732/{factor:g} = {stress:.1f} MPa"]


def _in_shaft(
    d: float,
    shaft: float,
    length: str,
    height: str,
    stress: float,
    crush: float,
    rows: list[tuple[str, ...]],
    data: dict[str, Any],
    working: list[str],
    read_as: list[str],
) -> None:
    data["shaft_mm"] = shaft
    if not length:
        torque = float(cross_pin_torque_nm(d, shaft, stress))
        rows.append(("torque, right through the shaft", figure(torque), "N m"))
        working.append(
            f"torque = tau 2 pi d^2/4 D/2 = {stress:.1f} x 2 pi x {d:g}^2/4 x {shaft:g}/2 = {torque:.3f} N m"
        )
        data["torque_nm"] = torque
        return
    along = size(length, "length")
    read_as.append(f"length {along.how}")
    long = float(along.mm)
    tall = float(size(height, "key height").mm) if height else d
    if height:
        torque = float(key_torque_nm(d, tall, long, shaft, stress, crush))
    else:
        torque = float(joint_line_pin_torque_nm(d, long, shaft, stress, crush))
    rows.append(("torque, as a key" if height else "torque, let in along the joint", figure(torque), "N m"))
    working.append(
        f"torque = the lesser of tau b l D/2 = {stress * d * long * shaft / 2000:.3f} and p h/2 l D/2 = "
        f"{crush * tall / 2 * long * shaft / 2000:.3f} N m"
    )
    data |= {"torque_nm": torque, "length_mm": long, "height_mm": tall}


def _grub(text: str, shaft: str) -> QuickSum:
    from asmade.measure.threads import read_thread  # noqa: PLC0415  # only a grub screw needs the thread tables
    from asmade.standards.threads import thread  # noqa: PLC0415

    called = read_thread(text)
    screw = thread(called)
    found = grub_screw(screw.major_mm)
    rows = [("holds along the shaft", figure(found.hold_n), "N"), ("seated with", figure(found.seating_nm), "N m")]
    data: dict[str, Any] = {
        "screw": screw.designation,
        "as_size": found.size,
        "force_n": found.hold_n,
        "seating_nm": found.seating_nm,
    }
    working = [f"{screw.designation} counts as the next smaller size of the table, {found.size} in"]
    if shaft:
        d = float(size(shaft, "shaft").mm)
        data["torque_nm"] = float(grub_screw_torque_nm(found.hold_n, d))
        rows.append(("torque", figure(data["torque_nm"]), "N m"))
        working.append(f"torque = F D/2 = {found.hold_n:.0f} x {d:g}/2 = {data['torque_nm']:.3f} N m")
    return QuickSum(
        "pin",
        (called.how,),
        (Rows(f"Grub screw {screw.designation}, cup point, soft shaft", ("", "", ""), tuple(rows), (1,)),),
        tuple(working),
        (found.source,),
        data,
        notes=("a grub screw alone works loose under the to and fro of valve gear: pin it as well",),
    )
