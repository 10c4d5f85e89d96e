"""profile: what a laser or a water jet is to cut of a rod or plate: outline with an allowance, holes undersize, marks.

Plain values only; `asmade.show.profile_dxf` writes them as a drawing-exchange file. The kerf is the cutter's.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from asmade.book.forms import form_of
from asmade.book.forms.plate import Plate
from asmade.book.forms.rod import Rod
from asmade.book.model import Design
from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.shapes import shape
from asmade.reckon.shapes.body import Taken
from asmade.reckon.shapes.paths import Path, parallel, rod_outline, rounded
from asmade.reckon.shapes.plate import face
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import Values, compute
from asmade.verbs.plain import number
from asmade.verbs.route import seat_of
from asmade.verbs.store import Path_, read
from asmade.work.drilling import left_to_ream_mm

ALLOWANCE_MM: Final = 0.5
"""Metal left all round for milling or filing to the line: common practice, no source."""
MOST_ALLOWANCE_MM: Final = 5.0


@dataclass(frozen=True, slots=True)
class CutHole:
    """A hole that is cut: where, what it is cut to, and what it is finished to afterwards, mm."""

    name: str
    x: float
    y: float
    cut_mm: float
    finished_mm: float


@dataclass(frozen=True, slots=True)
class CentreMark:
    """A place that is only marked, to be drilled: what hole it is for, and why it is not cut."""

    name: str
    x: float
    y: float
    finished_mm: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class ProfileResult:
    """One profile, mm, its corner or foremost eye at the form's own origin, y up."""

    part: str
    place: str
    material: str
    thickness_mm: float
    allowance_mm: float
    outline: Path
    openings: tuple[tuple[str, Path], ...]
    holes: tuple[CutHole, ...]
    marks: tuple[CentreMark, ...]
    notes: tuple[str, ...]


def profile(
    path: Path_, piece: str, *, allowance_mm: float = ALLOWANCE_MM, holes_under_mm: float | None = None
) -> ProfileResult:
    """The profile of a piece or part at its best known sizes.

    ``holes_under_mm``: how much smaller on diameter holes are cut; None: as much as is left for a reamer of that size.
    Holes that are smaller than the sheet is thick are only marked. Raises ``Refused`` for a form that is not cut from
    sheet, ``OutOfRange`` for an allowance that cannot be.
    """
    opened = read(path)
    return profile_in(
        opened.build.design, compute(opened.build), seat_of(opened.build, piece), allowance_mm=allowance_mm,
        holes_under_mm=holes_under_mm,
    )  # fmt: skip


def profile_in(
    design: Design, values: Values, seat: tuple[str, str], *, allowance_mm: float, holes_under_mm: float | None
) -> ProfileResult:
    """As `profile`, of a design whose values are known; ``seat``: part and place."""
    for what, got in (("allowance", allowance_mm), ("holes under", holes_under_mm)):
        if got is not None and not 0 <= got <= MOST_ALLOWANCE_MM:
            raise OutOfRange(what, got=f"{got:g} mm", allowed=f"0 to {MOST_ALLOWANCE_MM:g} mm")
    name, place = seat
    part = design.parts[name]
    form, sizes = form_of(part), seat_sizes(values, name, place)
    if isinstance(form, Plate):
        found = _plate(form, sizes, allowance_mm)
    elif isinstance(form, Rod):
        found = _rod(form, sizes, allowance_mm)
    else:
        raise Refused(
            f"profile of {name}", got=f"form {form.kind}" if form is not None else "no form",
            reason="only a rod or a plate is cut from sheet by its outline",
            way_out='give it form = { kind = "plate" } or "rod" if it is one',
        )  # fmt: skip
    shape(form, sizes)  # refuses what crosses itself before it is cut
    holes, marks = _holes(found, holes_under_mm)
    notes = [
        f"{name}, {part.material or 'material not said'}, {found.thickness:.2f} mm thick",
        f"outline {allowance_mm:g} mm outside the finished one, openings as much inside" if allowance_mm
        else "outline as finished",
        "sizes as the metal is to be left: the kerf is the cutter's to allow for",
    ]  # fmt: skip
    notes += [f"{h.name}: cut {h.cut_mm:.2f}, finished {h.finished_mm:.3f}" for h in holes]
    notes += [f"{m.name}: marked only, {m.reason}" for m in marks]
    if part.hand == "mirrored" and len(part.places) > 1:
        notes.append("the other hand is the same profile turned over")
    return ProfileResult(
        name, place, part.material, found.thickness, allowance_mm, found.outline, found.openings, holes,
        (*marks, *found.marks), tuple(notes),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Found:
    outline: Path
    openings: tuple[tuple[str, Path], ...]
    holes: tuple[tuple[str, float, float, float], ...]
    marks: tuple[CentreMark, ...]
    thickness: float


def _plate(form: Plate, sizes: Mapping[str, float], out: float) -> _Found:
    seen = face(form, lambda name: sizes[name])
    thick = Taken(form.part, lambda name: sizes[name]).size(form.thickness, "thickness")
    openings = [(name, rounded(parallel(corners, -out), name)) for name, corners in seen.openings]
    for cut in seen.slots:
        if cut.width <= 2 * out:
            raise OutOfRange(f"allowance in {cut.name} of {form.part}", got=f"{out:g} mm",
                             allowed=f"less than half its width, {cut.width / 2:.2f} mm")  # fmt: skip
        openings.append((cut.name, cut.path(out)))
    marks = tuple(
        CentreMark(name, x, y, None, "a place that others are told from")
        for name, x, y in seen.marks
        if x is not None and y is not None
    )
    holes = tuple((name, disc.x, disc.y, 2 * disc.radius) for name, disc in seen.holes)
    outline = rounded(parallel(seen.corners, out), f"outline of {form.part}")
    return _Found(outline, tuple(openings), holes, marks, thick)


def _rod(form: Rod, sizes: Mapping[str, float], out: float) -> _Found:
    taken = Taken(form.part, lambda name: sizes[name])
    places = [0.0]
    for eye in form.eyes[1:]:
        places.append(places[-1] - taken.size(eye.behind, f"{eye.name} behind the eye before it"))
    discs = [
        (x, taken.size(eye.outside, f"outside of the {eye.name} eye") / 2)
        for eye, x in zip(form.eyes, places, strict=True)
    ]
    depth = [taken.size(each, "depth of the bar") / 2 for each in (form.depth_aft, form.depth_fore)]
    widths = [taken.size(eye.width, f"width of the {eye.name} eye") for eye in form.eyes]
    thick = max(*widths, taken.size(form.thickness, "thickness of the bar"))
    holes = tuple(
        (f"{eye.name} eye", x, 0.0, taken.size(eye.bore, f"bore of the {eye.name} eye"))
        for eye, x in zip(form.eyes, places, strict=True)
    )
    return _Found(rod_outline(discs, (depth[0], depth[1]), out), (), holes, (), thick)


def _holes(found: _Found, under: float | None) -> tuple[tuple[CutHole, ...], tuple[CentreMark, ...]]:
    holes: list[CutHole] = []
    marks: list[CentreMark] = []
    for name, x, y, diameter in found.holes:
        if diameter < found.thickness:
            reason = (
                f"a hole of {diameter:.2f} mm is smaller than the sheet is thick ({found.thickness:.2f} mm): drill it"
            )
            marks.append(CentreMark(name, x, y, diameter, reason))
            continue
        less = left_to_ream_mm(diameter)[1] if under is None else under
        if not math.isfinite(less) or less >= diameter:
            raise OutOfRange(f"{name}: holes under", got=f"{less:g} mm", allowed=f"less than {diameter:.2f} mm")
        holes.append(CutHole(name, x, y, diameter - less, diameter))
    return tuple(holes), tuple(marks)


def plain(result: ProfileResult) -> dict[str, Any]:
    """As plain data for ``--json``."""
    return {
        "part": result.part, "place": result.place, "material": result.material,
        "thickness_mm": number(result.thickness_mm), "allowance_mm": number(result.allowance_mm),
        "outline": [[number(v.x), number(v.y), number(v.bulge)] for v in result.outline],
        "openings": [
            {"name": name, "path": [[number(v.x), number(v.y), number(v.bulge)] for v in path]}
            for name, path in result.openings
        ],
        "holes": [
            {"name": h.name, "x_mm": number(h.x), "y_mm": number(h.y), "cut_mm": number(h.cut_mm),
             "finished_mm": number(h.finished_mm)}
            for h in result.holes
        ],
        "marks": [
            {"name": m.name, "x_mm": number(m.x), "y_mm": number(m.y), "finished_mm": number(m.finished_mm),
             "reason": m.reason}
            for m in result.marks
        ],
        "notes": list(result.notes),
    }  # fmt: skip
