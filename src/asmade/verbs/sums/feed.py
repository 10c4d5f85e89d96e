"""Quick sum of a feed: what is usual, the table feed of a cutter, the ridges that a turning tool leaves."""

from __future__ import annotations

from typing import Any

from asmade.verbs.sums.bench import number, whole_number
from asmade.verbs.sums.result import QuickSum, Rows, figure, inch, mm, quantity, size, unique
from asmade.work.speeds import feed as usual_feed
from asmade.work.speeds import ridge_height_mm, table_feed_mm_min


def feed(text: str, *, operation: str = "drilling", rev_min: str = "", teeth: str = "", nose: str = "") -> QuickSum:
    """Feed for a diameter; with a speed also along the work, with a nose radius the ridges left."""
    found = size(text, "diameter")
    usual = usual_feed(operation, float(found.mm))
    rows = (
        ("from", mm(usual.low_mm), inch(usual.low_mm)),
        ("to", mm(usual.high_mm), inch(usual.high_mm)),
    )
    tables = [Rows(f"Feed per {usual.per}, {usual.operation}, {float(found.mm):g} mm", ("", "mm", "in"), rows, (1, 2))]
    data: dict[str, Any] = {"diameter_mm": float(found.mm), "operation": usual.operation, "per": usual.per,
                            "low_mm": usual.low_mm, "high_mm": usual.high_mm}  # fmt: skip
    working, sources = ["read from the table of feeds; no sum"], [usual.source]
    read_as = [found.how, usual.operation]
    if rev_min:
        speed, said = quantity(rev_min, "speed", "spindle at", bare="rpm")
        edges = whole_number(teeth or "2", "teeth", most=200) if usual.per == "tooth" else 1
        low, high = (table_feed_mm_min(each, edges, speed) for each in (usual.low_mm, usual.high_mm))
        tables.append(Rows("Along the work", ("mm a minute from", "to"), ((figure(low), figure(high)),), (0, 1)))
        data |= {"rev_min": speed, "teeth": edges, "low_mm_min": low, "high_mm_min": high}
        working.append(f"v = f z n = {usual.low_mm:g} x {edges} x {speed:g} = {low:.1f} mm/min, to {high:.1f}")
        sources.append("Kalpakjian and Schmid, Manufacturing Engineering and Technology")
        read_as.append(said)
    if nose:
        radius = number(nose, "nose radius")
        ridges = [ridge_height_mm(each, radius) for each in (usual.low_mm, usual.high_mm)]
        tables.append(Rows(f"Ridges left by a nose of {radius:g} mm", ("µm from", "to"),
                           ((figure(1000 * ridges[0], 2), figure(1000 * ridges[1], 2)),), (0, 1)))  # fmt: skip
        data |= {"ridge_low_um": 1000 * ridges[0], "ridge_high_um": 1000 * ridges[1]}
        working.append(f"R = r - sqrt(r^2 - f^2/4) = {1000 * ridges[1]:.2f} um at {usual.high_mm:g} mm a turn")
        sources.append("geometry")
    return QuickSum(
        "feed", tuple(read_as), tuple(tables), tuple(working), unique(sources), data,
        cautions=("Blue chips or squealing ask for less speed, not less feed. Ease off as a drill breaks through.",),
    )  # fmt: skip
