"""Small pictures of the desk: an arrangement of wheels, bars with what is cut from them, readings as dots on a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.show.strokes import Circle, Label, Line, Polyline, Stroke

COUPLED_MM: Final = 12.0
CARRYING_MM: Final = 6.5
ROD_MM: Final = 5.0
LONGEST_MM: Final = 138.0
"""The rail under the longest arrangement drawn here."""
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def arrangement_picture(ahead: int, coupled: int, behind: int, driven: int) -> tuple[Stroke, ...]:
    """Wheels on a rail, the front to the left as the name is read; a rod joins the coupled, the driven one is bold."""
    strokes: list[Stroke] = []
    x, pins = CARRYING_MM, []
    for number in range(ahead + coupled + behind):
        coupled_one = ahead <= number < ahead + coupled
        radius = COUPLED_MM if coupled_one else CARRYING_MM
        if number:
            x += radius + (COUPLED_MM if ahead <= number - 1 < ahead + coupled else CARRYING_MM) + 2.0
        drives = coupled_one and number - ahead + 1 == driven
        strokes.append(Circle(x, radius, radius, look="bold" if drives else "outline", fill="tint" if drives else ""))
        strokes.append(Circle(x, radius, 1.2, look="thin", fill="solid"))
        if coupled_one:
            pins.append((x, radius - ROD_MM))
    if len(pins) > 1:
        (x1, y1), (x2, y2) = pins[0], pins[-1]
        strokes.append(Line(x1, y1 + 1.1, x2, y2 + 1.1, look="thin"))
        strokes.append(Line(x1, y1 - 1.1, x2, y2 - 1.1, look="thin"))
    strokes += [Circle(px, py, 1.9, look="outline", fill="paper") for px, py in pins]
    left = min(-8.0, (x - LONGEST_MM) / 2)  # all arrangements to one scale
    strokes.append(Line(left, 0.0, x - left, 0.0, look="outline"))
    return tuple(strokes)


@dataclass(frozen=True, slots=True)
class BarToDraw:
    """One bar: its length, the pieces in order (letter, length), the saw's kerf, and whether its end is kept."""

    length_mm: float
    pieces: tuple[tuple[str, float], ...]
    kerf_mm: float
    kept: bool


def letters_of(names: Sequence[str]) -> dict[str, str]:
    """A letter for each name in the order in which they come: A to Z, then A2, B2 ..."""
    found = dict.fromkeys(names)
    rounds = len(LETTERS)
    return {
        name: LETTERS[k % rounds] + (str(k // rounds + 1) if k >= rounds else "") for k, name in enumerate(found)
    }  # fmt: skip


def bar_picture(bar: BarToDraw, longest_mm: float, width_px: float) -> tuple[Stroke, ...]:
    """One bar to scale with the longest of its kind: pieces with their letters, and the end that is left."""
    per_px = longest_mm / width_px
    high = 26.0 * per_px
    strokes: list[Stroke] = []
    x = 0.0
    for letter, length in bar.pieces:
        ring = ((x, 0.0), (x + length, 0.0), (x + length, high), (x, high))
        strokes.append(Polyline(ring, look="outline", closed=True, fill="tint"))
        if length / per_px > 10.0 + 8.0 * len(letter):
            strokes.append(Label(letter, x + length / 2, high / 2, size_px=12, strong=True))
        x += length + bar.kerf_mm
    rest = bar.length_mm - x
    if rest > 0:
        ring = ((x, 0.0), (bar.length_mm, 0.0), (bar.length_mm, high), (x, high))
        strokes.append(Polyline(ring, look="hidden" if bar.kept else "soft", closed=True))
        words = f"left {rest:.0f}" if bar.kept else "scrap"
        if rest / per_px > 8.0 * len(words) + 8.0:
            strokes.append(Label(words, x + rest / 2, high / 2, size_px=12, figure=bar.kept))
    strokes.append(Line(longest_mm, 0.0, longest_mm, 0.01 * high, look="soft"))  # holds the scale of a shorter bar
    return tuple(strokes)


def dots_picture(departures_mm: Sequence[float], next_mm: tuple[float, float], width_px: float) -> tuple[Stroke, ...]:
    """Readings less what was aimed at, as dots on a line in µm; the band holds the next piece 95 times in 100.

    Drawn with 1 µm to 1 mm of the picture; dots that fall on one another are stacked.
    """
    low, high = 1000.0 * next_mm[0], 1000.0 * next_mm[1]
    values = [1000.0 * each for each in departures_mm]
    ends = [low, high, 0.0, *values]
    step = _step((max(ends) - min(ends)) * 60.0 / width_px)
    first, last = step * (min(ends) // step), -step * (-max(ends) // step)
    per_px = max(last - first, step) / (width_px - 40.0)
    dot, foot = 4.0 * per_px, 0.0
    strokes: list[Stroke] = []
    levels: list[list[float]] = []
    placed = []
    for value in values:
        level = next((k for k, row in enumerate(levels) if all(abs(value - x) >= 2.2 * dot for x in row)), len(levels))
        levels += [[]] if level == len(levels) else []
        levels[level].append(value)
        placed.append((value, foot + (2.2 * level + 1.6) * dot))
    top = foot + (2.2 * max(len(levels), 1) + 2.5) * dot
    band = ((low, foot), (high, foot), (high, top), (low, top))
    strokes.append(Polyline(band, look="soft", closed=True, fill="tint"))
    strokes.append(Line(first, foot, last, foot, look="outline"))
    tick = first
    while tick <= last + step / 2:
        strokes.append(Line(tick, foot, tick, foot - 5 * per_px, look="outline"))
        strokes.append(Label(f"{tick:+.0f}" if round(tick) else "0", tick, foot - 14 * per_px, size_px=12, figure=True))
        tick += step
    strokes.append(Line(0.0, foot, 0.0, top + 6 * per_px, look="centre"))
    strokes.append(Label("aim", 0.0, top + 14 * per_px, size_px=12))
    strokes += [Circle(x, y, dot, look="outline", fill="solid") for x, y in placed]
    return tuple(strokes)


def _step(rough: float) -> float:
    """1, 2 or 5 times a power of ten, at least 1 µm."""
    step = 1.0
    while True:
        for of in (1.0, 2.0, 5.0):
            if of * step >= rough:
                return of * step
        step *= 10.0
