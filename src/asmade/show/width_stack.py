"""The width stack on one pin: what lies on it, to scale, from the frame outward, with the gaps written in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from asmade.measure.errors import OutOfRange, Refused
from asmade.show.strokes import Hatch, Leader, Line, Polyline, Stroke
from asmade.show.strokes.kinds import Look

Verdict = Literal["holds", "close", "fails", "not known"]

MARKS: Final[dict[str, str]] = {"holds": "●", "close": "◐", "fails": "✕", "not known": "○"}
"""A verdict is a shape and a word; colour only echoes it."""
_LOOKS: Final[dict[str, Look]] = {"holds": "thin", "close": "close", "fails": "fail", "not known": "hidden"}
MOST_PX_PER_MM: Final = 9.0
"""A stack is drawn no larger than this: on a desk it would fill the page. For ``lay_out`` and ``svg``."""
_ROW_PX = 17.0
_FIRST_ROW_PX = 16.0


@dataclass(frozen=True, slots=True)
class StackLayer:
    """One thickness: from ``inner_mm`` to ``outer_mm`` outward from the engine's middle, so high about the pin.

    figure: its width as written (``4.76 made``). made: drawn bold. cut: hatched (frame, wheel). middle_mm: how far its
    own middle lies above the pin's.
    """

    name: str
    inner_mm: float
    outer_mm: float
    half_height_mm: float
    figure: str = ""
    made: bool = False
    cut: bool = False
    middle_mm: float = 0.0

    def __post_init__(self) -> None:
        """Refuse layers of no thickness or height."""
        if not self.outer_mm > self.inner_mm or not self.half_height_mm > 0:
            raise OutOfRange(
                f"{self.name} in the width stack", got=(self.outer_mm - self.inner_mm, self.half_height_mm),
                allowed="more than 0 mm wide and high",
            )  # fmt: skip


@dataclass(frozen=True, slots=True)
class StackGap:
    """A gap between two faces: ``figure`` as written (``gap 0.31, wants 0.60 each way``) and its verdict."""

    inner_mm: float
    outer_mm: float
    figure: str
    verdict: Verdict


def width_stack(layers: Sequence[StackLayer], gaps: Sequence[StackGap] = ()) -> tuple[Stroke, ...]:
    """Strokes of the stack: outward to the right, the pin's middle level.

    Notes of the inner half stand below and run right, those of the outer half above and run left, each lower than the
    next one inwards or higher than the next one outwards: so no line crosses a note.
    """
    if not layers:
        raise Refused("width stack", got="no layers", reason="there is nothing on this pin")
    strokes: list[Stroke] = []
    low = min(layer.middle_mm - layer.half_height_mm for layer in layers)
    high = max(layer.middle_mm + layer.half_height_mm for layer in layers)
    for layer in layers:
        strokes += _drawn(layer)
    start, end = min(layer.inner_mm for layer in layers), max(layer.outer_mm for layer in layers)
    strokes.append(Line(start - 0.04 * (end - start), 0.0, end + 0.04 * (end - start), 0.0, "centre"))
    notes = sorted([*(_note_of(layer) for layer in layers), *(_gap_note(gap, layers) for gap in gaps)], key=_outward)
    for gap in gaps:
        strokes += _gap(gap, layers)
    half = (len(notes) + 1) // 2
    for row, note in enumerate(reversed(notes[:half])):
        strokes.append(_leader(note, low, -(_FIRST_ROW_PX + _ROW_PX * row), up=False))
    for row, note in enumerate(notes[half:]):
        strokes.append(_leader(note, high, _FIRST_ROW_PX + _ROW_PX * row, up=True))
    return tuple(strokes)


@dataclass(frozen=True, slots=True)
class _Note:
    at_mm: float
    top_mm: float
    bottom_mm: float
    text: str
    look: Look
    strong: bool


def _outward(note: _Note) -> float:
    return note.at_mm


def _drawn(layer: StackLayer) -> list[Stroke]:
    low, high = layer.middle_mm - layer.half_height_mm, layer.middle_mm + layer.half_height_mm
    corners = ((layer.inner_mm, low), (layer.outer_mm, low), (layer.outer_mm, high), (layer.inner_mm, high))
    box = Polyline(corners, "outline" if layer.made else "thin", closed=True, fill="paper" if layer.cut else "tint")
    return [box, Hatch(corners)] if layer.cut else [box]


def _note_of(layer: StackLayer) -> _Note:
    reach = 0.8 * layer.half_height_mm
    text = f"{layer.name} {layer.figure}".strip()
    middle = (layer.inner_mm + layer.outer_mm) / 2
    return _Note(middle, layer.middle_mm + reach, layer.middle_mm - reach, text, "thin", strong=False)


def _faces(gap: StackGap, layers: Sequence[StackLayer]) -> tuple[float, float]:
    """Lowest and highest of what the two faces have in common; of the smaller one where they have nothing."""
    near = [
        each for each in layers if abs(each.outer_mm - gap.inner_mm) < 1e-6 or abs(each.inner_mm - gap.outer_mm) < 1e-6
    ]
    if not near:
        near = list(layers)
    low = max(each.middle_mm - each.half_height_mm for each in near)
    high = min(each.middle_mm + each.half_height_mm for each in near)
    if low >= high:
        least = min(near, key=lambda each: each.half_height_mm)
        low, high = least.middle_mm - least.half_height_mm, least.middle_mm + least.half_height_mm
    return low, high


def _gap(gap: StackGap, layers: Sequence[StackLayer]) -> list[Stroke]:
    low, high = _faces(gap, layers)
    look = _LOOKS[gap.verdict]
    left, right = min(gap.inner_mm, gap.outer_mm), max(gap.inner_mm, gap.outer_mm)
    if right - left < 1e-9:
        return [Line(left, low, left, high, look)]
    return [Polyline(((left, low), (right, low), (right, high), (left, high)), look, closed=True)]


def _gap_note(gap: StackGap, layers: Sequence[StackLayer]) -> _Note:
    low, high = _faces(gap, layers)
    text = f"{MARKS[gap.verdict]} {gap.figure}"
    return _Note((gap.inner_mm + gap.outer_mm) / 2, high, low, text, "thin", strong=True)


def _leader(note: _Note, base_mm: float, rise_px: float, *, up: bool) -> Leader:
    return Leader(
        note.at_mm, note.top_mm if up else note.bottom_mm, note.at_mm, base_mm, note.text, dy_px=rise_px,
        anchor="end" if up else "start", strong=note.strong, look=note.look,
    )  # fmt: skip
