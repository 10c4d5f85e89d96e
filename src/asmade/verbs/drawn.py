"""drawn: what the drawing says of one dimension; a new dimension is added with its kind."""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.address import read_address
from asmade.book.kinds import KINDS
from asmade.book.model import Dimension, Part
from asmade.book.sizes import check_written, read_limit
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.verbs.store import Path_, Saved, read, save


@dataclass(frozen=True, slots=True)
class DrawnResult:
    """What was saved, and how the text was read."""

    saved: Saved
    dimension: str
    how: str


def drawn(
    path: Path_,
    address: str,
    text: str,
    *,
    kind: str = "",
    process: str = "",
    reference: str = "",
    what_if: bool = False,
) -> DrawnResult:
    """Enter a drawn size; ``kind`` is needed for a dimension the part does not have yet."""
    opened = read(path)
    design = opened.build.design
    of = read_address(address)
    figure = design.figures.get(of.part)
    if figure is not None and not of.dim:
        how = _figure(figure.kind, text, design.drawing_unit, of.part)
        body = {"of": address, "drawn": text}
        return DrawnResult(save(opened, [Draft("drawn", body)], what_if=what_if), address, how)
    part = design.parts.get(of.part)
    if part is None:
        raise Unknown("part", got=of.part, near=near(of.part, design.parts),
                      way_out="a new part is added with its places in the text form, or imported")  # fmt: skip
    if of.mark:
        raise Refused("address", got=address, reason="a drawing knows no marks", way_out=f"write {of.of_part}")
    if of.place and of.place not in part.places:
        raise Unknown(f"place of {part.name}", got=of.place, near=near(of.place, part.places))
    dimension = part.dims.get(of.dim)
    if dimension is None:
        return _new(path, address, text, kind, process, reference, what_if=what_if)
    if kind and kind != dimension.kind:
        raise Refused("kind", got=kind, reason=f"{of.of_part} is a {dimension.kind}", way_out="leave the kind out")
    how = check_written(text, dimension, design.drawing_unit, address)
    body = {"of": address, "drawn": text} | ({"reference": reference} if reference else {})
    drafts = [Draft("drawn", body)]
    if process and process != dimension.process:
        drafts.append(_edit(part, of.dim, {"process": process}))
    return DrawnResult(save(opened, drafts, what_if=what_if), address, how)


def _edit(part: Part, name: str, table: dict[str, object]) -> Draft:
    """An entry that sets fields of one dimension of a part."""
    for key in reversed(name.split(".")):
        table = {key: table}
    return Draft("design", {"set": {"part": {part.name: {"dim": table}}}})


def _new(
    path: Path_, address: str, text: str, kind: str, process: str, reference: str, *, what_if: bool
) -> DrawnResult:
    opened = read(path)
    of = read_address(address)
    part = opened.build.design.parts[of.part]
    if not of.dim or not kind:
        raise Unknown(f"dimension of {part.name}", got=of.dim, near=near(of.dim, part.dims),
                      way_out=f"to add it, say its kind: --kind {' | '.join(KINDS)}")  # fmt: skip
    if kind not in KINDS:
        raise Unknown("kind", got=kind, near=near(kind, KINDS), way_out=f"one of: {', '.join(KINDS)}")
    how = check_written(text, Dimension(of.dim, kind), opened.build.design.drawing_unit, address)
    fields = {"kind": kind, "drawn": "" if of.place else text, "process": process, "reference": reference}
    table: dict[str, object] = {k: v for k, v in fields.items() if v}
    if of.place:
        table["drawn_at"] = {of.place: text}
    return DrawnResult(save(opened, [_edit(part, of.dim, table)], what_if=what_if), address, how)


def _figure(kind: str, text: str, unit: str, name: str) -> str:
    if kind in ("length", "angle"):
        read_limit(text, angle=kind == "angle", unit=unit, thing=name)
    return f"{name} = {text}"
