"""Forms: from a part's form table and its dimension names to a typed form; wrong tables refused by name."""

from __future__ import annotations

import pytest

from asmade.book.forms import form_of, forms
from asmade.book.forms.casting import Casting
from asmade.book.forms.rod import Rod
from asmade.book.forms.turned import Turned
from asmade.book.forms.wheel import Wheel
from asmade.book.tables import read_design
from asmade.measure.errors import AsmadeError, Refused, Unknown


def part(form, dims):
    table = {"places": ["engine"], "form": form, "dim": {name: {"kind": kind} for name, kind in dims.items()}}
    return read_design({"book": {"drawing_unit": "mm"}, "part": {"thing": table}}).parts["thing"]


PIN = {
    "seat.diameter": "shaft",
    "seat.length": "length",
    "journal.diameter": "shaft",
    "journal.length": "length",
    "cap_thread.callout": "thread",
    "cap_thread.depth": "depth",
}


def pin(**more):
    nested: dict = {}
    for name, kind in PIN.items():
        head, _, last = name.partition(".")
        nested.setdefault(head, {})[last] = {"kind": kind}
    form = {"kind": "turned", "sections": ["seat", "journal"], "ends": {"right": ["cap_thread"]}, **more}
    table = {"places": ["1L"], "form": form, "dim": nested}
    return read_design({"book": {"drawing_unit": "mm"}, "part": {"pin": table}}).parts["pin"]


def test_every_form_is_found_by_name_and_says_what_it_is():
    assert {"turned", "rod", "plate", "block", "casting", "wheel"} <= set(forms())
    for module in forms().values():
        assert module.HELP


def test_a_part_without_a_form_has_none():
    assert form_of(part({}, {"bore": "bore"})) is None


def test_crank_pin_of_the_text_form():
    form = form_of(pin(datum="shoulder between seat and journal"))
    assert isinstance(form, Turned)
    assert [(s.name, s.diameter.dimension, s.length.dimension) for s in form.sections] == [
        ("seat", "seat.diameter", "seat.length"),
        ("journal", "journal.diameter", "journal.length"),
    ]
    (hole,) = form.end_holes
    assert (hole.end, hole.thread, hole.depth.dimension) == ("right", "cap_thread.callout", "cap_thread.depth")
    assert form.lacks == ()
    assert form.axis == "across"


def test_a_bush_of_one_section_needs_no_long_names():
    form = form_of(
        part({"kind": "turned", "sections": ["outside"]}, {"outside": "shaft", "bore": "bore", "length": "length"})
    )
    assert form.sections[0].diameter.dimension == "outside"
    assert form.sections[0].length.dimension == "length"
    assert form.end_holes[0].diameter.dimension == "bore"
    assert form.end_holes[0].depth is None
    assert not form.lacks


def test_hexagon_undercut_and_cross_hole():
    dims = {"flats": "across flats", "thick": "thickness", "groove": "length", "core": "diameter", "hole": "bore", "at": "length", "stem": "shaft", "long": "length"}  # fmt: skip
    form = form_of(
        part(
            {
                "kind": "turned",
                "axis": "along",
                "sections": [
                    {"name": "head", "shape": "hexagon", "across_flats": "flats", "length": "thick"},
                    {
                        "name": "stem",
                        "length": "long",
                        "undercut": "left",
                        "undercut_width": "groove",
                        "undercut_diameter": "core",
                    },
                ],
                "cross": [{"name": "hole", "from_left": "at"}],
            },
            dims,
        )
    )
    assert form.sections[0].across_flats.dimension == "flats"
    assert form.sections[1].undercut.at == "left"
    assert form.cross_holes[0].from_left.dimension == "at"
    assert not form.lacks


def test_rods_plain_knuckled_and_tongued():
    common = {"centres": "centres", "eye": "bore", "boss_outside": "diameter", "boss_width": "thickness", "depth": "height", "thickness": "thickness"}  # fmt: skip
    plain = form_of(part({"kind": "rod"}, common))
    assert isinstance(plain, Rod)
    assert [eye.name for eye in plain.eyes] == ["fore", "aft"]
    assert plain.eyes[1].behind.dimension == "centres"
    assert not plain.lacks
    rear = form_of(part({"kind": "rod"}, {**common, "knuckle_ahead": "centres", "knuckle_hole": "bore"}))
    assert [(eye.name, eye.behind and eye.behind.dimension) for eye in rear.eyes] == [
        ("knuckle", None),
        ("fore", "knuckle_ahead"),
        ("aft", "centres"),
    ]
    front = form_of(part({"kind": "rod"}, {**common, "tongue_hole": "bore"}))
    assert front.eyes[1].bore.dimension == "tongue_hole"


def test_what_is_lacking_is_named_and_is_no_error():
    form = form_of(part({"kind": "rod"}, {"centres": "centres", "eye": "bore"}))
    assert "fore.outside" in form.lacks
    assert "thickness" in form.lacks


def test_wheel_and_casting():
    dims = {"tread": "diameter", "bore": "bore", "crank_radius": "crank radius", "allow": "thickness"}
    wheel = form_of(part({"kind": "wheel", "spokes": 10}, dims))
    assert isinstance(wheel, Wheel)
    assert wheel.spokes == 10
    assert {"pin_hole", "rim", "spoke_width"} <= set(wheel.lacks)
    form = form_of(
        part({"kind": "casting", "of": {"kind": "wheel", "spokes": 10}, "machined": {"back": "allow"}}, dims)
    )
    assert isinstance(form, Casting)
    assert isinstance(form.of, Wheel)
    assert form.machined[0].allowance.dimension == "allow"
    assert form_of(part({"kind": "casting"}, dims)).lacks


def test_a_measure_may_be_a_sum():
    form = form_of(
        part(
            {"kind": "block", "length": "0.5 * whole + 2 mm", "height": "whole", "width": "whole"}, {"whole": "length"}
        )
    )
    assert form.length.dimension is None
    assert form.length.value({"whole": 10.0}.__getitem__) == 7.0
    assert form.length.dims == ("whole",)


@pytest.mark.parametrize(
    ("form", "kind", "says"),
    [
        ({"sections": ["a"]}, Refused, "kind"),
        ({"kind": "turnt"}, Unknown, "turned"),
        ({"kind": "turned", "section": ["a"]}, Unknown, "sections"),
        ({"kind": "turned", "axis": "sideways"}, Unknown, "across, along, up"),
        ({"kind": "turned", "sections": "a"}, Refused, "list"),
        ({"kind": "turned", "sections": ["a", "a"]}, Refused, "twice"),
        ({"kind": "turned", "sections": [{"name": "a", "diameter": "outsid"}]}, Unknown, "outside"),
        ({"kind": "turned", "sections": [{"name": "a", "diameter": "outside +"}]}, Refused, "outside"),
        ({"kind": "turned", "ends": {"top": ["a"]}}, Unknown, "top"),
        ({"kind": "rod", "eyes": ["one"]}, Refused, "two eyes"),
        ({"kind": "rod", "eyes": [{"name": "a", "behind": "outside"}, "b"]}, Refused, "foremost"),
        ({"kind": "plate", "outline": [["0", "0"], ["outside", "0"]]}, Refused, "three corners"),
        ({"kind": "plate", "outline": [["0", "0"], ["outside", "0"], ["0"]]}, Refused, "x then y"),
        ({"kind": "plate", "holes": ["a"]}, Refused, "list of tables"),
        ({"kind": "wheel", "spokes": 2}, Refused, "3 or more"),
        ({"kind": "wheel", "spokes": 7.5}, Refused, "whole"),
        ({"kind": "casting", "of": {"kind": "casting"}}, Refused, "casting of a casting"),
        ({"kind": "casting", "machined": {"back": 2}}, Refused, "in quotes"),
    ],
)
def test_wrong_tables_are_refused_by_name(form, kind, says):
    with pytest.raises(kind) as refusal:
        form_of(part(form, {"outside": "shaft", "length": "length"}))
    assert isinstance(refusal.value, AsmadeError)
    assert says in str(refusal.value)
