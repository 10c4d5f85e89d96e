"""Quick sums of named sizes: drills by number and letter, sheet and wire gauges, and any length as shops write it."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any, Final, get_args

from asmade.measure.errors import AsmadeError, OutOfRange, Unknown
from asmade.measure.gauges import EVERY_SERIES, Gauge, NearDrill, Series, drill_source, gauges, nearest_drills
from asmade.measure.lengths import Unit, read_length
from asmade.measure.show import show_64ths
from asmade.reckon.joints.thermal import reading_at_20_mm
from asmade.standards.capability import process_prior
from asmade.standards.materials import material
from asmade.standards.reamers import nearest_reamers
from asmade.verbs.sums.result import QuickSum, Rows, drill_size, inch, mm, quantity, size, thou, unique

MICROMETER_EXPANSION: Final = 11.5e-6
"""Of the steel of a measuring tool, per K: common practice, no source."""


def drill(text: str, *, series: str = "", material_name: str = "", count: int = 4) -> QuickSum:
    """A drill by name or size: mm and inches, the nearest of each series, what hole it really cuts, reamers near."""
    found = drill_size(text)
    wanted = (_series(series),) if series else EVERY_SERIES
    exact = float(found.mm)
    near = nearest_drills(found.mm, series=wanted, count=count)
    rows = tuple(_near(one) for one in near)
    cut, held = _cuts(exact, material_name)
    reamers = nearest_reamers(found.mm)
    tables = [
        _named("Size", found.named or f"{exact:g} mm", found.mm),
        Rows("Nearest drills" + (f", {series}" if series else ""), ("drill", "mm", "in", "off mm"), rows, (1, 2, 3)),
        Rows(
            "Nearest reamers",
            ("reamer", "kind", "mm", "off mm"),
            tuple((r.reamer.name, r.reamer.kind, mm(r.reamer.size_mm), _off(r.over_mm)) for r in reamers),
            (2, 3),
        ),
    ]
    if cut:
        tables.append(cut)
    return QuickSum(
        "drill",
        (found.how,),
        tuple(tables),
        (f"{exact / 25.4:.6g} in x 25.4 = {exact:.6g} mm (the inch is 25.4 mm, exact)",),
        unique((*(drill_source(one).source for one in wanted), str(held.get("source", "")))),
        {
            "name": found.named or f"{exact:g} mm",
            "mm": exact,
            "inch": exact / 25.4,
            "thou": exact / 0.0254,
            "nearest": [
                {
                    "name": n.drill.name,
                    "mm": float(n.drill.mm),
                    "inch": float(n.drill.inch),
                    "over_mm": float(n.over_mm),
                }
                for n in near
            ],
            "reamers": [{"name": r.reamer.name, "mm": r.reamer.size_mm, "over_mm": r.over_mm} for r in reamers],
            "cuts": held or None,
        },
        cautions=("Clamp the work: drills grab as they break through, in brass and thin sheet above all.",),
    )


def _series(text: str) -> Series:
    for name in EVERY_SERIES:
        if name == text.strip().lower():
            return name
    raise Unknown("drill series", got=text, near=EVERY_SERIES, way_out=f"one of: {', '.join(EVERY_SERIES)}")


def _near(one: NearDrill) -> tuple[str, ...]:
    return one.drill.name, mm(float(one.drill.mm)), inch(float(one.drill.mm)), _off(float(one.over_mm))


def _off(over_mm: float) -> str:
    return "exact" if over_mm == 0 else f"{'+' if over_mm > 0 else ''}{mm(over_mm)}"


def _named(title: str, name: str, exact: Fraction) -> Rows:
    value = float(exact)
    return Rows(
        title,
        ("", "mm", "in", "thou", "64ths"),
        ((name, mm(value, "0.0001"), inch(value, "0.00001"), thou(value), show_64ths(value)),),
        (1, 2, 3),
    )


def _cuts(exact: float, material_name: str) -> tuple[Rows | None, dict[str, Any]]:
    """What hole a drill and a reamer of this size leave in practice."""
    rows: list[tuple[str, ...]] = []
    held: dict[str, Any] = {}
    for process in ("drilled", "reamed"):
        try:
            prior = process_prior(process, None, material_name or None, size_mm=exact)
        except AsmadeError:
            if material_name:
                material(material_name)  # a name that is not held is refused; a process without figures is left out
            continue
        low, high = (
            exact + prior.bias_mm + sign * 2 * math.hypot(prior.scatter_mm, prior.between_mm) for sign in (-1, 1)
        )
        rows.append((process, mm(exact + prior.bias_mm), mm(low), mm(high), prior.note))
        held[process] = {
            "hole_mm": exact + prior.bias_mm,
            "bias_mm": prior.bias_mm,
            "scatter_mm": prior.scatter_mm,
            "between_mm": prior.between_mm,
            "note": prior.note,
        }
        held["source"] = prior.source
    if not rows:
        return None, {}
    return Rows(
        "The hole it leaves in practice", ("", "about mm", "from mm", "to mm", ""), tuple(rows), (1, 2, 3)
    ), held


def gauge(text: str) -> QuickSum:
    """A sheet or wire gauge by number, or a thickness: mm and inches, and the numbers nearest to it in both gauges."""
    found = size(text, "gauge or thickness")
    exact = float(found.mm)
    rows, held = [], []
    for name in get_args(Gauge):
        every = sorted(gauges(name).values(), key=lambda g: (abs(g.mm - found.mm), g.mm))[:3]
        for one in every:
            off = float(one.mm - found.mm)
            rows.append((one.name, mm(float(one.mm), "0.0001"), inch(float(one.mm)), _off(off)))
            held.append({"name": one.name, "mm": float(one.mm), "inch": float(one.inch), "over_mm": off})
    return QuickSum(
        "gauge",
        (found.how,),
        (
            _named("Size", found.named or f"{exact:g} mm", found.mm),
            Rows("Nearest gauges", ("gauge", "mm", "in", "off mm"), tuple(rows), (1, 2, 3)),
        ),
        (f"{exact / 25.4:.6g} in x 25.4 = {exact:.6g} mm (the inch is 25.4 mm, exact)",),
        ("SWG: Order in Council of 1883, BS 3737", "BWG: Stubs iron wire gauge"),
        {"name": found.named or f"{exact:g} mm", "mm": exact, "inch": exact / 25.4, "nearest": held},
        notes=("number drills are a gauge of their own: a No. 16 drill is not 16 SWG",),
    )


def length(
    text: str, *, unit: Unit = "mm", temperature: str = "", material_name: str = "", tool: str = "20 C"
) -> QuickSum:
    """A length as written: mm, inches, 64ths; with ``temperature`` and material, what it is at 20 C."""
    found = read_length(text, unit=unit, signed=True, thing="length")
    exact = float(found.mm)
    rows = [("", mm(exact, "0.0001"), inch(exact, "0.00001"), thou(exact), show_64ths(exact))]
    data: dict[str, Any] = {
        "mm": exact,
        "inch": exact / 25.4,
        "thou": exact / 0.0254,
        "nearest_64ths": show_64ths(exact),
        "unit": found.unit,
    }
    if found.upper is not None and found.lower is not None:
        data |= {
            "upper_mm": float(found.upper),
            "lower_mm": float(found.lower),
            "greatest_mm": float(found.mm + found.upper),
            "least_mm": float(found.mm + found.lower),
        }
        rows += [
            (name, mm(data[key], "0.0001"), inch(data[key], "0.00001"), thou(data[key]), "")
            for name, key in (("least", "least_mm"), ("greatest", "greatest_mm"))
        ]
    tables = [Rows("Length", ("", "mm", "in", "thou", "nearest 64th"), tuple(rows), (1, 2, 3))]
    working = [f"{found.how}: 1 in = 25.4 mm, exact"]
    sources = ["definition of the inch (1959 agreement), exact"]
    read_as = [found.how]
    if temperature or material_name:
        more = _at_20(exact, temperature, material_name, tool)
        data |= more[0]
        tables.append(more[1])
        working.append(more[2])
        sources.append(more[3])
        read_as += more[4]
    return QuickSum("length", tuple(read_as), tuple(tables), tuple(working), tuple(sources), data)


def _at_20(
    reading: float, temperature: str, material_name: str, tool: str
) -> tuple[dict[str, Any], Rows, str, str, list[str]]:
    if not temperature or not material_name:
        raise OutOfRange(
            "reading to be corrected",
            got=temperature or material_name,
            allowed="both a temperature and a material",
            way_out="give --temperature and --material",
        )
    at_c, said = quantity(temperature, "temperature", "part at", bare="C")
    tool_c, tool_said = quantity(tool, "temperature", "measuring tool at", bare="C")
    stuff = material(material_name)
    alpha = stuff.expansion_per_k
    corrected = float(
        reading_at_20_mm(
            reading, part_c=at_c, part_expansion_per_k=alpha, tool_c=tool_c, tool_expansion_per_k=MICROMETER_EXPANSION
        )
    )
    rows = (
        ("as read", mm(reading, "0.0001")),
        ("at 20 °C", mm(corrected, "0.0001")),
        ("difference", mm(corrected - reading, "0.0001")),
    )
    working = (
        f"L20 = reading (1 + a_tool (t_tool - 20))/(1 + a_part (t_part - 20)) = {reading:g} "
        f"(1 + {MICROMETER_EXPANSION:g} x {tool_c - 20:g})/(1 + {alpha:g} x {at_c - 20:g}) = {corrected:.5f} mm"
    )
    return (
        {
            "at_20_mm": corrected,
            "change_mm": corrected - reading,
            "part_c": at_c,
            "tool_c": tool_c,
            "expansion_per_k": alpha,
            "material": stuff.name,
        },
        Rows(f"Corrected to 20 °C, {stuff.title}", ("", "mm"), rows, (1,)),
        working,
        f"ISO 1 (20 C); expansion of {stuff.name}: {stuff.value('expansion').source}",
        [said, tool_said, stuff.name],
    )
