"""The job sheet of a piece, or of a set-up, as text no wider than a sheet of paper."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator

from asmade.measure.show import show_thou
from asmade.reckon.aims import Aim
from asmade.verbs.sheet import STANDING, SetUpSheet, Sheet, SizeLine
from asmade.work.recipes.bench import plain_name
from asmade.work.recipes.model import Operation, SetUp

WIDTH = 92
RULE = "-" * WIDTH


def text_of(sheet: Sheet) -> str:
    """One job sheet."""
    lines = [
        RULE, f"{plain_name(sheet.part)}, place {sheet.place}, piece {sheet.mark}",
        f"{sheet.heading.words}. {sheet.material or 'material not said'}; {sheet.reference or 'sheet not said'}", RULE,
    ]  # fmt: skip
    if sheet.stock:
        lines.append(f"From: {sheet.stock}")
    lines += [f"Lacking: {each}" for each in sheet.lacks]
    for warning in sheet.warnings:
        lines += _wrap(f"! {warning}", "  ")
    lines += ["", "SIZES" + " " * 33 + "from        to       aim   thou       state"]
    for size in sheet.sizes:
        lines += _size(size)
    for setup, ops in sheet.set_ups:
        lines += ["", *_setup(setup, ops)]
        for op in ops:
            lines += _operation(op)
    lines += ["", "READINGS (date, instrument, size)"]
    lines += [f"  {size:<34} ______________  ______________________  ____________" for size in sheet.readings]
    lines += ["", *_wrap(STANDING, ""), ""]
    return "\n".join(lines)


def set_up_text(sheet: SetUpSheet) -> str:
    """The sheet of one set-up: held once, then piece by piece."""
    lines = [RULE, f"Set-up {sheet.number} of {sheet.of}", f"{sheet.heading.words}", RULE]
    lines += _setup(sheet.set_up, tuple(op for _, ops in sheet.pieces for op in ops))
    for piece, ops in sheet.pieces:
        lines += ["", piece.upper()]
        for op in ops:
            lines += _operation(op)
    lines += ["", *_wrap(STANDING, ""), ""]
    return "\n".join(lines)


def _size(size: SizeLine) -> Iterator[str]:
    if size.callout:
        yield f"  {size.shown:<30} {size.callout}"
    elif size.angle:
        yield f"  {size.shown:<30} {_three(size.best)} degrees, {size.state}"
    elif size.aim is None:
        yield f"  {size.shown:<30} {_three(size.best):>19} {'':>9} {_thou(size.best):>8}   {size.state}"
    else:
        aim = size.aim
        yield _aimed(size, aim)
        for mate, value, how in aim.mates[:4]:
            yield f"      to {mate}: {value:.3f} {how}"
        if len(aim.mates) > 4:
            yield f"      and {len(aim.mates) - 4} more: asmade aim says them all"
        if aim.low is not None or aim.high is not None:
            low, high = (_thou(end) for end in (aim.low, aim.high))
            yield f"      in thou: {low or 'no least'} to {high or 'no most'}"
        yield from (f"      ! {warning}" for warning in (*aim.warnings, *aim.conflict, *aim.cure))


def _aimed(size: SizeLine, aim: Aim) -> str:
    target = size.best if aim.target is None else aim.target
    figures = f"{_three(aim.low):>9} {_three(aim.high):>9} {_three(target):>9} {_thou(target):>8}"
    return f"  {size.shown:<30} {figures}   {size.state}"


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
    tick = f"[x] {op.done_words}: " if op.is_done else "[ ] "
    yield from _wrap(f"{tick}{op.words}", "  ", "      ")
    figures = [f"tool: {op.tool}" if op.tool else "", op.speed_words, f"feed {op.feed_words}" if op.feed_words else ""]
    if any(figures):
        yield from _wrap("; ".join(filter(None, figures)), "      ")
    for text, measure in cut_lines(op):
        yield from _wrap(text + ("  measured: ________" if measure else ""), "      ")
    if op.left:
        yield from _wrap(f"left: {op.left}", "      ")
    if op.check:
        yield from _wrap(f"check: {op.check}" + (f" ({op.instrument})" if op.instrument else ""), "      ")
    for warning in op.warnings:
        yield from _wrap(f"! {warning}", "      ")
    if op.note:
        yield from _wrap(f"your note: {op.note}", "      ")


def cut_lines(op: Operation) -> Iterator[tuple[str, bool]]:
    """The cuts of an operation: roughing in one line with the dial after each; then each, and if it is measured."""
    passes = op.passes
    if passes is None:
        return
    where = "off the face" if op.face else "on the radius"
    rough = [c for c in passes.cuts if c.words.startswith("roughing")]
    if rough:
        dials = [
            f"{c.dial.turns}t+{_mark(c.dial.mark, c.dial.unit)}" if c.dial.turns else _mark(c.dial.mark, c.dial.unit)
            for c in rough
            if c.dial
        ]
        text = (
            f"from {passes.start_mm:.2f}: {len(rough)} cut{'s' if len(rough) > 1 else ''} of "
            f"{rough[0].cut_mm:.2f} {where}, to {rough[-1].size_mm:.2f}"
        )
        yield text + (f"; dial from 0: {', '.join(dials)}" if dials else ""), False
    for cut in passes.cuts[len(rough) :]:
        dial = f"; dial {cut.dial.words}" if cut.dial else ""
        yield f"{cut.words}: {cut.cut_mm:.3f} {where}, should be {cut.size_mm:.3f}{dial}", cut.measure


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
