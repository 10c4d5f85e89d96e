"""The shop: every kind of entry is added, changed, taken out; what is refused is said beside its field."""

from __future__ import annotations

import re
from html import unescape

import pytest

from asmade.show.shop_pictures import BarToDraw, bar_picture, dots_picture, letters_of
from asmade.show.strokes import Circle, Polyline, lay_out
from asmade.verbs import shop, store
from asmade.verbs.history import history
from asmade.web.shop_fields import GROUPS, table_of, written
from asmade.work.machines import machines

LATHE = {"name": "small lathe", "kind": "lathe", "speeds": "100 200, 400", "motor": "1/2 hp", "leadscrew": "8 tpi",
         "change_gears": "2x20 25 63", "cross_slide.reads": "radius", "cross_slide.per_turn": "0.1 in",
         "cross_slide.division": "0.001 in", "plates": "15 16 / 21"}  # fmt: skip


def words(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text.replace("<wbr>", ""))).split())


def shop_of(at):
    return store.read_build(at.book).shop


def test_a_machine_is_entered_as_the_sums_of_the_bench_read_it(at_own_demo):
    at, before = at_own_demo, len(history(at_own_demo.book))
    assert "Saved: small lathe" in words(at.submit("/shop/machine/entry", **LATHE))
    found = machines(shop_of(at))["small lathe"]
    assert found.speeds == (100.0, 200.0, 400.0)
    assert found.change_gears == (20, 20, 25, 63)
    assert found.plates == ((15, 16), (21,))
    assert float(found.leadscrew_mm) == 3.175  # 25.4 / 8
    assert found.dial("cross_slide").divisions == 100
    assert len(history(at.book)) == before + 1
    changed = at.submit("/shop/machine/entry", **LATHE | {"was": "small lathe", "name": "lathe 2", "leadscrew": "", "cross_slide.reads": "",
                                                          "cross_slide.per_turn": "", "cross_slide.division": ""})  # fmt: skip
    assert changed.url.path == "/shop"
    assert "small lathe" not in shop_of(at).machines
    assert "leadscrew" not in shop_of(at).machines["lathe 2"]
    assert "Taken out" in words(at.submit("/shop/machine/remove", was="lathe 2"))
    assert {"lathe", "mill"} <= set(shop_of(at).machines)
    assert "lathe 2" not in shop_of(at).machines


@pytest.mark.parametrize("group", [g for g in GROUPS if g != "stock"])
def test_every_entry_of_the_demo_goes_through_its_form_unchanged(at_own_demo, group):
    at = at_own_demo
    tables = shop.shop(at.book).tables[group]
    for name, table in tables.items():
        form = written(GROUPS[group], table)
        several = {f.path: form[f.path].split() for f in GROUPS[group].every if f.writes == "several"}
        made = table_of(GROUPS[group], form, several, table)
        for key in table:
            assert made[key] == table[key], (name, key)
        assert at.get(f"/shop/{group}/entry", params={"name": name}).status_code == 200


def test_a_tool_of_a_difficult_name_an_instrument_an_adhesive(at_own_demo):
    at = at_own_demo
    at.submit("/shop/tool/entry", was="adjustable reamer 15.4-16.5", name="reamer 15.4-16.6", kind="adjustable reamer",
              **{"adjusts_to.0": "15.4 mm", "adjusts_to.1": "16.6 mm", "cuts.bias": "0.01"})  # fmt: skip
    tool = shop_of(at).tools["reamer 15.4-16.6"]
    assert (tool.adjusts_to, tool.bias_mm) == (("15.4 mm", "16.6 mm"), 0.01)
    assert "adjustable reamer 15.4-16.5" not in shop_of(at).tools
    at.submit("/shop/instrument/entry", name="inch micrometer", unit="inch", measures=["outside", "length"],
              reads_to="0.003", **{"range.0": "0 in", "range.1": "1 in"})  # fmt: skip
    instrument = shop_of(at).instruments["inch micrometer"]
    assert instrument.measures == ("outside", "length")
    assert instrument.range_mm == (0.0, 25.4)
    at.submit("/shop/adhesive/entry", name="product", gap_is="radial", full_cure_hours="24", strength="20 MPa",
              **{"gap.0": "0.02 mm", "gap.1": "0.05 mm"})  # fmt: skip
    found = shop_of(at).adhesives["product"]
    assert (found.gap_least_mm, found.gap_most_mm) == (0.04, 0.1)  # radial is doubled
    assert found.fields["full_cure_hours"] == 24
    at.submit("/shop/adhesive/entry", was="product", name="product", gap_is="on diameter",
              **{"gap.0": "0.02 mm", "gap.1": "0.05 mm"})  # fmt: skip
    assert shop_of(at).adhesives["product"].gap_most_mm == 0.05


def test_a_line_of_the_rack(at_own_demo):
    at = at_own_demo
    count = len(shop_of(at).stock)
    at.submit("/shop/stock/entry", form="round bar", size="5/8 in", material="brass", length="300 mm", count="2")
    line = shop_of(at).stock[-1]
    assert (line.size, line.length_mm, line.count) == ("5/8 in", 300.0, 2)
    mark = shop.mark_of(shop.shop(at.book).tables["stock"][-1])
    at.submit("/shop/stock/entry", was=mark, form="round bar", size="5/8 in", material="brass", length="120 mm")
    assert (len(shop_of(at).stock), shop_of(at).stock[-1].length_mm) == (count + 1, 120.0)
    stale = at.submit("/shop/stock/entry", was=mark, form="round bar", size="1 in")
    assert stale.status_code == 422
    assert at.submit("/shop/stock/remove", was=mark).status_code == 422
    at.submit("/shop/stock/remove", was=shop.mark_of(shop.shop(at.book).tables["stock"][-1]))
    assert len(shop_of(at).stock) == count


@pytest.mark.parametrize(
    ("group", "sent", "field"),
    [
        ("machine", LATHE | {"name": ""}, "name"), ("machine", LATHE | {"name": "lathe"}, "name"),
        ("machine", LATHE | {"speeds": "fast"}, "speeds"), ("machine", LATHE | {"motor": "strong"}, "motor"),
        ("machine", LATHE | {"leadscrew": "x"}, "leadscrew"), ("machine", LATHE | {"change_gears": "3"}, "change_gears"),
        ("machine", LATHE | {"cross_slide.division": "0.003 in"}, "cross_slide.per_turn"), ("machine", LATHE | {"kind": "anvil"}, "kind"),
        ("machine", LATHE | {"efficiency": "7"}, "efficiency"), ("machine", LATHE | {"name": "a\x07b"}, "name"),
        ("tool", {"name": "t", "kind": ""}, "kind"), ("tool", {"name": "t", "kind": "twist drill", "size": "big"}, "size"),
        ("tool", {"name": "t", "kind": "reamer", "cuts.bias": "nan"}, "cuts.bias"),
        ("instrument", {"name": "i", "unit": "mm"}, "reads_to"), ("instrument", {"name": "i", "unit": "mm", "reads_to": "-1"}, "reads_to"),
        ("instrument", {"name": "i", "unit": "ell", "reads_to": "0.01"}, "unit"),
        ("instrument", {"name": "i", "unit": "mm", "reads_to": "0.01", "range.0": "low", "range.1": "1 mm"}, "range.0"),
        ("adhesive", {"name": "a", "gap_is": "radial", "gap.0": "0.02 mm"}, "gap.1"),
        ("stock", {"form": "round bar"}, "size"), ("stock", {"form": "round bar", "size": "6 mm", "length": "long"}, "length"),
        ("stock", {"form": "round bar", "size": "6 mm", "count": "0"}, "count"),
    ],
)  # fmt: skip
def test_what_is_refused_is_said_beside_its_field(at_own_demo, group, sent, field):
    at, before = at_own_demo, len(history(at_own_demo.book))
    answer = at.submit(f"/shop/{group}/entry", **sent)
    assert answer.status_code == 422
    assert f'id="r-{field}"' in answer.text
    assert len(history(at.book)) == before


def test_habits(at_own_demo):
    at = at_own_demo
    at.submit("/shop/habits", buys=["metric", "inch"], **{"step.turned": "0.05 mm", "step.milled": ""})
    found = shop_of(at)
    assert found.buys == ("metric", "inch")
    assert found.rounding_mm == {"turned": 0.05}
    assert 'id="r-step"' in at.submit("/shop/habits", buys="metric", **{"step.turned": "0 mm"}).text
    assert 'id="r-buys"' in at.submit("/shop/habits", **{"step.turned": "0.1 mm"}).text


@pytest.mark.parametrize("path", ["/shop/anvils/entry", "/shop/tool/entry?name=none+such", "/shop/stock/entry?name=x"])
def test_an_entry_that_is_not_there(at_demo, path):
    assert at_demo.get(path).status_code == 404


def test_hostile_names_in_the_shop_are_escaped(at_own_demo):
    evil = "<script>alert(1)</script>\"'&"
    at_own_demo.submit("/shop/tool/entry", name=evil, kind=evil, note=evil)
    for path in ("/shop", "/shop/tool/entry?name=%3Cscript%3Ealert(1)%3C/script%3E%22%27%26"):
        answer = at_own_demo.get(path)
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text


@pytest.mark.parametrize("width", [320.0, 620.0])
@pytest.mark.parametrize("readings", [(0.02,), (0.02, 0.021, 0.0205), (-0.4, 0.0, 0.5), (0.0001, -0.0002)])
def test_dots_stand_where_the_readings_are(width, readings):
    strokes = dots_picture(readings, (-0.03, 0.05), width)
    dots = [s for s in strokes if isinstance(s, Circle)]
    assert [s.x for s in dots] == [1000.0 * r for r in readings]
    band = next(s for s in strokes if isinstance(s, Polyline))
    assert (band.points[0][0], band.points[1][0]) == (-30.0, 50.0)
    assert lay_out(strokes, width).clashes() == ()
    for k, one in enumerate(dots):  # none hides another
        assert all((one.x - two.x) ** 2 + (one.y - two.y) ** 2 >= (0.9 * one.radius) ** 2 for two in dots[:k])


@pytest.mark.parametrize("width", [320.0, 760.0])
def test_a_bar_is_drawn_to_scale(width):
    bar = BarToDraw(500.0, (("A", 100.0), ("A", 100.0), ("B", 250.0)), 2.0, kept=True)
    strokes = bar_picture(bar, 1000.0, width)
    boxes = [s for s in strokes if isinstance(s, Polyline)]
    assert [round(b.points[1][0] - b.points[0][0], 6) for b in boxes] == [
        100.0,
        100.0,
        250.0,
        44.0,
    ]  # 500 - 450 - 3 cuts
    assert lay_out(strokes, width).clashes() == ()
    assert letters_of([f"part {n}" for n in range(28)])["part 27"] == "B2"
