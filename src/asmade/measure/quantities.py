"""Quantities other than lengths and angles, as engines and data sheets state them; read exactly or refused.

Inside, one unit for each kind, chosen so that sums in millimetres come out: pressure and stress in MPa (N per mm2),
force in N, torque in N mm, mass in kg, temperature in degrees Celsius, speed of rotation in rev/min.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.measure.writing import MM_PER_INCH, NUMBER, Doubt, fraction, number, plain, refusal

LBF_N: Final = Fraction("4.4482216152605")
"""Newtons to the pound-force: 0.45359237 kg x 9.80665 m/s2, both exact by definition."""
_LB_KG: Final = Fraction("0.45359237")
_KGF_N: Final = Fraction("9.80665")
_FOOT_MM: Final = 12 * MM_PER_INCH
_ZERO_K: Final = Fraction("273.15")
_DECIMALS: Final = 9

INSIDE: Final[Mapping[str, str]] = {
    "pressure": "MPa", "force": "N", "torque": "N mm", "mass": "kg", "temperature": "degC", "speed": "rpm",
    "ratio": "", "friction": "", "number": "",
}  # fmt: skip
"""Unit of each kind inside."""

_PSI: Final = LBF_N / MM_PER_INCH**2
UNITS: Final[Mapping[str, Mapping[str, Fraction]]] = {
    "pressure": {
        "MPa": Fraction(1), "N/mm2": Fraction(1), "kPa": Fraction(1, 1000), "Pa": Fraction(1, 10**6),
        "GPa": Fraction(1000), "bar": Fraction(1, 10), "psi": _PSI, "lbf/in2": _PSI, "lb/in2": _PSI, "lb/sq in": _PSI,
        "lbf/sq in": _PSI, "kgf/cm2": _KGF_N / 100,
    },
    "force": {"N": Fraction(1), "kN": Fraction(1000), "lbf": LBF_N, "kgf": _KGF_N},
    "torque": {
        "N mm": Fraction(1), "N m": Fraction(1000), "kN m": Fraction(10**6), "lbf in": LBF_N * MM_PER_INCH,
        "lbf ft": LBF_N * _FOOT_MM,
    },
    "mass": {
        "kg": Fraction(1), "g": Fraction(1, 1000), "t": Fraction(1000), "lb": _LB_KG, "oz": _LB_KG / 16,
        "cwt": 112 * _LB_KG,
    },
    "temperature": {"degC": Fraction(1), "C": Fraction(1), "degF": Fraction(5, 9), "F": Fraction(5, 9),
                    "K": Fraction(1)},
    "speed": {"rpm": Fraction(1), "rev/min": Fraction(1), "r/min": Fraction(1), "rev/s": Fraction(60)},
    "ratio": {"": Fraction(1), "%": Fraction(1, 100)},
    "friction": {"": Fraction(1), "%": Fraction(1, 100)},
    "number": {"": Fraction(1)},
}  # fmt: skip
"""What one of each unit is inside; temperatures by `_celsius` besides."""

_MEANT: Final[Mapping[tuple[str, str], str]] = {
    ("force", "lb"): "lbf", ("force", "lbs"): "lbf", ("force", "kg"): "kgf", ("mass", "lbs"): "lb",
    ("mass", "lbf"): "lb", ("mass", "kgf"): "kg", ("torque", "lbin"): "lbf in", ("torque", "inlb"): "lbf in",
    ("torque", "lbft"): "lbf ft", ("torque", "ftlb"): "lbf ft", ("torque", "inlbf"): "lbf in",
    ("torque", "ftlbf"): "lbf ft", ("pressure", "lb"): "psi", ("pressure", "lbs"): "psi", ("pressure", "atm"): "bar",
    ("pressure", "psig"): "psi", ("pressure", "barg"): "bar",
}  # fmt: skip
_EXAMPLES: Final[Mapping[str, str]] = {
    "pressure": "write '80 psi', '5.5 bar' or '0.55 MPa' (gauge)", "force": "write '120 N' or '27 lbf'",
    "torque": "write '1.8 N m' or '16 lbf in'", "mass": "write '12 kg' or '26 lb'",
    "temperature": "write '20 C' or '68 F'", "speed": "write '300 rpm'", "ratio": "write '0.25', '25 %' or '1:4'",
    "friction": "write '0.12'", "number": "write '6' or '0.25'",
}  # fmt: skip
_QUANTITY = re.compile(
    rf"""(?P<sign>[-+]\ ?)?
    (?: (?P<whole>[0-9]+)[ -](?P<above>[0-9]+)/(?P<below>[0-9]+)(?![.,0-9])
      | (?P<n>[0-9]+)/(?P<d>[0-9]+)(?![.,0-9]) | (?P<decimal>{NUMBER}) )
    \ ?(?P<unit>[^0-9 ].*)?""",
    re.VERBOSE,
)
_RATIO = re.compile(rf"(?P<one>{NUMBER}) ?: ?(?P<two>{NUMBER})")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity as written and as read: ``value`` is exact, in ``unit``, the one inside for its ``kind``."""

    kind: str
    value: Fraction
    unit: str
    text: str = field(compare=False)
    how: str = field(compare=False)


def read_quantity(text: str, *, kind: str, bare: str = "", signed: bool = False, thing: str = "") -> Quantity:
    """Read a quantity of ``kind`` (a key of ``INSIDE``); ``bare`` is the unit of a bare figure, "" refuses one.

    Ratios and friction are bare figures, per cent, or (ratios) ``1:4``; friction is above 0 up to 1. A temperature may
    be negative, down to -273.15 C; anything else only where ``signed``. Raises ``Refused``, ``Unknown``,
    ``OutOfRange``.

    Source: definitions of the inch, pound and standard gravity; ISO 80000-1, from memory.
    Anchors: 1 psi is 0.00689475729... MPa, 1 lbf 4.4482216152605 N, 212 F is 100 C (definitions).

    >>> float(read_quantity("80 psi", kind="pressure").value), read_quantity("212 F", kind="temperature").value
    (0.5515805834534689, Fraction(100, 1))
    """
    if kind not in INSIDE:
        raise Unknown("kind of quantity", got=kind, way_out=f"one of: {', '.join(INSIDE)}")
    thing = thing or kind
    clean = plain(text.replace("²", "2"), thing)
    try:
        value, unit, figure = _read(clean, kind, bare)
    except Doubt as doubt:
        spellings = doubt.whole_spellings(clean)
        raise refusal(thing, text, doubt.reason, *spellings, otherwise=doubt.advice or _EXAMPLES[kind]) from None
    if kind == "temperature":
        value = _celsius(value, unit)
        if value < -_ZERO_K:
            raise OutOfRange(
                thing, got=text, allowed="-273.15 C and above", source="absolute zero", way_out="look again"
            )
    elif value < 0 and not signed:
        raise Refused(
            thing, got=text, reason="it is negative", way_out="look at the sign; what is not known stays empty"
        )
    if kind == "friction" and not 0 < value <= 1:
        raise OutOfRange(thing, got=text, allowed="above 0 up to 1", way_out="0.05 to 0.3 is usual")
    inside = INSIDE[kind]
    how = f"{figure} {unit}".rstrip()
    if unit not in (inside, "") and (unit, inside) != ("C", "degC"):
        how += f" = {float(value):.6g} {inside}".rstrip()
    return Quantity(kind, value, inside, text, how)


def _read(clean: str, kind: str, bare: str) -> tuple[Fraction, str, str]:
    """Value inside (temperature: as written), unit and figure as written; raises ``Doubt``."""
    if kind == "ratio" and (pair := _RATIO.fullmatch(clean)):
        one, two = (number(pair[name], decimals=_DECIMALS) for name in ("one", "two"))
        if not two:
            raise Doubt("it is a ratio to nothing")
        return one / two, "", clean
    found = _QUANTITY.fullmatch(clean)
    if found is None:
        raise Doubt("it is no figure with a unit")
    if found["decimal"] is not None:
        value = number(found["decimal"], decimals=_DECIMALS)
    elif found["whole"] is not None:
        value = fraction(found["above"], found["below"], found["whole"])
    else:
        value = fraction(found["n"], found["d"])
    if (found["sign"] or "").startswith("-"):
        value = -value
    written = (found["unit"] or "").strip()
    figure = clean[: found.start("unit")].strip() if found["unit"] else clean
    unit = _unit(written or bare, kind, figure)
    return value * (1 if kind == "temperature" else UNITS[kind][unit]), unit, figure


def _unit(written: str, kind: str, figure: str) -> str:
    """The unit as `UNITS` spells it; capitals matter only where they tell two units apart."""
    units = UNITS[kind]
    tight = written.replace(" ", "").replace(".", "").replace("°", "deg").replace("*", "")
    if tight.startswith("deg") and kind == "temperature":
        tight = "deg" + tight.removeprefix("degrees").removeprefix("deg")
    if not tight and "" not in units:
        raise Doubt("it has no unit", advice=_EXAMPLES[kind])
    if tight == "mPa":
        raise Doubt("mPa is a thousandth of a pascal", f"{figure} MPa")
    by_name = {unit.replace(" ", ""): unit for unit in units}
    by_small = {name.lower(): unit for name, unit in by_name.items()}
    found = by_name.get(tight) or by_small.get(tight.lower())
    if found is not None:
        return found
    if not tight:
        return ""
    meant = _MEANT.get((kind, tight.lower().replace("-", "")))
    reason = f"{written!r} is no unit of {kind} that is read"
    raise Doubt(reason, *([f"{figure} {meant}"] if meant else []), advice=_EXAMPLES[kind])


def _celsius(value: Fraction, unit: str) -> Fraction:
    """Degrees Celsius: C as it is, K less 273.15, F less 32 times 5/9 (definitions, exact)."""
    if unit == "K":
        return value - _ZERO_K
    return (value - 32) * Fraction(5, 9) if unit in ("F", "degF") else value
