"""What a piece is cut from: shape, section and length of its blank, from its form and sizes or as the builder says.

    form = { kind = "turned", blank = { shape = "round bar", size = "20 mm", length = "45 mm", pieces = 2 } }

``pieces``: how many come out of one blank. What the builder says goes before what the form gives. A turned part is cut
from round bar (hexagon or square where its largest section is that, left as it is bought); a rod, plate or block from
flat bar or sheet by the box it goes into. A casting is bought as a casting.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from asmade.book.forms import Form, form_of
from asmade.book.forms.turned import Section, Turned
from asmade.book.model import Part
from asmade.book.schema import Taker
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown, near
from asmade.measure.lengths import read_length
from asmade.work.checks import not_below_zero

SHAPES: Final = ("round bar", "ground bar", "square bar", "hexagon bar", "flat bar", "sheet", "casting", "bought in")
ROUND_MM: Final = 0.005
AS_BOUGHT: Final = "stock as is"
ALSO: Final = {"flat": "flat bar", "round": "round bar", "square": "square bar", "hexagon": "hexagon bar",
               "plate": "sheet", "strip": "sheet", "silver steel": "ground bar"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Allowances:
    """Metal over the finished size: at each end to face, in the saw cut, to hold in the chuck, to turn off, to mill.

    Facing: 0.3 to 0.5 mm an end, common practice, no source; the others likewise.
    """

    facing_each_end_mm: float = 0.5
    chucking_mm: float = 0.0
    turning_on_diameter_mm: float = 0.5
    milling_each_face_mm: float = 0.5

    def __post_init__(self) -> None:
        """Refuse an allowance below nothing."""
        for name in ("facing_each_end_mm", "chucking_mm", "turning_on_diameter_mm", "milling_each_face_mm"):
            not_below_zero(name.removesuffix("_mm").replace("_", " "), getattr(self, name))


@dataclass(frozen=True, slots=True)
class Blank:
    """What one or more pieces are cut from. ``size_mm``: diameter, across flats, or width.

    ``thickness_mm``: of flat bar and sheet. ``exact``: no other size (of flat bar and sheet: thickness) will do;
    ``exact_width``: nor other width. ``length_mm`` has every allowance but the saw cut. ``left_share``: of the blank's
    metal that is left in the part, None where it is not known.
    """

    part: str
    material: str
    shape: str
    size_mm: float
    length_mm: float
    thickness_mm: float | None = None
    exact: bool = False
    exact_width: bool = False
    pieces: int = 1
    how: str = ""
    left_share: float | None = None


@dataclass(frozen=True, slots=True)
class NoBlank:
    """A part for which no blank is known: why, and what to enter."""

    part: str
    reason: str
    enter: str


def blank_of(part: Part, sizes: Mapping[str, float], allow: Allowances | None = None) -> Blank | NoBlank:
    """The blank of a part at given sizes (mm by dimension name, NaN where nothing is known).

    What cannot be told is returned as a `NoBlank` with what to enter; only a form or blank that cannot be read raises.
    """
    allow = allow or Allowances()
    if "blank" in part.form:
        said = said_blank(part)
        lacks = too_small(part, said, sizes)
        return NoBlank(part.name, lacks, f"a larger blank in form.blank of [part.{part.name}]") if lacks else said
    try:
        form = form_of(part)
    except AsmadeError as fault:
        return NoBlank(part.name, fault.message, fault.way_out or _enter(part))
    if form is None:
        return NoBlank(part.name, "no form is said", _enter(part))
    if form.kind in ("casting", "wheel"):
        return Blank(part.name, part.material, "casting", 0.0, 0.0, how="bought as a casting")
    if not part.material:
        return NoBlank(part.name, "no material is said", f'add material = "bright mild steel" to [part.{part.name}]')
    try:
        return _turned(part, form, sizes, allow) if isinstance(form, Turned) else _box(part, form, sizes, allow)
    except AsmadeError as fault:
        return NoBlank(part.name, fault.message, _enter(part))


def _enter(part: Part) -> str:
    kind = part.form.get("kind", "turned")
    return (
        f'in [part.{part.name}] write form = {{ kind = "{kind}", blank = {{ shape = "round bar", size = "20 mm", '
        'length = "45 mm" } }, or add the dimensions that its form needs'
    )


def too_small(part: Part, blank: Blank, sizes: Mapping[str, float]) -> str:
    """Why a part cannot come out of a blank, in words; empty where it can, or where its sizes are not known yet.

    The part's box is laid into the blank with its longest side along it, either way round.
    """
    from asmade.reckon.shapes import shape as shape_of  # noqa: PLC0415  # shapes want numpy

    if blank.shape in ("casting", "bought in"):
        return ""
    try:
        form = form_of(part)
        box = None if form is None else shape_of(form, dict(sizes)).envelope
    except AsmadeError:
        return ""
    if box is None:
        return ""
    sides = {"across": box.width_mm, "along": box.length_mm, "up": box.height_mm}
    turned = isinstance(form, Turned)
    along = sides.pop(form.axis) if isinstance(form, Turned) else sides.pop(max(sides, key=lambda way: sides[way]))
    thin, wide = sorted(sides.values())
    share = blank.length_mm / blank.pieces
    lacks = []
    if along > share + ROUND_MM:
        lacks.append(f"{along:.2f} long, the blank gives {share:.2f}")
    if blank.thickness_mm is not None:
        low, high = sorted((blank.thickness_mm, blank.size_mm))
        if thin > low + ROUND_MM:
            lacks.append(f"{thin:.2f} thick, the blank is {low:g}")
        if wide > high + ROUND_MM:
            lacks.append(f"{wide:.2f} wide, the blank is {high:g}")
    else:
        across = wide if turned or blank.shape == "square bar" else math.hypot(thin, wide)
        if across > blank.size_mm + ROUND_MM:
            lacks.append(f"{across:.2f} across, the blank is {blank.size_mm:g}")
    return f"the blank cannot give the part: it is {'; '.join(lacks)}" if lacks else ""


def said_blank(part: Part) -> Blank:
    """The blank that the part's form says; refuses one that cannot be read, by its key."""
    where = f"part.{part.name}.form.blank"
    taker = Taker(part.form["blank"], where)
    shape = taker.text("shape", needed=True)
    shape = ALSO.get(shape, shape)
    if shape not in SHAPES:
        raise Unknown(f"{where}.shape", got=shape, near=near(shape, SHAPES), way_out=f"one of: {', '.join(SHAPES)}")
    bought = shape in ("casting", "bought in")
    size_text, length_text = taker.text("size", needed=not bought), taker.text("length", needed=not bought)
    material = taker.text("material") or part.material
    pieces = taker.number("pieces", least=1) or 1.0
    taker.done()
    if pieces != int(pieces):
        raise Refused(f"{where}.pieces", got=pieces, reason="it is not a whole number", way_out="write pieces = 2")
    if bought:
        return Blank(part.name, material, shape, 0.0, 0.0, pieces=int(pieces), how="as the builder says")
    if not material:
        raise Refused(f"{where}.material", got="", reason="no material is said", way_out='add material = "brass"')
    width, thickness = read_section(size_text, f"{where}.size")
    if shape in ("flat bar", "sheet") and thickness is None:
        if shape == "flat bar":
            raise Refused(f"{where}.size", got=size_text, reason="a flat has a width and a thickness",
                          way_out='write size = "20 x 5 mm"')  # fmt: skip
        raise Refused(f"{where}.size", got=size_text, reason="a piece of sheet has a width and a thickness",
                      way_out='write size = "40 x 1.5 mm" and its length')  # fmt: skip
    length = float(read_length(length_text, unit="mm", thing=f"{where}.length").mm)
    if length <= 0:
        raise OutOfRange(f"{where}.length", got=length_text, allowed="above 0")
    return Blank(part.name, material, shape, width, length, thickness, exact=True, exact_width=True,
                 pieces=int(pieces), how="as the builder says")  # fmt: skip


def read_section(text: str, thing: str) -> tuple[float, float | None]:
    """A section as the rack has it: ``18 mm``, ``10 x 3 mm`` (width, thickness), ``3/4 in x 1/8 in``; mm.

    Source: definition of the inch. Range: sizes above 0. Anchor: ``3/4 in x 1/8 in``: 19.05 and 3.175 mm.
    """
    parts = [part.strip() for part in text.replace("×", "x").split(" x ")]
    unit = next((word for word in ("mm", "in") if parts[-1].endswith(word)), "")
    read = []
    for part in parts:
        bare = not any(part.endswith(word) for word in ("mm", "in", "thou", "SWG", "BWG"))
        written = f"{part} {unit}" if bare and unit and len(parts) > 1 else part
        read.append(float(read_length(written, unit="mm", thing=thing).mm))
    if len(read) > 2 or any(value <= 0 for value in read):
        raise Refused(thing, got=text, reason="it is one size, or a width and a thickness, above 0",
                      way_out='write "18 mm" or "10 x 3 mm"')  # fmt: skip
    return (max(read), min(read)) if len(read) == 2 else (read[0], None)


def _turned(part: Part, form: Turned, sizes: Mapping[str, float], allow: Allowances) -> Blank:
    length = math.fsum(_value(part, s.length, sizes, f"length of {s.name}") for s in form.sections)
    largest, size = max(((s, _across(part, s, sizes)) for s in form.sections), key=lambda pair: pair[1])
    as_bought = _as_bought(part, largest)
    shape, exact = "round bar", False
    if as_bought:
        exact = True
        if largest.shape in ("hexagon", "square"):
            shape = f"{largest.shape} bar"
            size = _value(part, largest.across_flats, sizes, f"{largest.name} across flats")
        said = as_bought if as_bought in SHAPES else ALSO.get(as_bought, "")
        shape = said if said in SHAPES[:4] else shape
    else:
        size += allow.turning_on_diameter_mm
    whole = length + 2 * allow.facing_each_end_mm + allow.chucking_mm
    how = f"{length:.2f} long and {allow.facing_each_end_mm:g} to face at each end"
    if allow.chucking_mm:
        how += f", {allow.chucking_mm:g} to hold"
    how += f"; {largest.name} {'as bought' if exact else f'+ {allow.turning_on_diameter_mm:g} to turn off'}"
    left = _left(form, sizes, whole * math.pi * size**2 / 4)
    return Blank(part.name, part.material, shape, size, whole, exact=exact, how=how, left_share=left)


def _left(form: Form, sizes: Mapping[str, float], blank_mm3: float) -> float | None:
    from asmade.reckon.shapes import shape as shape_of  # noqa: PLC0415  # shapes want numpy

    try:
        return round(shape_of(form, dict(sizes)).volume_mm3 / blank_mm3, 3)
    except AsmadeError:
        return None


def _as_bought(part: Part, section: Section) -> str:
    """The stock of the section's size where it stays as bought: the form that is said, or "round bar"."""
    measure = section.diameter if section.shape in ("round", "two flats") else section.across_flats
    dimension = part.dims.get(measure.dimension or "") if measure is not None else None
    if dimension is None or dimension.made_by != AS_BOUGHT:
        return ""
    return dimension.stock or "round bar"


def _across(part: Part, section: Section, sizes: Mapping[str, float]) -> float:
    if section.shape in ("hexagon", "square"):
        share = 2 / math.sqrt(3) if section.shape == "hexagon" else math.sqrt(2)
        return share * _value(part, section.across_flats, sizes, f"{section.name} across flats")
    return _value(part, section.diameter, sizes, f"diameter of {section.name}")


def _value(part: Part, measure: Any, sizes: Mapping[str, float], what: str) -> float:
    if measure is None:
        raise Refused(f"blank of {part.name}", got=what, reason="no dimension says it")
    value = float(measure.value(lambda name: sizes[name]))
    if not math.isfinite(value):
        raise Refused(f"blank of {part.name}", got=f"{what} = {measure.text}", reason="it is not known yet")
    if value <= 0:
        raise OutOfRange(f"blank of {part.name}: {what}", got=f"{value:g} mm", allowed="above 0")
    return value


def _box(part: Part, form: Form, sizes: Mapping[str, float], allow: Allowances) -> Blank:
    """From the box a part goes into: thickness across where that stays as bought, else the least of the three."""
    from asmade.reckon.shapes import shape as shape_of  # noqa: PLC0415  # shapes want numpy

    box = shape_of(form, dict(sizes)).envelope
    thickness, width, length = sorted((box.length_mm, box.height_mm, box.width_mm))
    stays = [sizes[name] for name, dim in part.dims.items() if dim.made_by == AS_BOUGHT]
    thick_stays, wide_stays = (
        any(math.isclose(each, value, abs_tol=1e-6) for each in stays) for value in (thickness, width)
    )
    exact = thick_stays or wide_stays  # flat bar whose width stays has its thickness too
    how = f"a box of {length:.2f} x {width:.2f}, {thickness:.2f} thick"
    how += " as bought" if exact else f"; {allow.milling_each_face_mm:g} on each face to mill"
    over = 2 * allow.milling_each_face_mm
    return Blank(
        part.name, part.material, "sheet" if thick_stays and not wide_stays and form.kind == "plate" else "flat bar",
        width if wide_stays else width + over, length + over, thickness if exact else thickness + over, exact=exact,
        exact_width=wide_stays, how=how,
    )  # fmt: skip
