"""sheet: the job sheet of a piece as text, for the bench: aims, mates, operations to tick, dial figures, cautions."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.measure.errors import AsmadeError, Refused
from asmade.measure.show import show_thou
from asmade.reckon.aims import Aim
from asmade.reckon.values import DRAWN, MADE, SOURCES, Values, compute
from asmade.verbs.route import RouteResult, planned, seat_of
from asmade.verbs.store import Path_, read
from asmade.work.passes import Passes
from asmade.work.recipes.bench import plain_name
from asmade.work.recipes.model import Operation, SetUp
from asmade.work.routes import RoutePlanner

WIDTH = 92
RULE = "-" * WIDTH
PAGE = (
    "The makers' instructions of machines and products, local rules and licensed practice go before this "
    "sheet. Boilers "
    "and anything under pressure go by the code and inspector that apply; nothing here is about their strength."
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One job sheet: the piece and its lines."""

    piece: str
    text: str


@dataclass(frozen=True, slots=True)
class SheetResult:
    """Sheets, and pieces for which there is none, with why."""

    sheets: tuple[Sheet, ...]
    without: tuple[tuple[str, str], ...]

    @property
    def text(self) -> str:
        """All sheets, each on a page of its own."""
        return "\f".join(sheet.text for sheet in self.sheets)


def sheet(path: Path_, piece: str = "", *, every: bool = False) -> SheetResult:
    """The sheet of a piece, of all pieces of a part, or of everything still to be made.

    Raises ``Refused`` where neither or both are asked for.
    """
    if bool(piece) == every:
        raise Refused(
            "sheet", got=piece, reason="name a piece or part, or ask for all", way_out="asmade sheet BOOK wheel@2L"
        )
    opened = read(path)
    build = opened.build
    values = compute(build)
    state = f"{build.design.title}, as of entry {build.last_entry}" + (
        f" of {opened.entries[-1].at[:10]}" if opened.entries else ""
    )
    if every:
        return _every(build, values, state)
    part, place = seat_of(build, piece)
    named = "@" in piece or "#" in piece
    places = (place,) if named else build.design.parts[part].places
    return SheetResult(tuple(_sheet(build, values, planned(build, values, part, p), state) for p in places), ())


def _every(build: Build, values: Values, state: str) -> SheetResult:
    sheets, without = [], []
    planner = RoutePlanner(build, values)
    for part in build.design.parts.values():
        if part.assembled_from:
            continue
        try:
            planner.plan(part.name, part.places[0])
        except AsmadeError as fault:
            if part.form:
                raise
            without.append((part.name, fault.message))
            continue
        sheets += [_sheet(build, values, planned(build, values, part.name, place), state) for place in part.places]
    return SheetResult(tuple(sheets), tuple(without))


def _sheet(build: Build, values: Values, result: RouteResult, state: str) -> Sheet:
    route = result.route
    part = build.design.parts[route.part]
    lines = [
        RULE, f"{plain_name(route.part)}, place {route.place}" + (", piece "
        f"{build.piece_at(Address(route.part, route.place)).mark}"),
        f"{state}. {part.material or 'material not said'}; {part.reference or 'sheet not said'}", RULE,
    ]  # fmt: skip
    if route.stock is not None:
        lines.append(f"From: {route.stock.name}")
    lines += [f"Lacking: {each}" for each in route.lacks]
    for warning in (*route.warnings, *(f"Not planned: {each}" for each in route.unplanned)):
        lines += _wrap(f"! {warning}", "  ")
    lines += ["", "SIZES" + " " * 33 + "from        to       aim   thou       state", *_sizes(build, values, result)]
    for setup, ops in route.set_ups:
        lines += ["", *_setup(setup, ops)]
        for op in ops:
            lines += _operation(op)
    lines += ["", "READINGS (date, instrument, size)"]
    sizes = dict.fromkeys(d for op in route.operations for d in op.dims)
    lines += [f"  {plain_name(d):<34} ______________  ______________________  ____________" for d in sizes]
    lines += ["", *_wrap(PAGE, ""), ""]
    return Sheet(route.seat, "\n".join(lines))


def _sizes(build: Build, values: Values, result: RouteResult) -> Iterator[str]:
    part, place = result.route.part, result.route.place
    for name, dimension in build.design.parts[part].dims.items():
        address = Address(part, place, dim=name)
        shown = plain_name(name)
        if dimension.of_kind.thread:
            yield f"  {shown:<30} {values.system.callouts.get(address, '') or dimension.drawn or 'not said'}"
            continue
        at = values.system.at(address)
        source = SOURCES[values.source[at]]
        if values.source[at] == DRAWN:
            source = f"drawn only {dimension.drawn_at.get(place, dimension.drawn)}"
        aim = result.aims.get(name)
        best = float(values.best[at])
        if dimension.of_kind.angle:
            yield f"  {shown:<30} {math.degrees(best):.3f} degrees, {source}"
        elif aim is None or values.source[at] == MADE:
            yield f"  {shown:<30} {_three(best):>19} {'':>9} {_thou(best):>8}   {source}"
        else:
            yield _aimed(shown, aim, best, source)
            for mate, size, how in aim.mates[:4]:
                yield f"      to {mate}: {size:.3f} {how}"
            if len(aim.mates) > 4:
                yield f"      and {len(aim.mates) - 4} more: asmade aim says them all"
            if aim.low is not None or aim.high is not None:
                low, high = (_thou(end) for end in (aim.low, aim.high))
                yield f"      in thou: {low or 'no least'} to {high or 'no most'}"
            yield from (f"      ! {warning}" for warning in (*aim.warnings, *aim.conflict, *aim.cure))


def _aimed(shown: str, aim: Aim, best: float, source: str) -> str:
    target = best if aim.target is None else aim.target
    return f"  {shown:<30} {_three(aim.low):>9} {_three(aim.high):>9} {_three(target):>9} {_thou(target):>8}   {source}"


def _setup(setup: SetUp, ops: tuple[Operation, ...]) -> Iterator[str]:
    yield f"SET-UP {setup.name} ({setup.machine})"
    yield from _wrap(f"Held: {setup.held}", "  ")
    yield from _wrap(f"Datum: {setup.datum}", "  ")
    for word in setup.words:
        yield from _wrap(word, "  ")
    dials = dict.fromkeys(op.dial for op in ops if op.dial)
    for dial in dials:
        yield from _wrap(f"Dial: {dial}", "  ")
    for text in dict.fromkeys(c.text for op in ops for c in op.cautions):
        yield from _wrap(f"Mind: {text}", "  ")


def _operation(op: Operation) -> Iterator[str]:
    yield from _wrap(f"[ ] {op.words}", "  ", "      ")
    figures = [f"tool: {op.tool}" if op.tool else "", op.speed_words, f"feed {op.feed_words}" if op.feed_words else ""]
    if any(figures):
        yield from _wrap("; ".join(filter(None, figures)), "      ")
    if op.passes is not None:
        yield from _cuts(op.passes, "off the face" if op.face else "on the radius")
    if op.left:
        yield from _wrap(f"left: {op.left}", "      ")
    if op.check:
        yield from _wrap(f"check: {op.check}" + (f" ({op.instrument})" if op.instrument else ""), "      ")
    for warning in op.warnings:
        yield from _wrap(f"! {warning}", "      ")
    if op.note:
        yield from _wrap(f"your note: {op.note}", "      ")


def _cuts(passes: Passes, where: str) -> Iterator[str]:
    """Roughing cuts in one line, with the dial after each; then what is measured for."""
    rough = [c for c in passes.cuts if c.words.startswith("roughing")]
    if rough:
        dials = [
            f"{c.dial.turns}t+{_mark(c.dial.mark, c.dial.unit)}" if c.dial.turns else _mark(c.dial.mark, c.dial.unit)
            for c in rough
            if c.dial
        ]
        text = f"from {passes.start_mm:.2f}: {len(rough)} cut{'s' if len(rough) > 1 else ''} of "
        f"{rough[0].cut_mm:.2f} {where}, to {rough[-1].size_mm:.2f}"
        yield from _wrap(text + (f"; dial from 0: {', '.join(dials)}" if dials else ""), "      ")
    for cut in passes.cuts[len(rough) :]:
        dial = f"; dial {cut.dial.words}" if cut.dial else ""
        yield from _wrap(
            f"{cut.words}: {cut.cut_mm:.3f} {where}, should be {cut.size_mm:.3f}{dial}"
            + ("  measured: ________" if cut.measure else ""),
            "      ",
        )


def _mark(mark: object, unit: str) -> str:
    value = float(mark)  # type: ignore[arg-type]  # a fraction
    return f"{value:.2f}" if unit == "mm" else f"{value / 25.4:.4f}"


def _three(value: float | None) -> str:
    return "-" if value is None or not math.isfinite(value) else f"{value:.3f}"


def _thou(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else show_thou(value)


def _wrap(text: str, first: str, rest: str | None = None) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=first + "  " if rest is None else rest
    ) or [""]
