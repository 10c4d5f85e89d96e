"""Tables for people: how results look in a terminal. No sums, only words and figures that line up."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

if TYPE_CHECKING:
    from asmade.reckon.aims import Aim
    from asmade.reckon.requirement import Finding
    from asmade.verbs.show import Board, PartView, SizeRow
    from asmade.verbs.upnext import PieceSteps


MARKS = {
    "holds": "o holds",
    "close": "~ close",
    "fails": "x FAILS",
    "not known": "? not known",
    "no limits": "- no limits",
}
STYLES = {"holds": "green", "close": "yellow", "fails": "bold red", "not known": "cyan", "no limits": "dim"}
MM_PER_THOU = 0.0254


def console(*, err: bool = False) -> Console:
    """A console as wide as the terminal; 110 columns where there is none, so that pipes and documents read well."""
    width = None if os.environ.get("COLUMNS") else 110
    made = Console(highlight=False, stderr=err, soft_wrap=False)
    return made if made.is_terminal else Console(highlight=False, stderr=err, width=width, soft_wrap=False)


def table(title: str, *columns: str, right: Iterable[int] = (), whole: Iterable[int] = ()) -> Table:
    """A plain table with a title on the left; ``right`` are the columns of figures, ``whole`` are never folded."""
    made = Table(title=escape(title) or None, title_justify="left", title_style="bold", box=SIMPLE_HEAD, pad_edge=False)
    ranged, kept = set(right), {*right, *whole}
    for at, name in enumerate(columns):
        made.add_column(name, justify="right" if at in ranged else "left", no_wrap=at in kept, overflow="fold")
    return made


def mm(value: float | None, places: int = 3) -> str:
    """A length for a table; empty where there is none."""
    return "" if value is None or not math.isfinite(value) else f"{round(value, places) + 0.0:.{places}f}"


def figure(value: float | None, unit: str) -> str:
    """A length in mm, an angle in degrees or another quantity with its unit, to what a bench can tell apart."""
    if value is None or not math.isfinite(value):
        return ""
    if unit == "rad":
        return f"{mm(math.degrees(value))}°"
    if unit in ("mm", ""):
        return mm(value)
    return f"{mm(value, 1)} %" if unit == "%" else f"{value:.4g} {unit}"


def limits(finding: Finding) -> str:
    """``0.030 to 0.100``, ``at least 0.500``."""
    low, high = figure(finding.low, finding.unit), figure(finding.high, finding.unit)
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""


def verdict(of: str) -> str:
    """The verdict as a mark and a word, never colour alone."""
    return f"[{STYLES[of]}]{MARKS[of]}[/]"


def per_cent(chance: float | None) -> str:
    """A chance in whole per cent, never rounded to certainty."""
    if chance is None:
        return ""
    if chance >= 0.995:
        return ">99 %"
    if 0 < chance < 0.005:
        return "<1 %"
    return f"{chance:.0%}".replace("%", " %")


def findings(found: Sequence[Finding], title: str) -> Table:
    """Findings, worst first."""
    made = table(title, "", "what", "is", "limits", "margin", "worst", "chance", right=(2, 3, 4, 5, 6))
    for f in found:
        drawn = " (drawn only)" if f.drawn_only else ""
        name = f"{f.code}  {f.subject}{drawn}"
        if f.value is None and f.verdict == "not known":
            made.add_row(verdict(f.verdict), escape(name), "", limits(f), "", "", "")
            continue
        made.add_row(
            verdict(f.verdict), escape(name), figure(f.value, f.unit), limits(f), figure(f.margin, f.unit),
            figure(f.worst, f.unit), per_cent(f.chance),
        )  # fmt: skip
    return made


def explained(f: Finding) -> str:
    """One finding opened to its working, source and shares."""
    lines = [f"{verdict(f.verdict)}  [bold]{escape(f.subject)}[/]", f"  {escape(f.working)}"]
    if f.missing:
        lines.append(f"  not known: {escape(', '.join(f.missing))}")
    if f.value is not None:
        lines.append(f"  = {figure(f.value, f.unit)}, limits {limits(f)}, margin {figure(f.margin, f.unit)}")
        ends = f"{figure(f.worst_low, f.unit)} to {figure(f.worst_high, f.unit)}"
        lines.append(f"  worst case {ends}; chance of holding {per_cent(f.chance)}")
    if f.plays:
        lines.append(f"  at the worst of: {escape(', '.join(f.plays))}")
    lines += [f"  {share.share:>4.0%}  {escape(share.cause)}" for share in f.shares]
    lines.append(f"  source: {escape(f.source)}")
    return "\n".join(lines)


def drawing(found: Sequence[Finding]) -> list[str]:
    """The drawing check, one thing a paragraph."""
    return [f"{verdict(f.verdict)}  [bold]{escape(f.subject)}[/]\n  {escape(f.working)}" for f in found]


def aim(found: Aim) -> list[str]:
    """An aim, big things first."""
    name = f"[bold]{escape(str(found.dimension))}[/]  piece {escape(found.piece.seat)}"
    unit = "rad" if found.angle else "mm"
    if found.state == "made":
        return [f"{name}: made already"]
    if found.target is None:
        lines = [f"{name}: [bold red]nothing to aim at[/] ({found.state})"]
        lines += [f"  in the way: {escape(c)}" for c in found.conflict]
        lines += [f"  -> {escape(c)}" for c in found.cure]
        return lines + [f"  {escape(w)}" for w in found.warnings]
    low, high = figure(found.low, unit) or "no least", figure(found.high, unit) or "no most"
    ends = "" if found.low is None and found.high is None else f"[bold]{low} to {high}[/], "
    lines = [f"{name}: {ends}aim at [bold]{figure(found.target, unit)}[/]"]
    if not found.angle:
        inches = [
            f"{value / 25.4:.4f}" if value is not None else "-" for value in (found.low, found.high, found.target)
        ]
        lines[0] += f" mm   ({inches[0]} to {inches[1]}, aim {inches[2]} in)" if ends else f" mm   ({inches[2]} in)"
    lines.append(f"  {found.approach}; " + ("no requirement: its own figure" if found.state == "no requirement" else
                 f"guard band {found.guard:.3f} for {escape(found.instrument or 'no instrument')}"))  # fmt: skip
    if found.chance is not None:
        lines.append(f"  chance of hitting it: {per_cent(found.chance)}")
    lines += [
        f"  {f'{r.side} end set by ' if found.state == 'open' else ''}{escape(r.subject)}: {escape(r.source)}"
        for r in found.because
    ]
    lines += [f"  mate {escape(n)} {figure(v, 'mm')} ({how})" for n, v, how in found.mates]
    lines += [f"  [yellow]! {escape(w)}[/]" for w in found.warnings]
    return lines


def aim_short(found: Aim) -> str:
    """An aim in a few words."""
    if found.target is None:
        return "made" if found.state == "made" else f"none ({found.state})"
    unit = "rad" if found.angle else "mm"
    ends = f"{figure(found.low, unit) or '...'} to {figure(found.high, unit) or '...'}"
    return f"{figure(found.target, unit)} ({ends})"


def steps(pieces: Sequence[PieceSteps], most: int) -> Table:
    """What can be made now."""
    made = table("Make next", "piece", "sizes to make now", "frees")
    for p in pieces[:most]:
        names = [s.dimension.dim for s in p.sizes]
        shown = ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")
        frees = list(p.frees)
        freed = ", ".join(frees[:3]) + (f" and {len(frees) - 3} more" if len(frees) > 3 else "")
        made.add_row(escape(p.piece), escape(shown), escape(freed))
    return made


def board(to: Console, b: Board, most: int = 12) -> None:
    """The board: what is decided, what is made, what is at risk, what to make next."""
    to.rule(f"[bold]{escape(b.title)}[/]  {escape(b.arrangement)}", align="left")
    if b.note:
        to.print(f"[dim]{escape(b.note)}[/]")
    to.print(
        f"{b.parts} parts, {b.pieces} pieces, {b.sizes} sizes: [bold]{b.made} made[/], "
        f"[bold]{b.decided} decided[/], {b.undecided} still as drawn"
        + (f", [bold]{b.not_drawn} not drawn yet[/]" if b.not_drawn else ""),
    )
    counts = ", ".join(f"{b.counts[v]} {v}" for v in ("fails", "close", "holds", "not known") if b.counts.get(v))
    to.print(f"requirements: {counts}")
    if b.drawing:
        to.print("\n[bold]The drawing contradicts itself[/]")
        for paragraph in drawing(b.drawing):
            to.print(paragraph)
    if b.rounding:
        to.print("\n[bold]Rounding each size by itself would lose[/] (asmade choose decides all at once)")
        for lost in b.rounding[:4]:
            ends = f"{mm(lost.limits.low)} to {mm(lost.limits.high)}" if lost.limits.low is not None and \
                lost.limits.high is not None else f"at least {mm(lost.limits.low)}" if lost.limits.low is not None \
                else f"at most {mm(lost.limits.high)}"  # fmt: skip
            how = ", ".join(f"{name} {was:.3f} to {now:g}" for name, was, now in lost.worst)
            to.print(
                f"x [bold]{escape(lost.subject)}[/]: {mm(lost.drawn)} as drawn, {mm(lost.rounded)} rounded, {ends}\n"
                f"  {escape(how)}"
            )
        if len(b.rounding) > 4:
            to.print(f"  and {len(b.rounding) - 4} more")
    risky = [f for f in b.at_risk if f.verdict == "fails"] + [f for f in b.at_risk if f.verdict == "close"]
    if risky:
        more = f" (the worst {most} of {len(risky)})" if len(risky) > most else ""
        to.print(findings(risky[:most], f"At risk{more}"))
    if b.next:
        to.print(steps(b.next, most))
    if b.not_drawn:
        to.print(f"{b.not_drawn} sizes have no figure yet: asmade drawn BOOK ADDRESS SIZE, or a list by asmade import.")
    to.print(f"{b.waiting} sizes wait for a mate to be measured first.")
    for wait in b.curing:
        until = f" until {wait.at[:16].replace('T', ' ')}" if wait.at else f": {wait.words}"
        to.print(f"! {escape(wait.joint)}: not to be {wait.what}{escape(until)}")
    if b.unknown_figures:
        to.print(f"Not known yet: {escape(', '.join(b.unknown_figures))}")
    if b.last_entry:
        to.print(f"Where you left off: {b.last_entry}, {escape(b.last_words)}")


def part(to: Console, view: PartView) -> None:
    """One part with every piece and size."""
    p = view.part
    to.rule(f"[bold]{escape(p.name)}[/]  {escape(p.material)}  {escape(p.reference)}", align="left")
    marks = ", ".join(
        f"{piece.seat} at {piece.place}" if piece.place else f"{piece.seat} {'scrap' if piece.scrapped else 'spare'}"
        for piece in view.pieces
    )
    to.print(f"pieces: {escape(marks)}")
    made = table("", "size", "kind", "drawn", "chosen", "aim", "made", "best", "from", right=(6,), whole=(0,))
    for row in view.rows:
        made.add_row(*_row(row))
    to.print(made)
    if view.findings:
        to.print(findings(view.findings, "Requirements it is in"))


def _row(row: SizeRow) -> tuple[str, ...]:
    unit = "rad" if row.angle else "mm"
    lock = " (locked)" if row.locked else ""
    return (
        escape(str(row.address)), row.kind, escape(row.drawn), escape(row.chosen) + lock,
        aim_short(row.aim) if row.aim and row.aim.state in ("open", "empty") else "",
        escape(row.made), figure(row.best, unit), row.source,
    )  # fmt: skip


def size(to: Console, row: SizeRow, found: Sequence[Finding]) -> None:
    """One size, opened."""
    unit = "rad" if row.angle else "mm"
    to.print(f"[bold]{escape(str(row.address))}[/]  piece {escape(row.piece)}  {row.kind}, {escape(row.process)}")
    to.print(f"  drawn   {escape(row.drawn) or 'not drawn'}   {escape(row.how)}")
    to.print(
        f"  chosen  {escape(row.chosen) or 'not yet'}   {escape(row.chosen_why)}{' (locked)' if row.locked else ''}"
    )
    to.print(f"  made    {escape(row.made) or 'not yet'}   {escape(row.instrument)}")
    if row.best is not None:
        to.print(f"  best    {figure(row.best, unit)} ({row.source}), spread {figure(row.spread, unit)}, "
                 f"at worst ± {figure(row.reach, unit)}")  # fmt: skip
    if row.note:
        to.print(f"  [yellow]{escape(row.note)}[/]")
    if row.aim is not None:
        for line in aim(row.aim):
            to.print(line)
    for f in found:
        to.print(explained(f))


def thou(value: float) -> str:
    """A length in thou, beside its mm."""
    return f"{value / MM_PER_THOU:+.1f} thou"
