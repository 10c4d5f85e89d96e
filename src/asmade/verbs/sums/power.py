"""Quick sum of a cut's force and power against the motor, and the deepest cut that it bears."""

from __future__ import annotations

from typing import Any

from asmade.measure.errors import Unknown
from asmade.standards.cutting import cutting_force_of, spindle_speed, surface_speed
from asmade.standards.materials import material
from asmade.verbs.sums.bench import machine_of, number, whole_number
from asmade.verbs.sums.result import QuickSum, Rows, figure, mm, quantity, size, unique
from asmade.work.force import Cut, deepest_cut_mm, drilling_cut, milling_cut, power_at_tool_w, turning_cut
from asmade.work.machines import read_power

EFFICIENCY = "0.7"
OPERATIONS = ("turning", "drilling", "milling")


def power(
    text: str, *, operation: str = "turning", material_name: str = "bright mild steel", depth: str = "", feed: str = "",
    width: str = "", teeth: str = "", speed: str = "", rev_min: str = "", motor: str = "", efficiency: str = "",
    book: str = "", machine_name: str = "",
) -> QuickSum:  # fmt: skip
    """Force, torque and power of a cut; against a motor as typed or that of a book's machine."""
    kind = operation.strip().lower()
    if kind not in OPERATIONS:
        raise Unknown("operation with a force", got=operation, near=OPERATIONS, way_out=", ".join(OPERATIONS))
    exact = float(size(text, "diameter").mm)
    stuff = material(material_name)
    force = cutting_force_of(stuff)
    feed_mm = float(size(feed or ("0.02" if kind == "milling" else "0.1"), "feed").mm)
    turns = quantity(rev_min, "speed", "spindle", bare="rpm")[0] if rev_min else spindle_speed(
        number(speed or "25", "cutting speed in m/min"), exact
    )  # fmt: skip
    v = surface_speed(exact, turns)
    read_as = [f"{exact:g} mm, {stuff.name}, {kind}", f"{v:.1f} m/min, {turns:.0f} rev/min", f"feed {feed_mm:g} mm"]
    if kind == "drilling":
        cut = drilling_cut(force.kc11_mpa, force.mc, drill_mm=exact, feed_mm=feed_mm, rev_min=turns)
        sum_ = (
            f"M = kc f d2/8 = {cut.specific_force_mpa:.0f} x {feed_mm:g} x {exact:g}^2/8000 = {cut.torque_nm:.3f} N m"
        )
    elif kind == "milling":
        depth_mm, width_mm = float(size(depth or "1", "depth of cut").mm), float(size(width or text, "width of cut").mm)
        edges = whole_number(teeth or "2", "teeth", most=200)
        cut = milling_cut(force.kc11_mpa, force.mc, cutter_mm=exact, width_mm=width_mm, depth_mm=depth_mm,
                          feed_tooth_mm=feed_mm, teeth=edges, rev_min=turns)  # fmt: skip
        sum_ = (
            f"P = kc Q/60,000 = {cut.specific_force_mpa:.0f} x {cut.removal_mm3_min:.0f}/60,000 = {cut.power_w:.1f} W"
        )
        read_as.append(f"{width_mm:g} wide, {depth_mm:g} deep, {edges} teeth")
    else:
        depth_mm = float(size(depth or "0.5", "depth of cut").mm)
        cut = turning_cut(
            force.kc11_mpa, force.mc, depth_mm=depth_mm, feed_mm=feed_mm, speed_m_min=v, diameter_mm=exact
        )
        sum_ = f"Fc = kc a f = {cut.specific_force_mpa:.0f} x {depth_mm:g} x {feed_mm:g} = {cut.force_n:.1f} N"
        read_as.append(f"{depth_mm:g} deep on the radius")
    data: dict[str, Any] = {
        "operation": kind, "material": stuff.name, "diameter_mm": exact, "feed_mm": feed_mm, "rev_min": turns,
        "m_min": v, "force_n": cut.force_n, "torque_nm": cut.torque_nm, "power_w": cut.power_w,
        "removal_mm3_min": cut.removal_mm3_min, "kc_mpa": cut.specific_force_mpa, "chip_mm": cut.chip_thickness_mm,
    }  # fmt: skip
    kc = (
        f"kc = kc1.1 h^-mc, {force.kc11_mpa:g} N/mm2, {cut.chip_thickness_mm:.4f} mm, {force.mc:g}: "
        f"{cut.specific_force_mpa:.0f} N/mm2"
    )
    working = [kc, sum_]
    tables, notes = (
        [_rows(cut)],
        ["an estimate: published forces differ by 10 to 20 per cent, a worn tool adds a third"],
    )
    bears = _motor(motor, efficiency, book, machine_name, kind)
    if bears is not None:
        share = cut.power_w / bears
        data |= {"at_tool_w": bears, "share": share}
        rows = [("at the tool", figure(bears, 3)), ("this cut takes", f"{100 * share:.0f} %")]
        if kind == "turning":
            deepest = min(
                deepest_cut_mm(force.kc11_mpa, force.mc, feed_mm=feed_mm, speed_m_min=v, power_at_tool_w=bears),
                exact / 2,
            )
            data["deepest_mm"] = deepest
            rows.append(("deepest cut on the radius, mm", mm(deepest, "0.01")))
            working.append(f"a = 60 P/(kc f v) = {deepest:.3f} mm")
        tables.append(Rows("Against the motor", ("", "W"), tuple(rows), (1,)))
        if share > 1:
            notes.append("more than the motor gives: less depth or feed, or a slower speed")
    return QuickSum("power", tuple(read_as), tuple(tables), tuple(working), unique((force.source, "Kienzle")), data,
                    cautions=("Work must be held against this force: chuck tight, tool short. Eye protection.",),
                    notes=tuple(notes))  # fmt: skip


def _rows(cut: Cut) -> Rows:
    return Rows("The cut", ("force N", "torque N m", "power W", "metal cm3/min"),
                ((figure(cut.force_n, 3), figure(cut.torque_nm, 3), figure(cut.power_w, 3),
                  figure(cut.removal_mm3_min / 1000, 3)),), (0, 1, 2, 3))  # fmt: skip


def _motor(motor: str, efficiency: str, book: str, name: str, kind: str) -> float | None:
    if motor:
        return power_at_tool_w(read_power(motor), number(efficiency or EFFICIENCY, "efficiency"))
    machine = machine_of(book, name, "lathe" if kind == "turning" else "mill")
    if machine is None:
        return None
    watts: float = machine.needed("motor_w", 'motor = "370 W"')
    return power_at_tool_w(watts, number(efficiency, "efficiency") if efficiency else machine.efficiency or 0.7)
