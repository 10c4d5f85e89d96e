"""sketch: what a dimensioned sketch of a part or piece shows: its form, its sizes, the figures to write, its mass.

Plain values only; `asmade.show.sketches` draws them. The form is drawn at the best known sizes; ``figures`` says which
figures are written at it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from asmade.book.address import Address
from asmade.book.forms import Form, form_of
from asmade.book.forms.measures import LENGTH_KINDS
from asmade.book.model import Build, Dimension
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.reckon.aims import Aim, aim_of
from asmade.reckon.shapes.body import Envelope
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import CHOSEN, DRAWN, MADE, SOURCES, UNKNOWN, Values, compute
from asmade.verbs.plain import number
from asmade.verbs.route import seat_of
from asmade.verbs.store import Path_, read

FIGURES: Final = ("best", "drawn", "chosen", "made", "aim")
"""Which figures are written: the best known ones; those of the drawing, of the choice, of the pieces as measured; what
each size may be made to, as limits. Where there is none of that sort, the best known figure stands, marked as what it
is."""
MATTERS_MM: Final = 0.5
"""Limits wider apart than this are no tolerance worth writing: common practice, no source."""
NEAR_MM: Final = 0.1
"""A size this near to a limit has it written."""


@dataclass(frozen=True, slots=True)
class Figure:
    """What is written for one dimension: one line, or two (upper limit over lower).

    ``state``: made, computed, suited, chosen, drawn, not known, or aim. ``value`` in mm (rad); NaN where not known.
    """

    name: str
    lines: tuple[str, ...]
    state: str
    value: float
    angle: bool = False

    @property
    def made(self) -> bool:
        """Whether it was measured on this piece."""
        return self.state == SOURCES[MADE]

    @property
    def drawn_only(self) -> bool:
        """Whether nothing but the drawing says it."""
        return self.state == SOURCES[DRAWN]


@dataclass(frozen=True, slots=True)
class ThreadSize:
    """A thread as it is drawn and called: ``female`` in a hole."""

    callout: str
    major_mm: float
    core_mm: float
    female: bool


@dataclass(frozen=True, slots=True)
class SketchResult:
    """One piece as a sketch shows it.

    ``sizes`` in mm (rad) by dimension name, ``threads`` those that are known, ``lengths`` the names of those that are
    neither thread, angle nor round. ``mass_g`` None where the material's density is not held, with ``no_mass`` why.
    """

    part: str
    place: str
    mark: str
    form: Form
    figures_of: str
    sizes: Mapping[str, float]
    figures: Mapping[str, Figure]
    threads: Mapping[str, ThreadSize]
    lengths: frozenset[str]
    material: str
    envelope: Envelope | None
    mass_g: float | None
    no_mass: str

    @property
    def piece(self) -> str:
        """Its address: by its mark where it has one, else by its place."""
        return f"{self.part}#{self.mark}" if self.mark else f"{self.part}@{self.place}"


def sketch(path: Path_, piece: str, *, figures: str = "best") -> SketchResult:
    """What the sketch of a piece (``wheel@2L``, ``wheel#W3``) or of a part (its first place) shows.

    Raises ``Refused`` for a part of which no form is said, or whose form lacks a size; ``Unknown`` for a name that is
    not there.
    """
    build = read(path).build
    return sketch_in(build, compute(build), piece, figures=figures)


def sketch_in(build: Build, values: Values, piece: str, *, figures: str = "best") -> SketchResult:
    """As `sketch`, of a build whose values are known."""
    if figures not in FIGURES:
        raise Unknown("figures of a sketch", got=figures, near=near(figures, FIGURES),
                      way_out=f"one of: {', '.join(FIGURES)}")  # fmt: skip
    name, place = seat_of(build, piece)
    part = build.design.parts[name]
    form = form_of(part)
    if form is None and part.assembled_from:
        raise Refused(
            f"sketch of {name}", got="a thing put together", reason="it is drawn by its pieces",
            way_out=f"ask for one of {', '.join(dict.fromkeys(each.split('@')[0] for each in part.assembled_from))}",
        )  # fmt: skip
    if form is None:
        raise Refused(
            f"sketch of {name}", got="no form", reason="nothing says what it looks like",
            way_out=f'add form = {{ kind = "turned" }} or another to [part.{name}] (docs/sketches.md)',
        )  # fmt: skip
    sizes = seat_sizes(values, name, place)
    found: dict[str, Figure] = {}
    threads: dict[str, ThreadSize] = {}
    for dim, dimension in part.dims.items():
        address = Address(name, place, dim=dim)
        if dimension.of_kind.thread:
            callout = values.system.callouts.get(address, "") or dimension.drawn
            found[dim] = Figure(dim, (callout or "?",), "", sizes[dim])
            if callout:
                threads[dim] = _thread(callout, dimension)
        else:
            found[dim] = _figure(build, values, address, dimension, figures)
    envelope, mass, why = _body(form, sizes, part.material)
    return SketchResult(
        part=name, place=place, mark=build.piece_at(Address(name, place)).mark, form=form, figures_of=figures,
        sizes=sizes, figures=found, threads=threads,
        lengths=frozenset(d for d, held in part.dims.items() if held.kind in LENGTH_KINDS), material=part.material,
        envelope=envelope, mass_g=mass,
        no_mass=why,
    )  # fmt: skip


def _thread(callout: str, dimension: Dimension) -> ThreadSize:
    from asmade.measure.threads import read_thread  # noqa: PLC0415
    from asmade.standards.threads import thread  # noqa: PLC0415

    held = thread(read_thread(callout))
    cut = ("die-cut", "screw-cut")
    female = dimension.sex == "female" or (not dimension.sex and dimension.made_by not in cut)
    return ThreadSize(callout, float(held.major_mm), float(held.core_mm), female)


def _figure(build: Build, values: Values, address: Address, dimension: Dimension, wanted: str) -> Figure:
    at = values.system.at(address)
    source, best = int(values.source[at]), float(values.best[at])
    angle = dimension.of_kind.angle
    name, state = address.dim, SOURCES[source]
    drawn = dimension.drawn_at.get(address.place, dimension.drawn)
    if wanted == "drawn" and drawn:
        return Figure(name, (_as_written(build, drawn, angle=angle),), SOURCES[DRAWN], best, angle)
    if wanted == "chosen" and values.system.paper_is_chosen[at]:
        choice = float(values.system.paper[at])
        return Figure(name, (written(choice, angle=angle),), SOURCES[CHOSEN], choice, angle)
    if wanted == "aim" and source not in (MADE, UNKNOWN) and not angle:
        lines = _limits(aim_of(build, values, address), best)
        if lines:
            return Figure(name, lines, "aim", best)
    if source == UNKNOWN or not math.isfinite(best):
        return Figure(name, ("?",), SOURCES[UNKNOWN], math.nan, angle)
    return Figure(name, (written(best, angle=angle),), state, best, angle)


def _as_written(build: Build, drawn: str, *, angle: bool) -> str:
    bare = drawn.replace("/", "").replace(" ", "").replace(".", "").replace("-", "").isdigit()
    if not bare or angle:
        return drawn
    return f"{drawn} {'in' if build.design.drawing_unit == 'inch' else 'mm'}"


def _limits(aim: Aim, best: float) -> tuple[str, ...]:
    """Upper limit over lower where they are close enough to matter; one limit alone where the size is near it."""
    low, high = aim.low, aim.high
    if low is not None and high is not None and high - low <= MATTERS_MM:
        return (f"{high:.3f}", f"{low:.3f}")
    if high is not None and high - best <= NEAR_MM:
        return (f"{high:.3f} max",)
    if low is not None and best - low <= NEAR_MM:
        return (f"{low:.3f} min",)
    return ()


def written(value: float, *, angle: bool = False) -> str:
    """A size as it is written on a sketch: mm to 0.001 without idle noughts (two places stay), or degrees."""
    if angle:
        return f"{math.degrees(value):.2f}".rstrip("0").rstrip(".") + "°"
    text = f"{value + 0.0:.3f}"
    return text.removesuffix("0")


def _body(form: Form, sizes: Mapping[str, float], material: str) -> tuple[Envelope | None, float | None, str]:
    from asmade.reckon.shapes import shape  # noqa: PLC0415  # shapes want numpy

    body = shape(form, sizes)
    try:
        return body.envelope, body.mass_g(material), ""
    except AsmadeError as fault:
        return body.envelope, None, fault.message


def plain(result: SketchResult) -> dict[str, Any]:
    """As plain data for ``--json``."""
    return {
        "piece": result.piece, "part": result.part, "place": result.place, "form": result.form.kind,
        "figures": result.figures_of, "material": result.material,
        "envelope_mm": None if result.envelope is None else {
            "length": number(result.envelope.length_mm), "height": number(result.envelope.height_mm),
            "width": number(result.envelope.width_mm),
        },
        "mass_g": None if result.mass_g is None else number(result.mass_g), "no_mass": result.no_mass,
        "dimensions": [
            {"name": f.name, "written": list(f.lines), "state": f.state or "thread",
             "value": number(f.value, angle=f.angle), "unit": "deg" if f.angle else "mm"}
            for f in result.figures.values()
        ],
    }  # fmt: skip


def words(result: SketchResult) -> list[str]:
    """What the sketch shows, line by line."""
    lines = [f"{result.piece}: {result.form.kind}, {result.material or 'material not said'}"]
    for figure in result.figures.values():
        text = " to ".join(reversed(figure.lines))
        state = {"drawn": "only drawn", "aim": "to aim at", "": "thread"}.get(figure.state, figure.state)
        lines.append(f"  {figure.name.replace('_', ' ').replace('.', ' ')}: {text} ({state})")
    if result.envelope is not None:
        box = sorted((result.envelope.length_mm, result.envelope.height_mm, result.envelope.width_mm), reverse=True)
        lines.append("  goes into " + " × ".join(f"{each:.1f}" for each in box) + " mm")
    lines.append(
        f"  mass {result.mass_g:.1f} g" if result.mass_g is not None else f"  mass not known: {result.no_mass}"
    )
    return lines
