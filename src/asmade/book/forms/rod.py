"""A rod: eyes in a line from front to back, each with its boss, and the bar between them.

    form = { kind = "rod" }
    form = { kind = "rod", eyes = ["knuckle", { name = "fore", behind = "knuckle_ahead" }, "aft"], depth = "bar" }

Eyes are named from front to back; ``behind`` is the distance to the eye before it. Where no eyes are said they are
``fore`` and ``aft`` (``little_end`` and ``big_end`` for a rod with such dimensions; a ``knuckle`` ahead of the fore
eye where ``knuckle_ahead`` is a dimension; a ``tongue`` in place of the aft eye where ``tongue_hole`` is one).
Of eye ``fore`` the bore is ``fore.bore``, ``eye_fore``, ``fore_eye`` or ``eye``; the boss is ``outside_fore``,
``fore_outside`` or ``boss_outside`` in diameter and ``boss_fore``, ``fore_width`` or ``boss_width`` across.
The bar is ``depth`` high (``depth_fore`` to ``depth_aft`` if it tapers) and ``thickness`` across; ``flute_depth``
(from each face) and ``flute_height`` tell of a fluted one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from asmade.book.forms.measures import Measure, Measures, listed
from asmade.book.model import Part
from asmade.book.schema import Taker
from asmade.measure.errors import Refused

KIND = "rod"
HELP = "eyes in a line from front to back and the bar between them"


@dataclass(frozen=True, slots=True)
class Eye:
    """One eye: how far behind the eye before it (None for the foremost), its bore, its boss, its width across."""

    name: str
    behind: Measure | None
    bore: Measure | None
    outside: Measure | None
    width: Measure | None


@dataclass(frozen=True, slots=True)
class Rod:
    """A rod as a body: x along it, 0 at its foremost eye, backwards negative; y up."""

    part: str
    eyes: tuple[Eye, ...]
    depth_fore: Measure | None
    depth_aft: Measure | None
    thickness: Measure | None
    flute_depth: Measure | None
    flute_height: Measure | None
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Rod:
    """From the form's table and the part's dimension names."""
    measures = Measures(part, taker.where)
    rows = listed(taker, "eyes") or tuple({"name": name} for name in _usual_eyes(part.dims))
    if len(rows) < 2:
        raise Refused(f"{taker.where}.eyes", got=[row.get("name") for row in rows],
                      reason="a rod has two eyes or more", way_out='write eyes = ["fore", "aft"]')  # fmt: skip
    eyes = tuple(_eye(measures, Taker(row, f"{taker.where}.eyes"), at, len(rows)) for at, row in enumerate(rows))
    fore = measures.take(taker, "depth_fore", "depth_fore", "depth")
    aft = measures.take(taker, "depth_aft", "depth_aft", "depth")
    depth = taker.text("depth")
    if depth:
        fore = aft = measures.read(depth, "depth")
        measures.lacking = [name for name in measures.lacking if name not in ("depth_fore", "depth_aft")]
    return Rod(
        part=part.name, eyes=eyes, depth_fore=fore, depth_aft=aft,
        thickness=measures.take(taker, "thickness", "thickness", "bar_thickness"),
        flute_depth=measures.take(taker, "flute_depth", "flute_depth", "flute.depth", needed=False),
        flute_height=measures.take(taker, "flute_height", "flute_height", "flute.height", needed=False),
        lacks=measures.lacks,
    )  # fmt: skip


def _usual_eyes(dims: Mapping[str, Any]) -> tuple[str, ...]:
    if any(name.startswith(("little_end", "big_end")) for name in dims):
        return ("little_end", "big_end")
    ahead = ("knuckle",) if "knuckle_ahead" in dims else ()
    return (*ahead, "fore", "tongue" if "tongue_hole" in dims else "aft")


def _eye(measures: Measures, taker: Taker, at: int, count: int) -> Eye:
    name = taker.text("name", needed=True)
    others = {"knuckle": ("fork_hole", "knuckle_hole"), "tongue": ("tongue_hole",)}.get(name, ())
    widths = {"tongue": ("tongue",)}.get(name, ())
    behind = None
    if at:
        usual = [f"{name}.behind", *(["knuckle_ahead"] if at == 1 and count > 2 else []), "centres"]
        behind = measures.take(taker, "behind", *usual)
    elif taker.text("behind"):
        raise Refused(f"{taker.where}.behind", got=taker.table.get("behind"),
                      reason=f"{name} is the foremost eye", way_out="name the eyes from front to back")  # fmt: skip
    found = Eye(
        name=name, behind=behind,
        bore=measures.take(taker, "bore", f"{name}.bore", f"eye_{name}", f"{name}_eye", *others, "eye"),
        outside=measures.take(
            taker, "outside", f"{name}.outside", f"outside_{name}", f"{name}_outside", "boss_outside"
        ),
        width=measures.take(taker, "width", f"{name}.width", f"boss_{name}", f"{name}_width", *widths, "boss_width"),
    )  # fmt: skip
    taker.done()
    return found
