"""The machines of the shop, read from their tables: spindle speeds, dials, motor, centres, screw, gears, plates.

    [shop.machine.lathe]
    kind = "lathe"
    speeds = [60, 110, 190, 340, 600, 950, 1500]     # or speeds_between = [50, 2500] for a stepless drive
    motor = "370 W"
    efficiency = 0.7                                 # of the drive, motor to cut
    centre_height = "90 mm"
    between_centres = "400 mm"
    spindle_bore = "20 mm"
    leadscrew = "8 tpi"                              # or "3 mm"
    change_gears = [20, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65]
    cross_slide = { reads = "diameter", per_turn = "4 mm", division = "0.05 mm" }

    [shop.machine.dividing_head]
    kind = "dividing head"
    ratio = 40
    plates = [[15, 16, 17, 18, 19, 20], [21, 23, 27, 29, 31, 33]]

A dial's ``per_turn`` and ``division`` are what it is marked with: one that reads diameter takes off half of that on
the radius.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final, Literal

from asmade.book.model import Shop
from asmade.book.schema import Taker
from asmade.measure.errors import Refused, Unknown, near
from asmade.measure.lengths import Unit, read_length

Reads = Literal["diameter", "radius", "length"]
KINDS: Final = ("lathe", "mill", "drilling machine", "dividing head", "rotary table", "shaper", "grinder", "saw")
DIALS: Final = ("cross_slide", "top_slide", "saddle", "tailstock", "x", "y", "z", "quill", "knee")
READS: Final[tuple[Reads, ...]] = ("diameter", "radius", "length")
_POWER: Final = {"w": 1.0, "kw": 1000.0, "hp": 745.69987158227022}
_TPI = re.compile(r"\s*([0-9]+(?:[ ./][0-9]+)*)\s*(?:t\.?p\.?i\.?|threads? per inch)\s*", re.IGNORECASE)
INCH: Final = Fraction(254, 10)


@dataclass(frozen=True, slots=True)
class Dial:
    """One graduated dial: what it reads, one turn and one division as marked, in mm; how far the slide goes."""

    name: str
    reads: Reads
    unit: Unit
    per_turn_mm: Fraction
    division_mm: Fraction
    travel_mm: float | None = None

    @property
    def divisions(self) -> int:
        """Divisions in one turn."""
        return int(self.per_turn_mm / self.division_mm)

    @property
    def words(self) -> str:
        """What the dial is, for a sheet."""
        step = float(self.division_mm) if self.unit == "mm" else float(self.division_mm / INCH)
        turn = float(self.per_turn_mm) if self.unit == "mm" else float(self.per_turn_mm / INCH)
        unit = "mm" if self.unit == "mm" else "in"
        return f"{self.name.replace('_', ' ')}: reads {self.reads}, {turn:g} {unit} a turn, marks of {step:g} {unit}"


@dataclass(frozen=True, slots=True)
class Machine:
    """One machine as its table says. What was not said is None or empty, and asking for it is refused by name."""

    name: str
    kind: str
    speeds: tuple[float, ...] = ()
    speeds_between: tuple[float, float] | None = None
    dials: Mapping[str, Dial] = field(default_factory=dict)
    motor_w: float | None = None
    efficiency: float | None = None
    centre_height_mm: float | None = None
    between_centres_mm: float | None = None
    spindle_bore_mm: float | None = None
    leadscrew_mm: Fraction | None = None
    spindle_to_first_gear: Fraction = Fraction(1)
    change_gears: tuple[int, ...] = ()
    ratio: int | None = None
    plates: tuple[tuple[int, ...], ...] = ()
    note: str = ""

    @property
    def circles(self) -> tuple[int, ...]:
        """Every hole circle there is, on any plate, each once."""
        return tuple(sorted({circle for plate in self.plates for circle in plate}))

    def dial(self, name: str) -> Dial:
        """One dial by name; refuses one that the table does not give."""
        if name not in self.dials:
            raise Unknown(
                f"dial of {self.name}", got=name, near=near(name, self.dials),
                way_out=f'add {name} = {{ reads = "length", per_turn = "2 mm", division = "0.02 mm" }} to '
                f"[shop.machine.{self.name}]",
            )  # fmt: skip
        return self.dials[name]

    def needed(self, what: str, example: str) -> Any:
        """A property that must have been said; the refusal says what to write."""
        value = getattr(self, what)
        if value is None or value == ():
            key = {"motor_w": "motor", "leadscrew_mm": "leadscrew"}.get(what, what.removesuffix("_mm"))
            raise Refused(
                f"machine {self.name}", got=key, reason="its table does not say it",
                way_out=f"add {example} to [shop.machine.{self.name}]",
            )  # fmt: skip
        return value


def read_machine(name: str, table: Mapping[str, Any]) -> Machine:
    """Read one table; every refusal names the key and what to write."""
    where = f"shop.machine.{name}"
    taker = Taker(table, where)
    kind = taker.text("kind", among=KINDS, needed=True)
    dials = {key: _dial(key, taker.inner(key), where) for key in DIALS if key in taker.table}
    plates = _plates(taker, where)
    gears = tuple(sorted(_wholes(taker, "change_gears", where, least=8, most=300)))
    ratio = taker.number("ratio", least=1)
    if ratio is not None and ratio != int(ratio):
        raise Refused(f"{where}.ratio", got=ratio, reason="it is not a whole number", way_out="write ratio = 40")
    efficiency = taker.number("efficiency")
    if efficiency is not None and not 0 < efficiency <= 1:
        raise Refused(f"{where}.efficiency", got=efficiency, reason="it is a share above 0 up to 1",
                      way_out="write efficiency = 0.7")  # fmt: skip
    speeds, stepless = _speeds(taker, where)
    made = Machine(
        name=name, kind=kind, speeds=speeds, speeds_between=stepless, dials=dials,
        motor_w=_power(taker, where), efficiency=efficiency,
        centre_height_mm=_length(taker, "centre_height", where),
        between_centres_mm=_length(taker, "between_centres", where),
        spindle_bore_mm=_length(taker, "spindle_bore", where),
        leadscrew_mm=read_screw(taker.text("leadscrew"), f"{where}.leadscrew") if "leadscrew" in table else None,
        spindle_to_first_gear=_share(taker, where), change_gears=gears,
        ratio=None if ratio is None else int(ratio), plates=plates, note=taker.text("note"),
    )  # fmt: skip
    taker.done()
    return made


def machines(shop: Shop) -> dict[str, Machine]:
    """Every machine of the shop, read."""
    return {name: read_machine(name, table) for name, table in shop.machines.items()}


def machine(shop: Shop, name: str = "", *, kind: str = "") -> Machine:
    """One machine by name, or the only one of a kind. Raises ``Unknown``, or ``Refused`` where there are several."""
    if name:
        if name not in shop.machines:
            raise Unknown("machine", got=name, near=near(name, shop.machines),
                          way_out=f"the shop has: {', '.join(shop.machines) or 'none yet'}")  # fmt: skip
        return read_machine(name, shop.machines[name])
    found = [one for one in machines(shop).values() if one.kind == kind]
    if not found:
        raise Unknown(
            "machine of the shop", got=kind,
            way_out=f'add [shop.machine.NAME] with kind = "{kind}" and what it has, such as speeds = [60, 110, 190]',
        )  # fmt: skip
    if len(found) > 1:
        raise Refused("machine of the shop", got=kind, reason=f"there are {len(found)} of that kind",
                      way_out=f"name one of: {', '.join(one.name for one in found)}")  # fmt: skip
    return found[0]


def read_screw(text: str, thing: str = "leadscrew") -> Fraction:
    """Pitch in mm, exact, of a screw written as ``8 tpi`` or ``3 mm`` (several starts count as their lead).

    Source: definition of the inch. Range: above 0. Anchor: 8 tpi: 3.175 mm.

    >>> read_screw("8 tpi"), read_screw("3 mm")
    (Fraction(127, 40), Fraction(3, 1))
    """
    found = _TPI.fullmatch(text)
    if found is None:
        pitch = read_length(text, unit="mm", thing=thing).mm
        if pitch <= 0:
            raise Refused(thing, got=text, reason="a pitch is above 0", way_out='write "8 tpi" or "3 mm"')
        return pitch
    whole, *rest = found[1].split()
    per_inch = Fraction(whole) + sum((Fraction(part) for part in rest), Fraction(0))
    if per_inch <= 0:
        raise Refused(thing, got=text, reason="threads per inch are above 0", way_out='write "8 tpi" or "3 mm"')
    return INCH / per_inch


def _dial(name: str, table: Mapping[str, Any], where: str) -> Dial:
    taker = Taker(table, f"{where}.{name}")
    reads = taker.text("reads", among=READS, needed=True)
    turn = read_length(taker.text("per_turn", needed=True), unit="mm", thing=f"{taker.where}.per_turn")
    division = read_length(taker.text("division", needed=True), unit="mm", thing=f"{taker.where}.division")
    travel = _length(taker, "travel", taker.where)
    taker.done()
    if turn.mm <= 0 or division.mm <= 0 or (turn.mm / division.mm).denominator != 1:
        raise Refused(
            taker.where, got=f"{turn.text} a turn, {division.text} a division",
            reason="a turn must be a whole number of divisions",
            way_out="count the marks round the dial, and check per_turn and division",
        )  # fmt: skip
    known: Reads = next(word for word in READS if word == reads)
    return Dial(name, known, division.unit, turn.mm, division.mm, travel)


def _length(taker: Taker, key: str, where: str) -> float | None:
    text = taker.text(key)
    if not text:
        return None
    value = float(read_length(text, unit="mm", thing=f"{where}.{key}").mm)
    if value <= 0:
        raise Refused(f"{where}.{key}", got=text, reason="it is above 0", way_out=f'write {key} = "90 mm"')
    return value


def _speeds(taker: Taker, where: str) -> tuple[tuple[float, ...], tuple[float, float] | None]:
    steps = _numbers(taker, "speeds", where)
    ends = _numbers(taker, "speeds_between", where)
    if steps and ends:
        raise Refused(where, got="speeds and speeds_between", reason="a drive has steps or it has none",
                      way_out="keep one of the two")  # fmt: skip
    if ends and (len(ends) != 2 or ends[0] >= ends[1]):
        raise Refused(f"{where}.speeds_between", got=ends, reason="it is the slowest and the fastest",
                      way_out="write speeds_between = [50, 2500]")  # fmt: skip
    return tuple(sorted(set(steps))), (ends[0], ends[1]) if ends else None


def _numbers(taker: Taker, key: str, where: str) -> tuple[float, ...]:
    taker.taken.add(key)
    value = taker.table.get(key)
    if value is None:
        return ()
    right = isinstance(value, list | tuple) and value
    if not right or not all(
        isinstance(each, int | float) and not isinstance(each, bool) and math.isfinite(each) and each > 0
        for each in value
    ):
        raise Refused(f"{where}.{key}", got=value, reason="it is a list of speeds above 0, revolutions a minute",
                      way_out=f"write {key} = [60, 110, 190]")  # fmt: skip
    return tuple(float(each) for each in value)


def _wholes(taker: Taker, key: str, where: str, *, least: int, most: int) -> tuple[int, ...]:
    taker.taken.add(key)
    value = taker.table.get(key)
    return () if value is None else _whole_list(value, f"{where}.{key}", least, most)


def _whole_list(value: Any, where: str, least: int, most: int) -> tuple[int, ...]:
    if not isinstance(value, list | tuple) or not all(
        isinstance(each, int) and not isinstance(each, bool) and least <= each <= most for each in value
    ):
        raise Refused(where, got=value, reason=f"it is a list of whole numbers from {least} to {most}",
                      way_out="write what is stamped on them")  # fmt: skip
    return tuple(value)


def _plates(taker: Taker, where: str) -> tuple[tuple[int, ...], ...]:
    taker.taken.add("plates")
    value = taker.table.get("plates")
    if value is None:
        return ()
    if not isinstance(value, list | tuple) or not all(isinstance(each, list | tuple) for each in value):
        raise Refused(f"{where}.plates", got=value, reason="it is a list of plates, each a list of its hole circles",
                      way_out="write plates = [[15, 16, 17, 18, 19, 20], [21, 23, 27]]")  # fmt: skip
    return tuple(_whole_list(plate, f"{where}.plates", 2, 1000) for plate in value)


def _share(taker: Taker, where: str) -> Fraction:
    """Turns of the first gear to a turn of the spindle; 1 where nothing is said."""
    text = taker.text("spindle_to_first_gear", "1")
    try:
        value = Fraction(text.replace(":", "/"))
    except (ValueError, ZeroDivisionError):
        value = Fraction(0)
    if value <= 0:
        raise Refused(f"{where}.spindle_to_first_gear", got=text, reason="it is a share above 0",
                      way_out='write "1:2" where the first gear turns at half the speed of the spindle')  # fmt: skip
    return value


def _power(taker: Taker, where: str) -> float | None:
    text = taker.text("motor")
    return read_power(text, f"{where}.motor") if text else None


def read_power(text: str, thing: str = "motor") -> float:
    """Power in watts: ``370 W``, ``0.37 kW``, ``1/2 hp`` (550 ft lbf/s).

    Source: definition of the horsepower. Range: above 0. Anchor: 1 hp: 745.6999 W.

    >>> round(read_power("1/2 hp"), 1), read_power("0.37 kW")
    (372.8, 370.0)
    """
    found = re.fullmatch(r"\s*([0-9]+(?:\.[0-9]+)?|[0-9]+/[1-9][0-9]*)\s*([a-zA-Z]+)\s*", text)
    watts = 0.0 if found is None else float(Fraction(found[1])) * _POWER.get(found[2].lower(), 0.0)
    if watts <= 0:
        raise Refused(thing, got=text, reason="it is no power", way_out='write "370 W", "0.37 kW" or "1/2 hp"')
    return watts
