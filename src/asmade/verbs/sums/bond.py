"""Quick sum: a joint bonded with a retaining adhesive, from its sizes and the product's data sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from asmade.measure.errors import Refused
from asmade.reckon.joints.bonded import (
    CAUTIONS,
    PLACEHOLDER,
    Adhesive,
    Factors,
    bonded_area_mm2,
    bonded_force_n,
    bonded_torque_nm,
    full_cure_hours,
    gap_against,
    gap_volume_mm3,
    placeholder_factor,
    working_minutes,
)
from asmade.reckon.metals import adhesive_material
from asmade.verbs.sums.result import QuickSum, Rows, amount, figure, length_pair, mm, quantity, size, thou, unique


@dataclass(frozen=True, slots=True)
class Asked:
    """What is given of a bonded joint, as written; empty = not said."""

    hole: str = ""
    shaft: str = ""
    length: str = ""
    strength: str = ""
    gap: str = ""
    sheet: str = ""
    hub_material: str = "cast iron 250"
    shaft_material: str = "bright mild steel"
    surface: str = "turned and degreased"
    warmth: str = "room, up to 40 C"
    safety: str = "2"
    factor: str = ""  # share of the strength that counts, in place of all the factors above
    grooves: str = ""
    at: str = "20 C"
    working_time: str = ""
    full_cure: str = ""
    turning: str = ""
    along: str = ""


def bond(asked: Asked) -> QuickSum:
    """Gap against the product's range, what the bond holds, and how long it takes at a temperature."""
    read_as: list[str] = []
    hole, shaft, length = (
        _read(getattr(asked, n), t, read_as)
        for n, t in (("hole", "hole"), ("shaft", "shaft"), ("length", "joint length"))
    )
    product = _product(asked, read_as)
    gap = gap_against(product, hole, shaft)
    grooves = float(amount(asked.grooves, "length of grooves").mm) if asked.grooves else 0.0
    factors, said = _factors(asked)
    read_as += said
    area = float(bonded_area_mm2(shaft, length, grooves))
    force = float(bonded_force_n(shaft, length, product.strength_mpa, factors.product, grooves))
    torque = float(bonded_torque_nm(shaft, length, product.strength_mpa, factors.product, grooves))
    at_c, at_said = quantity(asked.at, "temperature", "workshop at", bare="C")
    read_as.append(at_said)
    hours = full_cure_hours(product, at_c, gap_factor=1, metal_factor=1)
    minutes = working_minutes(product, at_c)
    needed = {}
    if asked.turning:
        needed["torque_needed_nm"] = quantity(asked.turning, "torque", "to be carried turning", bare="N m")[0] / 1000
    if asked.along:
        needed["force_needed_n"] = quantity(asked.along, "force", "to be carried along", bare="N")[0]
    volume = gap_volume_mm3(hole, shaft, length) if hole > shaft else 0.0
    placeholder: tuple[str, ...] = ()
    if product.placeholder:
        words = ", ".join(_lacking(asked))
        placeholder = (
            f"a placeholder on the safe side stands in for {words}: type in what the product's own data sheet says",
            "ask of its gap whether it is radial or on diameter",
        )
    return QuickSum(
        "bond",
        tuple(read_as),
        (
            Rows(
                "Gap on diameter",
                ("mm", "thou", "product's range mm", "margin mm", ""),
                (
                    (
                        mm(gap.gap_mm),
                        thou(gap.gap_mm),
                        f"{mm(product.gap_least_mm)} to {mm(product.gap_most_mm)}",
                        mm(gap.margin_mm),
                        gap.verdict,
                    ),
                ),
                (0, 1, 3),
            ),
            Rows(
                "What it holds",
                ("", "", "", "over what is asked"),
                (
                    ("torque", figure(torque), "N m", _over(torque, needed.get("torque_needed_nm"))),
                    ("force along", figure(force), "N", _over(force, needed.get("force_needed_n"))),
                    ("area", figure(area), "mm²", ""),
                    ("adhesive in the gap", figure(volume, 3), "mm³", ""),
                ),
                (1, 3),
            ),
            Rows(
                f"Time at {at_c:g} °C",
                ("", "", ""),
                (("before it grips", figure(minutes, 2), "minutes"), ("to full strength", figure(hours, 3), "hours")),
                (1,),
            ),
        ),
        (
            f"gap = hole - shaft = {hole:g} - {shaft:g} = {gap.gap_mm:.4f} mm on diameter",
            (
                f"share of strength = {factors.gap:g} gap x {factors.material:g} material x {factors.temperature:g} "
                f"warmth x {factors.surface:g} surface / {factors.safety:g} safety = {factors.product:.4f}"
            ),
            (
                f"force = tau f pi d (l - grooves) = {product.strength_mpa:g} x {factors.product:.4f} x pi x {shaft:g} "
                f"x {length - grooves:g} = {force:.1f} N"
            ),
            f"torque = force d/2 = {torque:.3f} N m",
            (
                f"full cure = sheet x 2.5^((t_sheet - t)/10) = {product.full_cure_hours:g} h x "
                f"2.5^(({product.reference_c:g} - {at_c:g})/10) = {hours:.1f} h"
            ),
        ),
        unique(
            (
                product.source,
                "uniform shear on the bond cylinder; strength by ISO 10123",
                "factors: common practice, no source, placeholders on the safe side; the product's data sheet rules",
                "cure: rule of the chemist, set by TM 5-3820-256-24-5 (24 h at 22 C become 72 h at 10 C)",
            )
        ),
        {
            **_data(product, gap.gap_mm, gap.margin_mm, gap.verdict, factors, length),
            "area_mm2": area,
            "force_n": force,
            "torque_nm": torque,
            "working_minutes": minutes,
            "full_cure_hours": hours,
            "adhesive_mm3": volume,
            **needed,
        },
        cautions=(*CAUTIONS, "How hot to make it to undo it: the product's own data sheet says."),
        notes=placeholder,
    )


def _over(held: float, needed: float | None) -> str:
    return "" if needed is None else f"{figure(held / needed, 3)} times" if needed > 0 else "nothing is asked"


def _read(text: str, thing: str, read_as: list[str]) -> float:
    if not text:
        raise Refused(thing, got=text, reason="it is missing", way_out="see asmade reckon bond --help")
    found = size(text, thing)
    read_as.append(f"{thing} {found.how}")
    return float(found.mm)


def _product(asked: Asked, read_as: list[str]) -> Adhesive:
    product = PLACEHOLDER
    changes: dict[str, Any] = {}
    if asked.strength:
        changes["strength_mpa"], said = quantity(asked.strength, "pressure", "shear strength", bare="MPa")
        read_as.append(said)
    if asked.gap:
        low, high, said = length_pair(asked.gap, "product's gap on diameter")
        changes |= {"gap_least_mm": low, "gap_most_mm": high}
        read_as.append(said)
    if asked.working_time:
        changes["working_minutes"] = quantity(asked.working_time, "number", "working time, minutes")[0]
    if asked.full_cure:
        changes["full_cure_hours"] = quantity(asked.full_cure, "number", "full cure, hours")[0]
    if not changes:
        return product
    lacking = _lacking(asked)
    source = asked.sheet or "as typed in; name its data sheet with --sheet"
    if lacking:
        source += f"; {' and '.join(lacking)}: {PLACEHOLDER.source}"
    return replace(product, name="the adhesive", source=source, placeholder=bool(lacking), **changes)


def _lacking(asked: Asked) -> tuple[str, ...]:
    """What of the data sheet has not been typed in."""
    return tuple(
        words
        for words, given in (
            ("strength", asked.strength),
            ("gap", asked.gap),
            ("working time", asked.working_time),
            ("full cure", asked.full_cure),
        )
        if not given
    )


def _factors(asked: Asked) -> tuple[Factors, list[str]]:
    if asked.factor:
        share = quantity(asked.factor, "ratio", "share of the strength that counts")[0]
        return Factors(1.0, 1.0, 1.0, share, 1.0), [f"share of the strength that counts {share:g}, as given"]
    rows = [adhesive_material(asked.hub_material), adhesive_material(asked.shaft_material)]
    metal = min(rows, key=placeholder_factor)
    factors = Factors(
        gap=1.0,
        material=placeholder_factor(metal),
        temperature=placeholder_factor(asked.warmth),
        surface=placeholder_factor(asked.surface),
        safety=quantity(asked.safety, "number", "factor of safety")[0],
    )
    return factors, [
        f"material: {metal} (the weaker of {rows[0]} and {rows[1]})",
        f"surface: {asked.surface}",
        f"in service: {asked.warmth}",
    ]


def _data(
    product: Adhesive, gap: float, margin: float, verdict: str, factors: Factors, length: float
) -> dict[str, Any]:
    return {
        "gap_mm": gap,
        "gap_margin_mm": margin,
        "gap_verdict": verdict,
        "gap_least_mm": product.gap_least_mm,
        "gap_most_mm": product.gap_most_mm,
        "strength_mpa": product.strength_mpa,
        "placeholder": product.placeholder,
        "length_mm": length,
        "factor": factors.product,
        "factors": {
            "gap": factors.gap,
            "material": factors.material,
            "temperature": factors.temperature,
            "surface": factors.surface,
            "safety": factors.safety,
        },
    }
