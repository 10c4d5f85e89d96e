"""Quick sums of a thread: its sizes, limits, wires and substitutes; and the drills it is tapped and passed with."""

from __future__ import annotations

import math
from typing import Any

from asmade.measure.errors import AsmadeError, Refused
from asmade.measure.gauges import NamedSize
from asmade.measure.threads import read_thread
from asmade.standards.threads import (
    CLEARANCES,
    Thread,
    clearance_drill,
    effective_from_wires,
    engagement,
    hole_for,
    nearest_substitutes,
    over_wires,
    same_threads,
    series_title,
    tapping_drill,
    thread_limits,
    usual_percent,
    usual_tapping_drill,
)
from asmade.standards.threads import thread as find
from asmade.verbs.sums.result import QuickSum, Rows, drill_size, figure, inch, mm, quantity, size, unique

EYES = "Taps break and spit: eye protection; oil; back the tap to break the chip."


def _called(text: str) -> tuple[Thread, str]:
    callout = read_thread(text)
    return find(callout), callout.how


def thread(
    text: str, *, limits: str = "", wire: str = "", over: str = "", instead: str = "", have: tuple[str, ...] = ()
) -> QuickSum:
    """A thread's sizes; ``limits`` of a class (6g); measured over three wires; threads that may stand ``instead``.

    ``instead`` names a series (M, BA ...) or "any"; ``have`` are the threads the shop has taps and dies for.
    """
    found, how = _called(text)
    tables = [_sizes(found)]
    data = _data(found)
    working = list(_sizes_worked(found))
    sources = [found.source]
    notes = [found.note] if found.note else []
    same = same_threads(found)
    if same:
        notes.append("the same thread: " + ", ".join(t.designation for t in same))
    if limits:
        tables.append(_limits(found, limits, data, sources))
    if over and not wire:
        raise Refused("reading over wires", got=over, reason="the wires are not said", way_out="give --wire with it")
    tables.append(_wires(found, wire, over, data, working, sources))
    if instead or have:
        tables.append(_substitutes(found, instead, have, data, sources))
        working.append("strength ratio = area that carries tension, substitute over original")
    return QuickSum("thread", (how,), tuple(tables), tuple(working), unique(sources), data, notes=tuple(notes))


def _sizes(found: Thread) -> Rows:
    rows = [
        (
            "pitch",
            mm(found.pitch_mm, "0.0001"),
            inch(found.pitch_mm, "0.00001"),
            f"{figure(found.tpi)} threads per inch",
        ),
        ("major diameter", mm(found.major_mm), inch(found.major_mm), "over the crests of the screw"),
        ("effective diameter", mm(found.effective_mm), inch(found.effective_mm), "where thread and gap are alike"),
        ("core diameter", mm(found.core_mm), inch(found.core_mm), "at the root of the screw"),
        ("minor of the nut", mm(found.nut_minor_mm), inch(found.nut_minor_mm), "the smallest hole"),
        ("depth", mm(found.depth_mm), inch(found.depth_mm), "of the screw, one side"),
        ("root radius", mm(found.root_radius_mm, "0.0001"), inch(found.root_radius_mm, "0.00001"), ""),
        (
            "crest radius",
            mm(found.crest_radius_mm, "0.0001"),
            inch(found.crest_radius_mm, "0.00001"),
            "0 = flat" if not found.crest_radius_mm else "",
        ),
        ("angle", f"{math.degrees(found.angle_rad):g}°", "", f"{found.form.name} form"),
        (
            "section for strength",
            f"{figure(found.stress_area_mm2)} mm²",
            "",
            f"core alone {figure(found.root_area_mm2)} mm²",
        ),
    ]
    return Rows(f"{found.designation}: {series_title(found.series)}", ("", "mm", "in", ""), tuple(rows), (1, 2))


def _data(found: Thread) -> dict[str, Any]:
    return {
        "thread": found.designation,
        "series": found.series,
        "form": found.form.name,
        "pitch_mm": found.pitch_mm,
        "tpi": found.tpi,
        "major_mm": found.major_mm,
        "effective_mm": found.effective_mm,
        "core_mm": found.core_mm,
        "nut_minor_mm": found.nut_minor_mm,
        "depth_mm": found.depth_mm,
        "angle_deg": math.degrees(found.angle_rad),
        "root_radius_mm": found.root_radius_mm,
        "crest_radius_mm": found.crest_radius_mm,
        "stress_area_mm2": found.stress_area_mm2,
        "root_area_mm2": found.root_area_mm2,
        "lead_angle_deg": math.degrees(found.lead_angle_rad),
        "listed": found.listed,
        "native": found.native,
        "same_as": [t.designation for t in same_threads(found)],
    }


def _sizes_worked(found: Thread) -> tuple[str, ...]:
    p, d = found.pitch_mm, found.major_mm
    form = found.form
    lines = [
        f"pitch p = {p:.5g} mm, major d = {d:.5g} mm",
        f"effective = d - {form.effective_below_major:.5f} p = {d - form.effective_below_major * p:.4f} mm",
        f"core = d - {form.core_below_major:.5f} p = {d - form.core_below_major * p:.4f} mm",
        f"section = pi/4 ((effective + core)/2)^2 = {found.stress_area_mm2:.3f} mm2",
    ]
    if found.series.startswith("UN"):
        lines[-1] = f"section = pi/4 (d - 0.9743 p)^2 = {found.stress_area_mm2:.3f} mm2"
    if found.series == "BA" and abs(found.core_mm - (d - form.core_below_major * p)) > 1e-6:
        lines.append(
            f"BS 93 prints effective {found.effective_mm:g} and core {found.core_mm:g} mm: as printed they stand"
        )
    return tuple(lines)


def _limits(found: Thread, name: str, data: dict[str, Any], sources: list[str]) -> Rows:
    worked = thread_limits(found, name)
    rows: list[tuple[str, ...]] = []
    held: dict[str, float | None] = {}
    for words, band in (("major", worked.major), ("effective", worked.effective), ("minor", worked.minor)):
        ends = ["no limit" if e is None else mm(e) for e in (band.low_mm, band.high_mm)]
        rows.append((words, *ends))
        held |= {f"{words}_least_mm": band.low_mm, f"{words}_greatest_mm": band.high_mm}
    data["limits"] = {"class": name, "of": "screw" if worked.is_screw else "nut", **held}
    sources.append(worked.source)
    return Rows(
        f"Limits of a {'screw' if worked.is_screw else 'nut'}, {name}",
        ("", "least mm", "greatest mm"),
        tuple(rows),
        (1, 2),
    )


def _wires(found: Thread, wire: str, over: str, data: dict[str, Any], working: list[str], sources: list[str]) -> Rows:
    given = float(size(wire, "wire").mm) if wire else None
    worked = over_wires(found, given)
    rows = [
        ("best wire", mm(worked.best_wire_mm), inch(worked.best_wire_mm)),
        ("wires from", mm(worked.least_wire_mm), inch(worked.least_wire_mm)),
        ("wires to", mm(worked.greatest_wire_mm), inch(worked.greatest_wire_mm)),
        (f"over three wires of {mm(worked.wire_mm)}", mm(worked.over_with_lead_mm), inch(worked.over_with_lead_mm)),
    ]
    data["wires"] = {
        "wire_mm": worked.wire_mm,
        "best_wire_mm": worked.best_wire_mm,
        "over_wires_mm": worked.over_mm,
        "over_wires_with_lead_mm": worked.over_with_lead_mm,
        "least_wire_mm": worked.least_wire_mm,
        "greatest_wire_mm": worked.greatest_wire_mm,
    }
    working.append(
        f"over wires = effective - (p/2) cot a + w (1 + 1/sin a) = {worked.over_mm:.4f} mm, with the lead "
        f"{worked.over_with_lead_mm:.4f} mm "
        f"(a = {math.degrees(found.form.half_angle_rad):g} deg, w = {worked.wire_mm:.4f})"
    )
    sources.append(worked.source)
    if over:
        effective = effective_from_wires(found, float(size(over, "reading over wires").mm), worked.wire_mm)
        rows.append(("effective as measured", mm(effective), inch(effective)))
        data["wires"]["effective_measured_mm"] = effective
    return Rows("Measured over three wires, basic sizes", ("", "mm", "in"), tuple(rows), (1, 2))


def _substitutes(found: Thread, series: str, have: tuple[str, ...], data: dict[str, Any], sources: list[str]) -> Rows:
    shop = [find(text) for text in have] or None
    near = nearest_substitutes(found, None if series in ("", "any") else series, have=shop)
    rows = tuple(
        (
            s.thread.designation,
            f"{s.strength_ratio:.2f}",
            f"{s.pitch_ratio:.2f}",
            mm(s.major_change_mm),
            "passes the old hole" if s.fits_the_old_hole else "open the hole out",
        )
        for s in near
    )
    data["instead"] = [
        {
            "thread": s.thread.designation,
            "strength_ratio": s.strength_ratio,
            "pitch_ratio": s.pitch_ratio,
            "major_change_mm": s.major_change_mm,
        }
        for s in near
    ]
    sources.append("ranking of substitutes: common practice, no source")
    return Rows(
        f"Instead of {found.designation}, nearest first",
        ("thread", "strength", "pitch", "major mm", ""),
        rows,
        (1, 2, 3),
    )


def tap(text: str, *, percent: str = "", drill: str = "", drills: tuple[str, ...] = ()) -> QuickSum:
    """The tapping drill of a thread: the usual, for a wanted ``percent`` of depth, what a ``drill`` leaves.

    ``drills`` are those in the shop. Clearance drills (close, medium, free) besides.
    """
    found, how = _called(text)
    shop = [_drill(each) for each in drills] or None
    read_as, working = [how], []
    hole: float | None = None
    if drill:
        given = _drill(drill)
        read_as.append(f"drill {given.name}, {mm(float(given.mm))} mm")
        data: dict[str, Any] = {
            "drill": given.name,
            "drill_mm": float(given.mm),
            "percent": engagement(found, float(given.mm)),
        }
        title, source = f"{found.designation} tapped in a hole of {mm(float(given.mm))} mm", "as drilled"
    else:
        if percent or shop:
            wanted = quantity(
                percent.rstrip("% ") or str(usual_percent(found.series)), "number", "share of full thread"
            )[0]
            chosen = tapping_drill(found, wanted, shop)
            hole = hole_for(found, wanted)
            working.append(
                f"hole = major - {wanted:g}/100 x full depth = {found.major_mm:.4f} - {wanted / 100:g} x "
                f"{found.full_depth_mm:.4f} = {hole:.4f} mm"
            )
        else:
            chosen = usual_tapping_drill(found)
        data = {
            "drill": chosen.drill.name,
            "drill_mm": chosen.mm,
            "percent": chosen.percent,
            "wanted_percent": chosen.wanted_percent,
            "hole_mm": hole,
        }
        title, source = f"Tapping drill for {found.designation}", chosen.source
    working.append(
        f"share = 100 (major - hole)/full depth = 100 ({found.major_mm:.4f} - {data['drill_mm']:.4f})/"
        f"{found.full_depth_mm:.4f} = {data['percent']:.1f} %"
    )
    rows = ((data["drill"], mm(data["drill_mm"]), inch(data["drill_mm"]), f"{data['percent']:.0f} %"),)
    tables = [Rows(title, ("drill", "mm", "in", "of full thread"), rows, (1, 2, 3))]
    clear, held, said = _clearances(found)
    if clear:
        tables.append(Rows("Clearance drills", ("", "drill", "mm", "room mm"), clear, (2, 3)))
    return QuickSum(
        "tap",
        tuple(read_as),
        tuple(tables),
        tuple(working),
        unique((found.source, source, *said)),
        {"thread": found.designation, "major_mm": found.major_mm, "core_mm": found.core_mm, **data, "clearance": held},
        cautions=(EYES,),
        notes=unique((_depth_words(data["percent"]),)),
    )


def _depth_words(percent: float) -> str:
    if percent > 85:
        return "deep: the tap turns hard and may break, above all in steel and phosphor bronze"
    if percent < 55:
        return "shallow: soon stripped; for long threads only"
    return ""


def _clearances(found: Thread) -> tuple[tuple[tuple[str, ...], ...], dict[str, Any], list[str]]:
    rows, held, sources = [], {}, []
    for fit in CLEARANCES:
        try:
            one = clearance_drill(found, fit)
        except AsmadeError:
            continue  # beyond the drills there are
        rows.append((fit, one.drill.name, mm(one.mm), mm(one.room_mm)))
        held[f"{fit}_mm"] = one.mm
        sources.append(f"clearance: {one.source}")
    return tuple(rows), held, sources


def _drill(text: str) -> NamedSize:
    found = drill_size(text)
    name = found.named or f"{float(found.mm):g} mm"
    return NamedSize(name, "in the shop", found.mm)
