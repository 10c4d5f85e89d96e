"""Quick sum of squares, hexagons and other flats from round bar."""

from __future__ import annotations

from asmade.verbs.sums.bench import whole_number
from asmade.verbs.sums.result import QuickSum, Rows, inch, mm, size
from asmade.work.flats import flats_on_bar


def square(text: str, *, sides: str = "4", bar: str = "") -> QuickSum:
    """Flats of a size across: least bar, depth of each, width, over the corners."""
    across = size(text, "size across the flats")
    count = whole_number(sides, "number of flats", least=2, most=60)
    found = flats_on_bar(count, float(across.mm), float(size(bar, "bar").mm) if bar else None)
    rows = [
        ("bar", mm(found.bar_mm), inch(found.bar_mm)),
        ("least bar for sharp corners", mm(found.least_bar_mm), inch(found.least_bar_mm)),
        ("depth of each flat", mm(found.depth_mm), inch(found.depth_mm)),
        ("width of each flat", mm(found.flat_width_mm), inch(found.flat_width_mm)),
        ("over the corners", mm(found.corners_mm), inch(found.corners_mm)),
    ]
    if count == 2:
        rows.pop(1)
    notes = [f"turn by {found.turn_deg:g} degrees; measure across two flats after each pair"]
    if not found.sharp and count > 2:
        notes.append("the corners stay round: the bar is less than the least for sharp ones")
    return QuickSum(
        "square", (across.how, f"{count} flats"),
        (Rows(f"{count} flats, {found.across_flats_mm:g} mm across", ("", "mm", "in"), tuple(rows), (1, 2)),),
        (f"depth = (D - s)/2 = ({found.bar_mm:.4f} - {found.across_flats_mm:g})/2 = {found.depth_mm:.4f} mm",
         f"corners = s/cos(180/{count}), width = {'s tan(180/n)' if found.sharp else 'sqrt(D^2 - s^2)'}"),
        ("geometry; Machinery's Handbook",),
        {"flats": count, "across_flats_mm": found.across_flats_mm, "bar_mm": found.bar_mm,
         "least_bar_mm": found.least_bar_mm, "depth_mm": found.depth_mm, "flat_width_mm": found.flat_width_mm,
         "corners_mm": found.corners_mm, "sharp": found.sharp, "turn_deg": found.turn_deg},
        cautions=("Milling cutter in a collet or holder, never in a drill chuck; long work held at both ends.",),
        notes=tuple(notes),
    )  # fmt: skip
