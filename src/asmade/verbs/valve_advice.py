"""What is uneven in an engine's valve events and what to set: plain sentences, the gravest first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import AsmadeError
from asmade.motion.bindings.valves import Bound
from asmade.motion.gears import gear
from asmade.motion.valves.engine import Engine, Side, SideName
from asmade.motion.valves.instructions import Stillness, still_link, stillness
from asmade.motion.valves.report import EngineEvents, SideEvents
from asmade.motion.valves.setting import mid_for_equal_leads, spindle_turns

PRACTICE: Final = "common practice, no source"
LEAD_MM: Final = 0.05
"""Leads that differ by more are uneven: common practice, no source."""
CUTOFF: Final = 2.0
"""Cut-offs that differ by more per cent of the stroke are uneven: common practice, no source."""
BEAT_DEG: Final = 8.0
"""Beats farther from a quarter turn are heard as uneven: common practice, no source."""
GRAVE: Final = ("does_not_assemble", "never_opens", "never_cuts_off", "never_exhausts", "die_past_slot")
SIDES: Final[Mapping[str, str]] = {"R": "right", "L": "left"}
THOU: Final = 0.0254


@dataclass(frozen=True, slots=True)
class Advice:
    """One sentence. ``value`` in mm, per cent of the stroke or degrees, as ``unit`` says; side empty: the engine."""

    code: str
    text: str
    side: SideName | None = None
    reverser: float | None = None
    value: float | None = None
    unit: str = ""
    source: str = PRACTICE

    @property
    def grave(self) -> bool:
        """Whether the gear cannot do its work."""
        return self.code in GRAVE


def advise(
    engine: Engine,
    found: EngineEvents,
    bound: tuple[Bound, Bound],
    threads: Mapping[SideName, tuple[str, float] | None],
) -> tuple[Advice, ...]:
    """Everything worth saying; one line that all is even where there is nothing else."""
    said = [*_notices(found)]
    stopped = {a.side for a in said if a.code == "does_not_assemble"}
    for (name, side), of in zip(engine.sides(), bound, strict=True):
        if name not in stopped:
            said += _still(name, side)
            said += _leads(name, side, of, threads[name])
        said += _ends(name, [row for row in found.positions if row.side == name])
    said += _sides(found)
    said += _beats(found)
    said.sort(key=lambda advice: not advice.grave)
    if not any(a.code != "near_toggle" for a in said):
        text = f"even: no lead differs by more than {LEAD_MM:g} mm, no cut-off by more than {CUTOFF:g} per cent"
        said.append(Advice("even", text))
    return tuple(said)


def _notices(found: EngineEvents) -> Iterator[Advice]:
    """Each kind of notice once for each side, at its first position, with how many more there are."""
    grouped: dict[tuple[str, SideName], list[int]] = {}
    for at, notice in enumerate(found.notices):
        grouped.setdefault((notice.code, notice.side), []).append(at)
    for (code, side), places in grouped.items():
        first = found.notices[places[0]]
        more = f" (and {len(places) - 1} more like it)" if len(places) > 1 else ""
        yield Advice(code, f"{SIDES[side]}: {first.text}{more}", side, first.reverser, first.value, first.unit,
                     first.source or "geometry")  # fmt: skip


def _still(name: SideName, side: Side) -> Iterator[Advice]:
    """The link must not move the valve at either dead centre; what would cure it."""
    if not gear(side.gear.gear).still_by:
        return
    moved = stillness(side)
    worst = max(abs(moved.front), abs(moved.back))
    if worst <= LEAD_MM:
        return
    at = "front" if abs(moved.front) == worst else "back"
    text = (
        f"{SIDES[name]}: at the {at} dead centre the link moves the valve {amount(worst)} between full forward and "
        f"full backward gear, where it should not"
    )
    cure = _cure(side, moved)
    yield Advice("link_not_still", f"{text}{cure}", name, None, worst, "mm")


def _cure(side: Side, moved: Stillness) -> str:
    try:
        still = still_link(side)
    except (AsmadeError, ArithmeticError):
        return ""
    if max(abs(still.after.front), abs(still.after.back)) > 0.2 * max(abs(moved.front), abs(moved.back)):
        return ""
    sizes = {size.name: size for size in gear(side.gear.gear).sizes}
    parts = [change_in_words(sizes[n].part, c, angle=sizes[n].kind == "angle") for n, c in still.changes.items()]
    return f": {' and '.join(parts)} (both together)"


def change_in_words(part: str, change: float, *, angle: bool) -> str:
    """``lengthen the eccentric rod 0.12 mm (4.7 thou)``; ``give the return crank 0.30 deg more``."""
    if angle:
        return f"give the {part} {abs(math.degrees(change)):.2f} deg {'more' if change > 0 else 'less'}"
    return f"{'lengthen' if change > 0 else 'shorten'} the {part} {amount(change)}"


def amount(mm: float) -> str:
    """A length without its sign, mm and thou."""
    return f"{abs(mm):.2f} mm ({abs(mm) / THOU:.1f} thou)"


def _leads(name: SideName, side: Side, bound: Bound, thread: tuple[str, float] | None) -> Iterator[Advice]:
    """Where the book says how the valve stands: by how much to move it for equal leads."""
    if not bound.measured_mid:
        return
    move = -(float(mid_for_equal_leads(side, bound.set_at)[0]) - float(side.valve.mid))
    if abs(move) <= 0.5 * LEAD_MM:
        return
    turns = f": {abs(spindle_turns(move, thread[1])):.2f} turns of {thread[0]}" if thread else ""
    text = (
        f"{SIDES[name]}: leads differ by {amount(2 * move)} at {bound.set_at:+g}; move the valve {amount(move)} "
        f"{'forward' if move > 0 else 'back'} on its spindle{turns}"
    )
    yield Advice("leads_uneven", text, name, bound.set_at, 2 * abs(move), "mm")


def _ends(name: SideName, rows: list[SideEvents]) -> Iterator[Advice]:
    """Front against back, at the position where they differ most."""
    leads = [(row.ends[0].lead_mm - row.ends[1].lead_mm, row) for row in rows if row.ends]
    cutoffs = [
        (row.ends[0].cutoff.per_cent - row.ends[1].cutoff.per_cent, row)
        for row in rows
        if row.ends and row.ends[0].cutoff and row.ends[1].cutoff
    ]
    if leads:
        apart, row = max(leads, key=lambda pair: abs(pair[0]))
        if abs(apart) > LEAD_MM and row.ends:
            text = (
                f"{SIDES[name]}: at {row.reverser:+.2f} the lead is {row.ends[0].lead_mm:.2f} mm at the front and "
                f"{row.ends[1].lead_mm:.2f} at the back"
            )
            yield Advice("leads_between_ends", text, name, row.reverser, abs(apart), "mm")
    if cutoffs:
        apart, row = max(cutoffs, key=lambda pair: abs(pair[0]))
        if abs(apart) > CUTOFF and row.ends and row.ends[0].cutoff and row.ends[1].cutoff:
            text = (
                f"{SIDES[name]}: at {row.reverser:+.2f} steam is cut off at {row.ends[0].cutoff.per_cent:.1f} per cent "
                f"at the front and {row.ends[1].cutoff.per_cent:.1f} at the back"
            )
            yield Advice("cutoffs_between_ends", text, name, row.reverser, abs(apart), "per cent")


def _sides(found: EngineEvents) -> Iterator[Advice]:
    """Right against left."""
    cutoffs = [
        (apart, end, row)
        for row in found.differences
        for end, apart in zip(("front", "back"), row.cutoff_between_sides, strict=True)
        if apart is not None
    ]
    leads = [
        (apart, end, row)
        for row in found.differences
        for end, apart in zip(("front", "back"), row.lead_between_sides_mm, strict=True)
        if apart is not None
    ]
    for code, listed, limit, unit, words in (
        ("leads_between_sides", leads, LEAD_MM, "mm", "lead"),
        ("cutoffs_between_sides", cutoffs, CUTOFF, "per cent", "cut-off"),
    ):
        if listed:
            apart, end, row = max(listed, key=lambda each: abs(each[0]))
            if abs(apart) > limit:
                less = "right" if apart < 0 else "left"
                figure = f"{abs(apart):.2f} mm" if unit == "mm" else f"{abs(apart):.1f} per cent"
                where = f"on the {less} side than on the other, at {row.reverser:+.2f}"
                text = f"{words} at the {end} end is {figure} less {where}"
                yield Advice(code, text, None, row.reverser, abs(apart), unit)


def _beats(found: EngineEvents) -> Iterator[Advice]:
    if not found.beats:
        return
    worst = max(found.beats, key=lambda beat: beat.out_by_deg)
    if worst.out_by_deg > BEAT_DEG:
        spaces = ", ".join(f"{each:.0f}" for each in worst.intervals_deg)
        text = f"beats at {worst.reverser:+.2f} come {spaces} deg of crank apart; 90 each would be even"
        yield Advice("beats_uneven", text, None, worst.reverser, worst.out_by_deg, "deg")
