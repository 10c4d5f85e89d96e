"""Shapes: outline, envelope and mass against closed forms (mensuration) and against shapely's own areas."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from asmade.book.forms import form_of
from asmade.book.tables import read_design
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.reckon.shapes import Disc, Layer, Polygon, Shape, bounds, joined, rectangle, shape
from asmade.reckon.shapes.pieces import SAGITTA_MM, arc, joined_area
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import compute


def form(table, dims):
    entry = {"places": ["engine"], "form": table, "dim": {name: {"kind": kind} for name, kind in dims.items()}}
    return form_of(read_design({"book": {"drawing_unit": "mm"}, "part": {"thing": entry}}).parts["thing"])


BUSH = ({"kind": "turned", "sections": ["outside"]}, {"outside": "shaft", "bore": "bore", "length": "length"})
ROD = (
    {"kind": "rod"},
    {"centres": "centres", "eye": "bore", "boss_outside": "diameter", "boss_width": "thickness", "depth": "height",
     "thickness": "thickness", "flute_depth": "depth", "flute_height": "height"},
)  # fmt: skip
ROD_SIZES = {"centres": 100.0, "eye": 8.0, "boss_outside": 16.0, "boss_width": 6.0, "depth": 10.0, "thickness": 4.0,
             "flute_depth": 1.0, "flute_height": 5.0}  # fmt: skip


def test_bush_is_a_disc_across_the_engine():
    body = shape(form(*BUSH), {"outside": 12.0, "bore": 8.0, "length": 10.0})
    (layer,) = body.layers
    assert layer.pieces == (Disc(0.0, 0.0, 6.0),)
    assert (layer.low_mm, layer.high_mm) == (0.0, 10.0)
    assert body.volume_mm3 == pytest.approx(math.pi / 4 * (144 - 64) * 10)  # hollow cylinder, mensuration
    assert body.envelope.width_mm == 10.0


def test_mass_by_the_density_of_the_standards_table():
    from asmade.standards.materials import material

    body = shape(form(*BUSH), {"outside": 12.0, "bore": 8.0, "length": 10.0})
    held = material("phosphor bronze").value("density").value  # g/cm3
    assert body.mass_g("phosphor bronze") == pytest.approx(body.volume_mm3 / 1000 * held)
    with pytest.raises(Unknown, match="material"):
        body.mass_g("")


@pytest.mark.parametrize(
    ("name", "area"),
    [
        ("hexagon", math.sqrt(3) / 2 * 10.0**2),  # mensuration: hexagon across flats
        ("square", 100.0),
        ("two flats", 2 * (6 * 6 * math.asin(5 / 6) + 5 * math.sqrt(36 - 25))),  # circle 12 between chords 5 off
    ],
)
def test_flats(name, area):
    table = {
        "kind": "turned",
        "sections": [{"name": "head", "shape": name, "across_flats": "flats", "length": "thick", "diameter": "over"}],
    }
    if name != "two flats":
        del table["sections"][0]["diameter"]
    body = shape(
        form(table, {"flats": "across flats", "thick": "thickness", "over": "diameter"}),
        {"flats": 10.0, "thick": 3.0, "over": 12.0},
    )
    assert body.volume_mm3 == pytest.approx(area * 3)
    ((ring, holes),) = body.outline(1e-5)
    assert not holes
    assert shapely.area(shapely.polygons(ring)) == pytest.approx(area, rel=2e-4)


def test_turned_along_the_engine_is_seen_as_its_profile():
    table = {"kind": "turned", "axis": "along", "sections": ["a", "b"]}
    entry = {
        "places": ["engine"],
        "form": table,
        "dim": {n: {"diameter": {"kind": "shaft"}, "length": {"kind": "length"}} for n in "ab"},
    }
    rod = form_of(read_design({"book": {"drawing_unit": "mm"}, "part": {"rod": entry}}).parts["rod"])
    sizes = {"a.diameter": 6.0, "a.length": 20.0, "b.diameter": 8.0, "b.length": 50.0}
    body = shape(rod, sizes)
    assert bounds(body.pieces) == (0.0, -4.0, 70.0, 4.0)
    assert (body.envelope.length_mm, body.envelope.height_mm, body.envelope.width_mm) == (70.0, 8.0, 8.0)
    assert body.volume_mm3 == pytest.approx(math.pi / 4 * (36 * 20 + 64 * 50))


def test_rod_outline_and_volume():
    body = shape(form(*ROD), ROD_SIZES)
    assert bounds(body.pieces) == (-108.0, -8.0, 8.0, 8.0)
    discs = shapely.union(shapely.Point(0, 0).buffer(8, 2000), shapely.Point(-100, 0).buffer(8, 2000))
    bar = shapely.difference(shapely.box(-100, -5, 0, 5), discs)
    wanted = shapely.area(bar) * 4 + 2 * math.pi * (64 - 16) * 6 - 2 * 1.0 * 5.0 * 84
    assert body.volume_mm3 == pytest.approx(wanted, rel=1e-4)
    ((ring, _),) = body.outline()
    assert shapely.is_valid(shapely.polygons(ring))


def test_plate_upright_flat_and_across():
    dims = {
        "length": "length",
        "height": "height",
        "thickness": "thickness",
        "hole": "bore",
        "x": "position",
        "y": "position",
    }
    sizes = {"length": 60.0, "height": 30.0, "thickness": 3.0, "hole": 10.0, "x": 20.0, "y": 15.0}
    table = {"kind": "plate", "holes": [{"name": "hole", "x": "x", "y": "y"}]}
    upright = shape(form(table, dims), sizes)
    assert upright.volume_mm3 == pytest.approx((60 * 30 - math.pi * 25) * 3)
    assert len(upright.pieces[0].holes) == 1
    flat = shape(form({**table, "lies": "flat"}, dims), sizes)
    assert (flat.envelope.length_mm, flat.envelope.height_mm, flat.envelope.width_mm) == (60.0, 3.0, 30.0)
    across = shape(form({**table, "lies": "across"}, dims), sizes)
    assert (across.envelope.length_mm, across.envelope.height_mm, across.envelope.width_mm) == (3.0, 30.0, 60.0)
    with pytest.raises(Refused, match="edge"):
        shape(form(table, dims), {**sizes, "x": 58.0})


def test_plate_whose_corners_are_out_of_order_crosses_itself():
    table = {"kind": "plate", "outline": [["0", "0"], ["length", "height"], ["length", "0"], ["0", "height"]]}
    dims = {"length": "length", "height": "height", "thickness": "thickness"}
    with pytest.raises(Refused, match="crosses itself"):
        shape(form(table, dims), {"length": 60.0, "height": 30.0, "thickness": 3.0})


def test_block_and_bore():
    dims = {"long": "length", "high": "height", "wide": "width", "bore": "bore", "ahead": "position"}
    table = {
        "kind": "block",
        "length": "long",
        "height": "high",
        "width": "wide",
        "holes": [{"name": "bore", "x": "ahead", "y": "0"}],
    }
    body = shape(form(table, dims), {"long": 22.0, "high": 24.0, "wide": 15.0, "bore": 12.0, "ahead": 0.1})
    assert body.volume_mm3 == pytest.approx((22 * 24 - math.pi * 36) * 15)
    with pytest.raises(Refused, match="edge"):
        shape(form(table, dims), {"long": 22.0, "high": 24.0, "wide": 15.0, "bore": 12.0, "ahead": 9.0})


WHEEL = {
    "tread": 100.0, "tyre_width": 12.0, "flange": 108.0, "flange_thickness": 2.5, "rim": 6.0, "boss": 30.0, "boss_width": 14.0,
    "bore": 16.0, "crank_radius": 24.0, "pin_boss": 18.0, "pin_hole": 6.0, "spoke_width": 5.0, "spoke_thickness": 6.0,
}  # fmt: skip
WHEEL_KINDS = dict.fromkeys(WHEEL, "diameter") | {"bore": "bore", "crank_radius": "crank radius"}


def test_wheel_by_its_rings():
    body = shape(form({"kind": "wheel", "spokes": 12}, WHEEL_KINDS), WHEEL)
    assert body.envelope.length_mm == 108.0
    assert body.envelope.width_mm == 14.0
    bosses = shapely.union(shapely.Point(0, 0).buffer(15, 500), shapely.Point(24, 0).buffer(9, 500))
    spokes = [shapely.affinity.rotate(shapely.box(0, -2.5, 44, 2.5), 30 * n, origin=(0, 0)) for n in range(12)]
    wanted = math.pi * (54**2 - 50**2) * 2.5 + math.pi * (50**2 - 44**2) * 12
    wanted += (shapely.area(shapely.union_all([*spokes, bosses])) - shapely.area(bosses)) * 6 + shapely.area(
        bosses
    ) * 14
    wanted -= math.pi * 64 * 14 + math.pi * 9 * 14
    assert body.volume_mm3 == pytest.approx(wanted, rel=1e-4)
    with pytest.raises(OutOfRange, match="larger than the one before"):
        shape(form({"kind": "wheel", "spokes": 12}, WHEEL_KINDS), {**WHEEL, "bore": 40.0})
    with pytest.raises(OutOfRange, match="within the tread"):
        shape(form({"kind": "wheel", "spokes": 12}, WHEEL_KINDS), {**WHEEL, "crank_radius": 45.0})


def test_casting_is_what_it_is_finished_to():
    whole = shape(form({"kind": "casting", "of": {"kind": "wheel"}}, WHEEL_KINDS), WHEEL)
    assert whole.part == "thing"
    with pytest.raises(Refused, match="finished to"):
        shape(form({"kind": "casting"}, WHEEL_KINDS), WHEEL)


@pytest.mark.parametrize(
    ("change", "kind", "says"),
    [
        ({"centres": math.nan}, Refused, "not known"),
        ({"centres": 0.0}, OutOfRange, "more than 0"),
        ({"boss_outside": -3.0}, OutOfRange, "more than 0"),
        ({"eye": 20.0}, OutOfRange, "less than its outside"),
        ({"thickness": 2.0}, OutOfRange, "flutes"),
    ],
)
def test_bad_sizes_are_refused_by_name(change, kind, says):
    with pytest.raises(kind, match=says):
        shape(form(*ROD), {**ROD_SIZES, **change})


def test_a_dimension_that_is_lacking_is_named():
    dims = {k: v for k, v in ROD[1].items() if k != "depth"}
    with pytest.raises(Refused, match="depth of the bar"):
        shape(form({"kind": "rod"}, dims), ROD_SIZES)
    with pytest.raises(Unknown, match="centres"):
        shape(form(*ROD), {k: v for k, v in ROD_SIZES.items() if k != "centres"})


def test_hands():
    body = Shape("rod", (Layer("eye", (Disc(5.0, 1.0, 2.0), rectangle(0, 0, 9, 1)), 0.0, 3.0),), 1.0)
    assert body.for_side("L", hand="mirrored") is body
    assert body.for_side("R", hand="same") is body
    turned = body.for_side("L", hand="same")
    assert turned.pieces[0] == Disc(-5.0, 1.0, 2.0)
    assert bounds((turned.pieces[1],)) == (-9.0, 0.0, 0.0, 1.0)
    back = turned.for_side("L", hand="same")
    assert back.pieces[0] == body.pieces[0]
    with pytest.raises(Unknown, match="side"):
        body.for_side("left", hand="same")
    with pytest.raises(Unknown, match="hand"):
        body.for_side("L", hand="both")


@pytest.mark.parametrize(
    ("ring", "says"),
    [
        ([(0, 0), (1, 1)], "fewer than three"),
        ([(0, 0), (2, 2), (2, 0), (0, 2)], "crosses itself"),
        ([(0, 0), (1, 1), (2, 2)], "no area|crosses itself"),
        ([(0, 0), (math.nan, 1), (2, 2)], "not known"),
        ([(0, 0), (0, 0), (0, 0), (1, 0)], "fewer than three"),
    ],
)
def test_rings_that_are_no_outline(ring, says):
    with pytest.raises(Refused, match=says):
        Polygon(np.array(ring, dtype=float))


@pytest.mark.parametrize("radius", [0.0, -1.0, math.nan, math.inf])
def test_circles_that_are_none(radius):
    with pytest.raises((OutOfRange, Refused)):
        Disc(0.0, 0.0, radius)


def test_openings_within_and_apart():
    ring = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    hole = np.array([(2, 2), (4, 2), (4, 4), (2, 4)], dtype=float)
    assert Polygon(ring, (hole,)).area_mm2 == pytest.approx(96.0)
    with pytest.raises(Refused, match="edge"):
        Polygon(ring, (hole + 7,))
    with pytest.raises(Refused, match="one another"):
        Polygon(ring, (hole, hole + 1))


def test_a_ring_given_clockwise_is_turned_round():
    ring = np.array([(0, 0), (0, 1), (1, 1), (1, 0)], dtype=float)
    assert Polygon(ring).area_mm2 == 1.0
    assert Polygon(ring).convex


@given(st.floats(0.02, 300), st.floats(0.2, 2 * math.pi))
def test_an_arc_departs_by_the_sagitta_at_most(radius, turn):
    points = arc(1.0, 2.0, radius, 0.3, 0.3 + turn)
    middles = 0.5 * (points[1:] + points[:-1])
    off = np.hypot(*(np.concatenate([points, middles]) - (1.0, 2.0)).T) - radius
    allowed = max(SAGITTA_MM / 2, 0.15 * radius if radius <= 4 * SAGITTA_MM else 0.0)
    assert np.abs(off).max() <= allowed * 1.01


@given(st.floats(1, 50), st.floats(1, 50), st.floats(0, 80))
def test_joined_area_of_two_circles(one, two, apart):
    """Lens area by the textbook formula for two circles (mensuration)."""
    found = joined_area((Disc(0, 0, one), Disc(apart, 0, two)))
    if apart >= one + two:
        lens = 0.0
    elif apart <= abs(one - two):
        lens = math.pi * min(one, two) ** 2
    else:
        a = math.acos((apart**2 + one**2 - two**2) / (2 * apart * one))
        b = math.acos((apart**2 + two**2 - one**2) / (2 * apart * two))
        lens = one**2 * (a - math.sin(2 * a) / 2) + two**2 * (b - math.sin(2 * b) / 2)
    assert found == pytest.approx(math.pi * (one**2 + two**2) - lens, rel=1e-4)


def test_joined_gives_rings_that_shapely_takes():
    ((ring, holes),) = joined((Disc(0, 0, 5), rectangle(0, -1, 30, 1)))
    assert holes == ()
    assert shapely.area(shapely.polygons(ring)) == pytest.approx(
        math.pi * 25 + 2 * 30 - (math.sqrt(24) + 25 * math.asin(0.2)), rel=1e-3
    )


def test_sizes_of_a_seat_with_its_thread(fold_text):
    build = fold_text(
        """
    [book]
    drawing_unit = "inch"
    [part.pin]
    places = ["L"]
    form = { kind = "turned", sections = ["body"], ends = { right = ["cap"] } }
    [part.pin.dim]
    body.diameter = { kind = "shaft", drawn = "1/4" }
    body.length = { kind = "length", drawn = "1" }
    cap.callout = { kind = "thread", drawn = "5 BA", sex = "female" }
    cap.depth = { kind = "depth", drawn = "1/4" }
        """
    )
    sizes = seat_sizes(compute(build), "pin", "L")
    assert sizes["body.diameter"] == pytest.approx(6.35)
    assert sizes["cap.callout"] == pytest.approx(2.49, abs=0.01)  # 5 BA: 3.2 mm less 2 x 0.354 (BS 93)
    body = shape(form_of(build.design.parts["pin"]), sizes)
    assert body.volume_mm3 == pytest.approx(math.pi / 4 * (6.35**2 * 25.4 - sizes["cap.callout"] ** 2 * 6.35))
    with pytest.raises(Unknown):
        seat_sizes(compute(build), "pin", "R")
