"""What makes a wheel look like one in the side view: rim, spokes, bosses, holes. In the wheel's own axes."""

from __future__ import annotations

import math

from asmade.book.forms.measures import Sizes
from asmade.book.forms.wheel import Wheel
from asmade.reckon.shapes import Taken
from asmade.show.strokes import Circle, Polyline

Dress = tuple[Circle | Polyline, ...]


def wheel_dress(form: Wheel, sizes: Sizes) -> Dress:
    """Strokes about the wheel's middle, the crank pin ahead on x; only of what the form has sizes for.

    The spoke nearest the crank is left out where the pin's boss stands, as on a casting.
    """
    taken = Taken(form.part, sizes)
    tread = taken.size(form.tread, "diameter of the tread") / 2
    boss = taken.size(form.boss, "diameter of the boss") / 2
    found: list[Circle | Polyline] = []
    if form.rim is not None and form.spokes is not None and form.spoke_width is not None:
        inside = tread - taken.size(form.rim, "depth of the rim")
        wide = taken.size(form.spoke_width, "width of a spoke")
        found.append(Circle(0.0, 0.0, inside, "thin"))
        found += [_spoke(2 * math.pi * number / form.spokes, boss, inside, wide) for number in range(form.spokes)]
    elif form.rim is not None:
        found.append(Circle(0.0, 0.0, tread - taken.size(form.rim, "depth of the rim"), "thin"))
    if form.crank_radius is not None and form.pin_boss is not None:
        at = taken.size(form.crank_radius, "crank radius")
        found.append(_web(at, boss, taken.size(form.pin_boss, "diameter of the pin boss") / 2))
        if form.pin_hole is not None:
            found.append(Circle(at, 0.0, taken.size(form.pin_hole, "pin hole") / 2, "thin", "paper"))
    else:
        found.append(Circle(0.0, 0.0, boss, "thin", "paper"))
    if form.bore is not None:
        found.append(Circle(0.0, 0.0, taken.size(form.bore, "bore") / 2, "thin", "tint"))
    return tuple(found)


def _spoke(angle: float, inner: float, outer: float, wide: float) -> Polyline:
    """A spoke a little wider at the boss than at the rim; open at both ends, where it runs into them."""
    c, s = math.cos(angle), math.sin(angle)
    corners = ((inner * 0.9, wide * 0.6), (outer, wide * 0.45), (outer, -wide * 0.45), (inner * 0.9, -wide * 0.6))
    return Polyline(tuple((x * c - y * s, x * s + y * c) for x, y in corners), "thin", fill="paper")


def _web(at: float, boss: float, pin_boss: float) -> Polyline:
    """The two bosses run together: arcs of both and the two straight lines that touch them."""
    lean = math.acos(max(-1.0, min(1.0, (boss - pin_boss) / at)))
    steps = 24
    back = [lean + (2 * math.pi - 2 * lean) * step / steps for step in range(steps + 1)]
    front = [-lean + 2 * lean * step / steps for step in range(steps + 1)]
    points = [(boss * math.cos(angle), boss * math.sin(angle)) for angle in back]
    points += [(at + pin_boss * math.cos(angle), pin_boss * math.sin(angle)) for angle in front]
    return Polyline(tuple(points), "thin", closed=True, fill="paper")
