"""What the forms of the shop ask for, and how a form becomes a table of the book and back. No sums here."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from asmade.book.tables import MEASURES
from asmade.measure.errors import AsmadeError, Refused
from asmade.work.machines import DIALS, KINDS, READS

Writes = Literal["text", "number", "numbers", "wholes", "plates", "several", "pick"]


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its path in the table (``cuts.bias``, ``range.0``), its label, a hint, and what it writes."""

    path: str
    label: str
    hint: str = ""
    writes: Writes = "text"
    of: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """One group of the shop: what one of it is called, its fields, and those that are asked for under a heading."""

    name: str
    one: str
    title: str
    words: str
    fields: tuple[Field, ...]
    more: tuple[tuple[str, tuple[Field, ...]], ...] = ()

    @property
    def every(self) -> tuple[Field, ...]:
        """All fields, those under headings last."""
        return (*self.fields, *(f for _, fields in self.more for f in fields))


F = Field
NOTE: Final = F("note", "Note")


def _dial(name: str) -> tuple[str, tuple[Field, ...]]:
    words = f"axis {name}" if len(name) == 1 else name.replace("_", " ")
    return f"Dial of the {words}", (
        F(f"{name}.reads", "It reads", "", "pick", ("", *READS)),
        F(f"{name}.per_turn", "One turn, as marked", "4 mm; 0.125 in"),
        F(f"{name}.division", "One division, as marked", "0.05 mm; 0.001 in"),
        F(f"{name}.travel", "The slide goes", "380 mm"),
    )


GROUPS: Final = {
    group.name: group
    for group in (
        Group(
            "machine",
            "machine",
            "Machines",
            "Speeds, dials, screw and gears: what the sums of the bench and the job sheets read.",
            (
                F("kind", "Kind", "", "pick", KINDS, needed=True),
                F("speeds", "Speeds, revolutions a minute", "60 110 190 340 600 950 1500", "numbers"),
                F("speeds_between.0", "... or stepless, the slowest", "50", "number"),
                F("speeds_between.1", "and the fastest", "2500", "number"),
                F("motor", "Motor", "370 W; 1/2 hp"),
                F("efficiency", "Of it reaches the cut, a share", "0.7", "number"),
                NOTE,
            ),
            (
                (
                    "Room and holding",
                    (
                        F("centre_height", "Centre height", "90 mm; 3 1/2 in"),
                        F("between_centres", "Between centres", "400 mm"),
                        F("spindle_bore", "Bore of the spindle", "20 mm"),
                    ),
                ),
                (
                    "Screw and change gears",
                    (
                        F("leadscrew", "Leadscrew", "8 tpi; 3 mm"),
                        F("spindle_to_first_gear", "Turns of the first gear to one of the spindle", "1:2"),
                        F(
                            "change_gears",
                            "Change gears, each as often as it is there",
                            "2x20 25 30 35 40 45 50 127",
                            "wholes",
                        ),
                    ),
                ),
                (
                    "Dividing head or rotary table",
                    (
                        F("ratio", "Turns of the crank to one of the work", "40", "number"),
                        F(
                            "plates",
                            "Hole circles of each plate, plates parted by /",
                            "15 16 17 18 / 21 23 27",
                            "plates",
                        ),
                    ),
                ),
                *(_dial(name) for name in DIALS),
            ),
        ),
        Group(
            "instrument",
            "instrument",
            "Instruments",
            "What measures, over what range, and how well. How well: of its maker's sheet, or by your own repeats.",
            (
                F("unit", "A bare reading is in", "", "pick", ("mm", "inch", "deg"), needed=True),
                F("measures", "It measures", "", "several", MEASURES),
                F("range.0", "From", "0 mm"),
                F("range.1", "to", "25 mm"),
                F("reads_to", "One reading, standard uncertainty, mm (degrees)", "0.002", "number", needed=True),
                F("zero", "Its zero, standard uncertainty, mm (degrees)", "0.002", "number"),
                F("zero_known", "It is known to read over by, mm", "0.000", "number"),
                NOTE,
            ),
        ),
        Group(
            "tool",
            "tool",
            "Tools",
            "Drills, reamers, taps, dies and cutters. A size of the book can be chosen by a tool that is here.",
            (
                F(
                    "kind",
                    "Kind",
                    "machine reamer",
                    known=(
                        "twist drill",
                        "machine reamer",
                        "hand reamer",
                        "adjustable reamer",
                        "taper pin reamer",
                        "tap",
                        "die",
                        "end mill",
                        "slot drill",
                        "slitting saw",
                        "boring bar",
                        "form tool",
                        "knurling tool",
                    ),
                    needed=True,
                ),
                F("size", "Size, or a set of them", "6 mm; No. 40; M4; 1 to 10 by 0.1"),
                F("adjusts_to.0", "Adjusts from", "15.4 mm"),
                F("adjusts_to.1", "to", "16.5 mm"),
                NOTE,
            ),
            (
                (
                    "What it cuts, if you know",
                    (
                        F("cuts.bias", "Over its size by, mm", "0.01", "number"),
                        F("cuts.from", "Known from", "three trial holes"),
                    ),
                ),
            ),
        ),
        Group(
            "adhesive",
            "adhesive",
            "Adhesives",
            "By the data sheet of your product, typed in. Ask whether the sheet's gap is radial or on diameter.",
            (
                F("gap_is", "The sheet's gap is", "", "pick", ("on diameter", "radial"), needed=True),
                F("gap.0", "Least gap", "0.03 mm", needed=True),
                F("gap.1", "Greatest gap", "0.10 mm", needed=True),
                F("strength", "Shear strength by the sheet", "20 MPa"),
                F("handling_hours", "Until it may be handled, hours", "1", "number"),
                F("full_cure_hours", "To full strength, hours", "24", "number"),
                F("reference_c", "These times are at, °C", "22", "number"),
                F("undo_c", "Comes apart when heated to, °C", "250", "number"),
                NOTE,
            ),
        ),
        Group(
            "stock",
            "line",
            "Rack",
            "What bar, sheet and casting is there. The choice of sizes and the cutting list take it first.",
            (
                F(
                    "form",
                    "Form",
                    "round bar",
                    known=(
                        "round bar",
                        "ground bar",
                        "flat",
                        "square bar",
                        "hexagon bar",
                        "sheet",
                        "tube",
                        "angle",
                        "casting",
                    ),
                    needed=True,
                ),
                F("material", "Material", "bright mild steel"),
                F("size", "Size", "18 mm; 5/8 in; 20 x 6 mm", needed=True),
                F("length", "Length of each", "500 mm"),
                F("count", "How many", "1", "number"),
                F("bar", "All from one bar, called", "bar A"),
                NOTE,
            ),
        ),
    )
}
_WHOLE: Final = {"count", "ratio"}


def written(group: Group, table: Mapping[str, Any]) -> dict[str, str]:
    """What stands in the fields for a table of the book."""
    found = {field.path: _text(field, _at(table, field.path)) for field in group.every}
    if group.name == "adhesive":
        radial = "gap_radial" in table
        gap = table.get("gap_radial" if radial else "gap_on_diameter", ("", ""))
        found |= {"gap_is": "radial" if radial else "on diameter", "gap.0": str(gap[0]), "gap.1": str(gap[1])}
    return found


def _at(table: Any, path: str) -> Any:
    for key in path.split("."):
        if isinstance(table, Mapping):
            table = table.get(key)
        elif isinstance(table, list | tuple) and key.isdecimal() and int(key) < len(table):
            table = table[int(key)]
        else:
            return None
    return table


def _text(field: Field, value: Any) -> str:
    if value is None:
        return ""
    if field.writes == "plates":
        return " / ".join(" ".join(map(str, plate)) for plate in value)
    if isinstance(value, list | tuple):
        return " ".join(f"{each:g}" if isinstance(each, float) else str(each) for each in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def table_of(
    group: Group, form: Mapping[str, str], several: Mapping[str, list[str]], held: Mapping[str, Any]
) -> dict[str, Any]:
    """The table that a form says; what ``held`` has besides the form's fields stays. Raises `AtField`."""
    made: dict[str, Any] = {k: v for k, v in held.items() if k not in _keys(group)}
    for field in group.every:
        try:
            value = _value(field, form.get(field.path, ""), several.get(field.path, []))
        except Refused as fault:
            raise AtField(field.path, fault) from fault
        if value is None or value == []:
            if field.needed:
                missing = Refused(
                    field.label, got="", reason="it is not said", way_out=f"write {field.hint}" if field.hint else ""
                )
                raise AtField(field.path, missing)
            continue
        _put(made, field.path, value)
    for key, value in made.items():
        if isinstance(value, dict) and set(value) <= {"0", "1"}:
            made[key] = [value.get("0", ""), value.get("1", "")]
    if group.name == "adhesive":
        radial = made.pop("gap_is") == "radial"
        made["gap_radial" if radial else "gap_on_diameter"] = made.pop("gap")
    return made


class AtField(Exception):
    """A refusal, and the field it belongs to."""

    def __init__(self, path: str, fault: AsmadeError) -> None:
        """Keep both."""
        self.path = path
        self.fault = fault
        super().__init__(fault.message)


def field_of(group: Group, fault: AsmadeError) -> str:
    """The field that a refusal of the book speaks of: by the key at the end of its name, or what it could not read."""
    thing = str(getattr(fault, "thing", ""))
    ends = thing.split(".")
    paths = {field.path for field in group.every}
    for path in (".".join(ends[-2:]), ends[-1], f"{ends[-1]}.0", f"{ends[-1]}.per_turn"):
        if path in paths:
            return path
    got = str(getattr(fault, "got", ""))
    return next((f.path for f in group.every if got and f"'{f.path.partition('.')[0]}'" in got), "name")


def _keys(group: Group) -> frozenset[str]:
    own = {field.path.partition(".")[0] for field in group.every}
    return frozenset(own | ({"gap_on_diameter", "gap_radial"} if group.name == "adhesive" else set()))


def _put(table: dict[str, Any], path: str, value: Any) -> None:
    *outer, last = path.split(".")
    for key in outer:
        table = table.setdefault(key, {})
    table[last] = value


def _value(field: Field, text: str, several: list[str]) -> Any:
    text = text.strip()
    match field.writes:
        case "several":
            return [each for each in several if each]
        case "number":
            return _number(field, text) if text else None
        case "numbers" | "wholes":
            return [_number(field, each) for each in _parts(text)] or None
        case "plates":
            return [
                [_number(field, each) for each in _parts(plate)] for plate in text.split("/") if plate.strip()
            ] or None
        case _:
            return text or None


def _example(field: Field) -> str:
    return f"write {field.hint}" if field.hint else ""


def _parts(text: str) -> Iterator[str]:
    """Numbers parted by blanks or commas; ``2x20`` is 20 twice."""
    for each in re.split(r"[\s,;]+", text):
        twice = re.fullmatch(r"(\d{1,2})x(\d+)", each)
        if twice:
            yield from [twice[2]] * int(twice[1])
        elif each:
            yield each


def _number(field: Field, text: str) -> float | int:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise Refused(
            field.label, got=text, reason="it is no number", way_out=f"write {field.hint}" if field.hint else ""
        )
    whole = field.writes in ("wholes", "plates") or field.path in _WHOLE
    return int(value) if whole or value == int(value) else value
