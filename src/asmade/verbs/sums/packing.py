"""Quick sum of packing under one jaw of three to turn an eccentric."""

from __future__ import annotations

from asmade.verbs.sums.result import QuickSum, Rows, inch, mm, size
from asmade.work.packing import for_offset, offset_mm


def packing(text: str, *, diameter: str, thickness: str = "") -> QuickSum:
    """Packing for an offset, by the rule and exactly; or the offset that a ``thickness`` gives."""
    round_ = size(diameter, "diameter held")
    bar = float(round_.mm)
    if thickness:
        given = size(thickness, "packing")
        found = for_offset(offset_mm(float(given.mm), bar), bar)
        read_as = (given.how, round_.how)
    else:
        wanted = size(text, "offset")
        found = for_offset(float(wanted.mm), bar)
        read_as = (wanted.how, round_.how)
    rows = (
        ("offset", mm(found.offset_mm), inch(found.offset_mm)),
        ("packing, narrow jaws (exact)", mm(found.narrow_jaws_mm), inch(found.narrow_jaws_mm)),
        ("packing, flat jaws (1.5 times)", mm(found.flat_jaws_mm), inch(found.flat_jaws_mm)),
        ("indicator over a turn", mm(found.indicator_mm), inch(found.indicator_mm)),
    )
    return QuickSum(
        "packing", read_as, (Rows(f"Eccentric on {bar:g} mm", ("", "mm", "in"), rows, (1, 2)),),
        (f"narrow jaws t = 1.5 e - (D - sqrt(D^2 - 3 e^2))/2 = {found.narrow_jaws_mm:.4f} mm",
         f"flat jaws t = 1.5 e = {found.flat_jaws_mm:.4f} mm",
         f"indicator = 2 e = {found.indicator_mm:.4f} mm"),
        ("geometry (docs/bench-sums.md); the rule of 1.5 is common practice",),
        {"offset_mm": found.offset_mm, "diameter_mm": bar, "packing_narrow_jaws_mm": found.narrow_jaws_mm,
         "packing_flat_jaws_mm": found.flat_jaws_mm, "indicator_mm": found.indicator_mm},
        cautions=("Unbalanced: slowest speed, a turn by hand first.",
                  "All three jaws grip along their length, and the packing cannot fly out."),
        notes=("real jaws lie between the two: pack, set an indicator on the work, and shim to twice the offset",),
    )  # fmt: skip
