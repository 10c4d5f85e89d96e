"""Tables of the valve gear for people: events, what to set, what matters. No sums, only figures that line up."""

from __future__ import annotations

import math

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from asmade.measure.show import show_64ths
from asmade.motion.valves.best import Unevenness
from asmade.motion.valves.report import EndEvents, Event, SideEvents
from asmade.verbs.valve_proposal import ProposeResult
from asmade.verbs.valve_words import step_in_words
from asmade.verbs.valves import Estimate, Gears, MattersResult, SetResult, ValvesResult

SIDES = {"R": "right", "L": "left"}


def head(gears: Gears) -> str:
    """What is looked at, and what of it nobody has measured."""
    said = f"{gears.name}: {gears.title}, {gears.which} sizes; {gears.how_set}"
    if not gears.not_made:
        return said
    first, rest = gears.not_made[:6], len(gears.not_made) - 6
    more = f" and {rest} more (--json names all)" if rest > 0 else ""
    return (
        f"{said}\n{gears.measured} of its {gears.measured + len(gears.not_made)} sizes are measured. Not measured, "
        f"taken as best known: {', '.join(first)}{more}. Measure them and write them down with `asmade made`."
    )


def valves(to: Console, result: ValvesResult) -> None:
    """Advice, then the events of each side."""
    to.print(escape(head(result.gears)))
    for advice in result.advice:
        mark = "x" if advice.grave else "o" if advice.code == "even" else "-"
        to.print(f" {mark} {escape(advice.text)}")
    broken = [f for f in result.findings if f.verdict == "fails"]
    for finding in broken:
        to.print(f" x {escape(finding.subject)} fails its limits: `asmade check` tells by how much", style="bold")
    for side in ("R", "L"):
        rows = [row for row in result.events.positions if row.side == side and row.ends is not None]
        to.print(_events(side, [row for row in result.events.positions if row.side == side]))
        to.print(_farthest(rows), style="dim")
    beats = result.events.beats
    for each in dict.fromkeys((*beats[:1], *sorted(beats, key=lambda b: -b.out_by_deg)[:1])):
        spaces = ", ".join(f"{interval:.1f}" for interval in each.intervals_deg)
        to.print(f"Beats at {each.reverser:+.2f}: {spaces} deg of crank apart.", style="dim")
    to.print(
        "Front and back in each column. Cut-off, release: per cent done of the working stroke; compression, admission: "
        "of the return stroke. Opening: farthest the valve's edge goes past the port's.",
        style="dim",
    )
    _estimates(to, result.estimates)


def _estimates(to: Console, found: tuple[Estimate, ...]) -> None:
    """Estimates of the book's own ``[[tractive_effort]]``, and what they stand on."""
    if not found:
        return
    table = Table(box=SIMPLE_HEAD, title="What the engine will do", title_justify="left", pad_edge=False)
    table.add_column("estimate")
    table.add_column("value", justify="right")
    for each in found:
        said = f"not known: {', '.join(each.missing)}" if each.value is None else f"{each.value:.3g} {each.unit}"
        table.add_row(escape(each.subject.partition(", ")[2]), escape(said.strip()))
    to.print(table)
    for source in dict.fromkeys(each.source for each in found):
        to.print(f" - {escape(source)}", style="dim")


def _farthest(rows: list[SideEvents]) -> str:
    """What the gear does at its worst of these positions, where it has such parts: slip, swing, links near a line."""
    said = []
    past = [(end.past_port_mm, row.reverser, end.end) for row in rows if row.ends for end in row.ends]
    if past and max(past)[0] > 0:
        said.append("valve's edge past the port by up to {:.2f} mm ({:+.2f}, {})".format(*max(past)))
    slips = [(row.die_slip_mm, row.reverser) for row in rows if row.die_slip_mm is not None]
    if slips:
        said.append("die slips up to {:.2f} mm ({:+.2f})".format(*max(slips)))
    swings = [(row.link_swing_deg, row.reverser) for row in rows if row.link_swing_deg is not None]
    if swings:
        said.append("link swings up to {:.1f} deg in all ({:+.2f})".format(*max(swings)))
    near = [(min(low, 180.0 - high), links) for row in rows for links, (low, high) in row.joint_angles_deg.items()]
    if near:
        angle, links = min(near)
        said.append(f"nearest to a line: {links[0]} and {links[1]}, {angle:.0f} deg")
    return "; ".join(said)


def _events(side: str, rows: list[SideEvents], title: str = "") -> Table:
    table = Table(
        box=SIMPLE_HEAD, title=title or f"{SIDES[side]} side, facing forward", title_justify="left", pad_edge=False
    )
    for name in ("reverser", "lead mm", "cut-off", "release", "compression", "admission", "opening mm", "travel mm"):
        table.add_column(name, justify="right")
    for row in rows:
        if row.ends is None:
            table.add_row(f"{row.reverser:+.2f}", "does not", "go", "together", "", "", "", "")
            continue
        table.add_row(
            f"{row.reverser:+.2f}", _pair(row, lambda e: f"{e.lead_mm:.2f}"),
            *(_pair(row, lambda e, n=name: _per_cent(getattr(e, n)))
              for name in ("cutoff", "release", "compression", "admission")),
            _pair(row, lambda e: f"{e.opening_mm:.2f}"), f"{row.travel_mm:.2f}",
        )  # fmt: skip
    return table


def _pair(row: SideEvents, say: object) -> str:
    if row.ends is None or not callable(say):
        return ""
    front, back = (say(end) for end in row.ends)
    return f"{front:>5} {back:>5}"


def _per_cent(event: Event | None) -> str:
    return "never" if event is None else f"{event.per_cent:.1f}"


def _uneven(found: Unevenness) -> str:
    return f"leads differ by up to {found.lead_mm:.2f} mm, cut-offs by up to {found.cutoff_per_cent:.1f} per cent"


def setting(to: Console, result: SetResult) -> None:
    """The steps of each side."""
    to.print(escape(head(result.gears)))
    for side in result.sides:
        to.print(f"\n[bold]{SIDES[side.side]} side[/]: now {_uneven(side.best.before)};")
        to.print(f"so set {_uneven(side.best.after)}.")
        for number, step in enumerate(side.steps, start=1):
            to.print(f"{number:>3}. {escape(step_in_words(step, side.thread))}")
        if not any(side.best.changes.values()):
            to.print("     Nothing that may be adjusted gains anything: what is uneven lies in the lengths drawn.")
        if side.best.at_limit:
            to.print(f"     As far as it may go: {', '.join(side.best.at_limit)}.")
    to.print("\nTurn by hand with no steam on; pin nothing before both sides are right in both gears.", style="dim")


def matters(to: Console, result: MattersResult) -> None:
    """What matters, and what is worth making again."""
    to.print(escape(head(result.gears)))
    for side in result.sides:
        table = Table(box=SIMPLE_HEAD, title=f"{SIDES[side.side]} side: what being out does", title_justify="left",
                      pad_edge=False)  # fmt: skip
        for name in ("dimension", "of the"):
            table.add_column(name)
        for name in ("out by", "lead mm", "cut-off %", "travel mm"):
            table.add_column(name, justify="right")
        for row in side.rows:
            e = row.effect
            by = "0.5 deg" if row.angle else f"{e.change:.2f} mm"
            table.add_row(e.name, row.part, by, f"{e.lead_mm:.3f}", f"{e.cutoff_per_cent:.2f}", f"{e.travel_mm:.3f}")
        to.print(table)
        if side.remakes:
            to.print(f"As made, set as well as it can be: {_uneven(side.before)}.")
        for remake in side.remakes:
            worth = "worth making again" if remake.gain > 0.1 * side.before.score else "not worth making again"
            to.print(f" - {remake.part} ({', '.join(remake.dimensions)}): {worth}; so {_uneven(remake.after)}")
    if result.not_made:
        to.print(f"Nothing can be said of making again: {escape(result.not_made)}.")
    to.print("The valve is set again for equal leads after each change.", style="dim")


def _size(value: float, *, angle: bool) -> str:
    return f"{math.degrees(value):.2f} deg" if angle else f"{value:.3f}"


def proposal(to: Console, result: ProposeResult) -> None:
    """The sizes of a proposed gear, then what it does."""
    table = Table(box=SIMPLE_HEAD, title="proposed", title_justify="left", pad_edge=False)
    table.add_column("dimension")
    for name in ("mm or deg", "64ths of an inch", "in the book now"):
        table.add_column(name, justify="right")
    table.add_column("given by", overflow="fold")
    for row in result.rows:
        table.add_row(row.name, _size(row.value, angle=row.angle), "" if row.angle else show_64ths(row.value),
                      "" if row.now is None else _size(row.now, angle=row.angle), escape(row.given_by))  # fmt: skip
    to.print(table)
    how = Table(box=SIMPLE_HEAD, title="how it comes about", title_justify="left", pad_edge=False)
    for name in ("figure", "by"):
        how.add_column(name, overflow="fold")
    how.add_column("mm, deg or ratio", justify="right")
    how.add_column("source", overflow="fold")
    for line in result.working:
        angle = line.name in result.aid.angles or "angle" in line.name or "slope" in line.name or "tilt" in line.name
        how.add_row(line.name.replace("_", " "), line.relation, _size(line.value, angle=angle), line.source)
    to.print(how)
    to.print(_events("R", [row for row in result.events.positions if row.side == "R"], "both sides alike"))
    if result.refined is not None:
        ended = "as near as steps allow" if result.refined.finished else "stopped; the best so far"
        to.print(f"Refined in {result.refined.rounds} rounds: {ended}.")
    choices = "; ".join(f"{name}: {value}" for name, value in result.choices.items())
    to.print(f"{escape(choices)}.\nNothing is written to the book. The room between the parts is not looked at here.",
             style="dim")  # fmt: skip


__all__ = ["EndEvents", "head", "matters", "proposal", "setting", "valves"]
