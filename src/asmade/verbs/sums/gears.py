"""Quick sum of change gears: trains of the gears owned for a pitch, exact first, else with their error."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from asmade.measure.errors import AsmadeError, Refused
from asmade.measure.threads import read_thread
from asmade.verbs.sums.bench import machine_of, whole_number, wholes
from asmade.verbs.sums.result import QuickSum, Rows, size, um
from asmade.work.change_gears import CLEAR_TEETH, Train, trains
from asmade.work.machines import INCH, read_screw

LENGTH_MM = 10.0


def gears(
    text: str, *, leadscrew: str = "", owned: str = "", length: str = "", pairs: str = "2", all_trains: bool = False,
    book: str = "", machine_name: str = "",
) -> QuickSum:  # fmt: skip
    """Trains for a pitch (``0.75 mm``, ``40 tpi``) or thread (``M5``, ``2 BA``); gears as typed or a book's."""
    wanted, said = _pitch(text)
    lathe = machine_of(book, machine_name, "lathe")
    screw = (
        read_screw(leadscrew)
        if leadscrew
        else (None if lathe is None else lathe.needed("leadscrew_mm", 'leadscrew = "8 tpi"'))
    )
    have = wholes(owned, "change gears", least=8, most=300) if owned else (
        () if lathe is None else lathe.needed("change_gears", "change_gears = [20, 20, 25, 30, 35, 40]")
    )  # fmt: skip
    if screw is None or not have:
        raise Refused("change gears", got=text, reason="the leadscrew and the gears there are must be known",
                      way_out="give --leadscrew '8 tpi' --owned '20 2x25 30 ...', or --book BOOK")  # fmt: skip
    first = Fraction(1) if lathe is None else lathe.spindle_to_first_gear
    engaged = float(size(length, "length of thread").mm) if length else LENGTH_MM
    found = trains(
        wanted, screw, have, first=first, pairs=whole_number(pairs, "pairs", most=3), only_fitting=not all_trains
    )
    tables = []
    if found.exact:
        tables.append(Rows("Exact", ("train, driver/driven from the spindle", "studs clear"),
                           tuple((t.words, "yes" if t.fits else "try") for t in found.exact)))  # fmt: skip
    shown = found.nearest[: 3 if found.exact else 8]
    if shown:
        tables.append(Rows("NOT exact", ("train", "pitch mm", "error", f"over {engaged:g} mm, µm"),
                           tuple(_row(t, engaged) for t in shown), (1, 2, 3)))  # fmt: skip
    data: dict[str, Any] = {
        "pitch_mm": float(wanted), "leadscrew_mm": float(screw), "engaged_mm": engaged, "tried": found.tried,
        "exact": [_plain(t, engaged) for t in found.exact], "nearest": [_plain(t, engaged) for t in found.nearest],
    }  # fmt: skip
    notes = [f"of {len(have)} gears, {found.tried} trains tried"]
    if not found.exact:
        notes.append("no train is exact: judge the error by the length of thread that is engaged")
    if not tables:
        notes.append("nothing comes within two per cent: more gears are wanted, or three pairs (--pairs 3)")
    return QuickSum(
        "gears", (said, f"leadscrew {float(screw):.6g} mm", f"gears {' '.join(str(g) for g in have)}"), tuple(tables),
        (f"drivers/driven = pitch/leadscrew = {wanted / (screw * first)}",),
        ("screw-cutting rules: Rose, Modern Machine-Shop Practice (1887); Machinery's Handbook; exact fractions",
         f"studs clear by {CLEAR_TEETH} teeth: common practice, no source"), data,
        cautions=(
            "Power off while gears are changed, cover shut before it is on.",
            "A metric thread on an inch screw: leave the half-nuts shut until it is done, and turn back.",
        ),
        notes=tuple(notes),
    )  # fmt: skip


def _pitch(text: str) -> tuple[Fraction, str]:
    clean = text.strip()
    if not clean:
        raise Refused("pitch", got=text, reason="it is missing", way_out="write '0.75 mm', '40 tpi' or 'M5'")
    if clean[0].isdigit() and (
        "tpi" in clean.lower() or clean.endswith(("mm", "in", "thou")) or clean.replace(".", "").isdigit()
    ):
        pitch = read_screw(clean, "pitch")
        return pitch, f"pitch {float(pitch):.6g} mm, {float(INCH / pitch):.6g} tpi"
    try:
        from asmade.standards.threads import thread  # noqa: PLC0415

        held = thread(read_thread(clean))
    except AsmadeError as fault:
        raise Refused("pitch", got=text, reason=fault.message, way_out="write '0.75 mm', '40 tpi' or 'M5'") from fault
    pitch = INCH / Fraction(round(held.tpi)) if _whole(held.tpi) else Fraction(str(round(held.pitch_mm, 6)))
    return pitch, f"{clean}, pitch {float(pitch):.6g} mm"


def _whole(value: float) -> bool:
    return abs(value - round(value)) < 1e-9


def _row(train: Train, engaged: float) -> tuple[str, str, str, str]:
    return (
        train.words,
        f"{float(train.pitch_mm):.6f}",
        f"{100 * train.ratio_error:+.4f} %",
        um(1000 * train.error_over_mm(engaged)),
    )


def _plain(train: Train, engaged: float) -> dict[str, Any]:
    return {"drivers": list(train.drivers), "driven": list(train.driven), "pitch_mm": float(train.pitch_mm),
            "exact": train.exact, "ratio_error": train.ratio_error, "error_mm": train.error_over_mm(engaged),
            "studs_clear": train.fits}  # fmt: skip
