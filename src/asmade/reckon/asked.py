"""What is asked of a joint, as a relation of a book states it: a sum in N or N mm, or one of the usual loads by name.

The loads by name are those of `asmade.reckon.joints.demand` (plain statics, taken at the worst), here on arrays.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.computed import Input, Reader


@dataclass(frozen=True, slots=True)
class Load:
    """One usual load: the words for what goes in, its formula, and the sum on floats or arrays (N, N mm, mm, MPa)."""

    put_in: Mapping[str, tuple[str, str]]
    formula: str
    sum_: Callable[..., Any]
    turning: bool


def _lesser(one: Any, two: Any) -> Any:
    import numpy as np  # noqa: PLC0415

    return np.minimum(one, two)


_CYLINDER: Final = {"pressure": ("p", "steam pressure"), "bore": ("D_c", "cylinder bore")}
_CRANK: Final = {"crank_radius": ("r", "crank radius")}
_BUSH: Final = {
    "friction": ("mu_b", "friction in the bush"),
    "force": ("F", "force on the pin"),
    "journal": ("d_j", "journal diameter"),
}
LOADS: Final[Mapping[str, Load]] = {
    "cylinder torque": Load(
        {**_CYLINDER, **_CRANK}, "p pi D_c^2/4 r", lambda p, d, r: p * math.pi / 4 * d**2 * r, True
    ),
    "axle torque": Load(
        {
            **_CYLINDER,
            **_CRANK,
            "friction": ("mu_r", "friction of wheel on rail"),
            "load": ("W", "load on the axle"),
            "wheel_diameter": ("D_w", "wheel diameter"),
        },
        "min(p pi D_c^2/4 r, mu_r W D_w/2)",
        lambda p, d, r, mu, w, wheel: _lesser(p * math.pi / 4 * d**2 * r, mu * w * wheel / 2),
        True,
    ),
    "return crank torque": Load(
        {"eccentric_rod": ("F_e", "force in the eccentric rod"), "arm": ("e", "return crank centres"), **_BUSH},
        "F_e e + mu_b F d_j/2",
        lambda fe, e, mu, f, d: fe * e + mu * f * d / 2,
        True,
    ),
    "bush torque": Load(_BUSH, "mu_b F d_j/2", lambda mu, f, d: mu * f * d / 2, True),
    "piston thrust": Load(_CYLINDER, "p pi D_c^2/4", lambda p, d: p * math.pi / 4 * d**2, False),
    "adhesion": Load(
        {"friction": ("mu_r", "friction of wheel on rail"), "load": ("W", "load on the axle")},
        "mu_r W",
        lambda mu, w: mu * w,
        False,
    ),
}
"""Turning loads come out in N mm (MPa x mm3), others in N. Source: statics, as `joints.demand`."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a joint: figures put in, the formula, and the sum over them."""

    put_in: tuple[Input, ...]
    formula: str
    sum_: Callable[..., Any]


def asked(reader: Reader, key: str, *, turning: bool) -> Asked | None:
    """Read ``key`` of a relation: a sum (N mm if turning, else N), a table ``{ by = "axle torque", ... }``; or None."""
    said = reader.relation.fields.get(key)
    if said is None or said == "":
        return None
    where = f"{reader.relation.kind} {reader.relation.name!r} {key}"
    if not isinstance(said, Mapping):
        words = "torque asked, N mm" if turning else "force asked, N"
        return Asked((reader.input(key, "A", words),), "A", lambda a: a)
    known = {name: load for name, load in LOADS.items() if load.turning == turning}
    name = str(said.get("by", ""))
    load = known.get(name)
    if load is None:
        raise Unknown(f"{where}: by", got=name, near=near(name, known), way_out=f"one of: {', '.join(known)}")
    for given in said:
        if given != "by" and given not in load.put_in:
            raise Unknown(
                where, got=given, near=near(given, load.put_in), way_out=f"{name} takes {', '.join(load.put_in)}"
            )
    missing = [one for one in load.put_in if one not in said]
    if missing:
        raise Refused(
            where,
            got=dict(said),
            reason=f"{', '.join(missing)} is missing",
            way_out=f"{name} takes {', '.join(load.put_in)}; a figure that is not known yet may stand empty",
        )
    put_in = tuple(reader.input(one, symbol, words, said[one]) for one, (symbol, words) in load.put_in.items())
    return Asked(put_in, load.formula, load.sum_)


MOST: Final = 1000.0
"""Capacity over demand is not told beyond this: what is asked is next to nothing."""


def over(capacity: Any, demand: Any) -> Any:
    """Capacity over demand, at most ``MOST``; where nothing is asked it is that too."""
    import numpy as np  # noqa: PLC0415

    capacity, demand = np.asarray(capacity, dtype=float), np.asarray(demand, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(demand > 0, capacity / np.where(demand > 0, demand, 1.0), MOST)
    return np.where(np.isnan(capacity) | np.isnan(demand), np.nan, np.minimum(ratio, MOST))
