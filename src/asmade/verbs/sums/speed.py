"""Quick sum of a spindle speed: what the metal bears, and the step that the machine has, nearest below."""

from __future__ import annotations

from typing import Any

from asmade.measure.errors import Refused
from asmade.standards.cutting import speed_range, spindle_speed
from asmade.verbs.sums.bench import machine_of
from asmade.verbs.sums.result import QuickSum, Rows, rounded, size, unique
from asmade.work.cautions import cautions
from asmade.work.cautions import operations as known_operations
from asmade.work.machines import Machine, read_machine
from asmade.work.speeds import SpindleSpeed, machine_speed, published_speeds

CAUTION = "Begin at the slow end; chuck and work must be safe at the speed. Eye protection."
LATHE_WORK = ("turning", "facing", "boring", "parting", "screw-cutting", "knurling")


def speed(
    text: str, *, material_name: str, operation: str = "turning", tool: str = "HSS", speeds: str = "", book: str = "",
    machine_name: str = "",
) -> QuickSum:  # fmt: skip
    """Spindle speeds for a diameter (of the work turned, or of the cutter), from the speeds of a small machine.

    With ``speeds`` as typed, or a machine of a ``book``: the step nearest below the fast end.
    """
    found = size(text, "diameter")
    exact = float(found.mm)
    usual = speed_range(material_name, operation, tool)
    low, high = (spindle_speed(v, exact) for v in (usual.low_m_min, usual.high_m_min))
    tables = [
        Rows(
            f"{usual.operation}, {usual.material}, {usual.tool}, {exact:g} mm", ("", "m/min", "rev/min"),
            (("from", f"{usual.low_m_min:g}", f"{low:.0f}"), ("to", f"{usual.high_m_min:g}", f"{high:.0f}")), (1, 2),
        )
    ]  # fmt: skip
    data: dict[str, Any] = {
        "diameter_mm": exact, "material": usual.material, "operation": usual.operation, "tool": usual.tool,
        "low_m_min": usual.low_m_min, "high_m_min": usual.high_m_min, "low_rpm": low, "high_rpm": high,
    }  # fmt: skip
    notes, sources = [], [usual.source, "geometry; Machinery's Handbook"]
    working = [f"n = 1000 V/(pi D) = 1000 x {usual.low_m_min:g}/(pi x {exact:g}) = {low:.1f} rev/min, to {high:.1f}"]
    machine = _machine(speeds, book, machine_name, usual.operation)
    if machine is not None:
        step = machine_speed(machine, high)
        data["machine"] = {"name": machine.name, "rev_min": step.rev_min, "m_min": step.surface_m_min(exact),
                           "too_fast": step.too_fast, "below_usual": step.rev_min < low}  # fmt: skip
        tables.append(Rows(f"On {machine.name}", ("rev/min", "m/min"),
                           ((f"{step.rev_min:g}", f"{step.surface_m_min(exact):.1f}"),), (0, 1)))  # fmt: skip
        working.append(f"the step nearest below {high:.0f}: {step.rev_min:g} rev/min")
        notes += _notes(step, low)
    printed = published_speeds(material_name, tool) if usual.operation in ("turning", "facing", "boring") else ()
    if printed:
        rows = tuple(
            (p.operation, f"{p.low_ft_min:g} to {p.high_ft_min:g}",
             f"{p.low_ft_min * 0.3048:.0f} to {p.high_ft_min * 0.3048:.0f}", p.source)
            for p in printed
        )  # fmt: skip
        tables.append(Rows("Printed elsewhere for turning", ("", "ft/min", "m/min", "source"), rows, (1, 2)))
        data["printed"] = [rounded({"operation": p.operation, "low_ft_min": p.low_ft_min, "high_ft_min": p.high_ft_min,
                                    "source": p.source}) for p in printed]  # fmt: skip
        sources += [p.source for p in printed]
    return QuickSum(
        "speed", (found.how, f"{usual.material}, {usual.operation}, {usual.tool}"), tuple(tables), tuple(working),
        unique(sources), data, cautions=(CAUTION, *_cautions(usual.operation, material_name)),
        notes=tuple(notes),
    )  # fmt: skip


def _cautions(operation: str, material_name: str) -> tuple[str, ...]:
    """What the table of cautions holds for the operation and the material; an operation it does not name has none."""
    if operation not in known_operations():
        return ()
    return tuple(each.text for each in cautions(operation, material_name=material_name, shown="operation"))


def _notes(step: SpindleSpeed, low: float) -> list[str]:
    if step.too_fast:
        return [
            f"its slowest is {step.rev_min / step.wanted_rev_min:.2f} times what is wanted: take carbide, or less depth"
        ]
    if step.rev_min < low:
        return ["no step lies between: this one is slower than usual, which harms nothing but the time"]
    return []


def _machine(speeds: str, book: str, name: str, operation: str) -> Machine | None:
    if speeds:
        try:
            steps = [float(word) for word in speeds.replace(",", " ").split()]
        except ValueError:
            raise Refused("speeds of the machine", got=speeds, reason="they are numbers, revolutions a minute",
                          way_out="write '60 110 190 340'") from None  # fmt: skip
        return read_machine("the machine", {"kind": "lathe", "speeds": steps})
    return machine_of(book, name, "lathe" if operation in LATHE_WORK else "mill")
