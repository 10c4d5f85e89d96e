"""Profiles read back with ezdxf: closed polylines, areas against shapely's buffer, hole sizes, layers, marks."""

from __future__ import annotations

import io
import math

import ezdxf
import pytest
import shapely

from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.shapes import Disc
from asmade.reckon.shapes import shape as shape_of
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import compute
from asmade.show.profile_dxf import LAYERS, profile_dxf
from asmade.verbs.demo import demo_text
from asmade.verbs.profile import profile_in

FINE_MM = 1e-4


@pytest.fixture(scope="module")
def engine(fold_text):
    build = fold_text(demo_text())
    return build, compute(build)


def of(engine, part, allowance=0.5, under=None):
    build, values = engine
    place = build.design.parts[part].places[0]
    return profile_in(build.design, values, (part, place), allowance_mm=allowance, holes_under_mm=under)


def read_back(result):
    drawing = ezdxf.read(io.StringIO(profile_dxf(result).decode()))
    assert not drawing.audit().errors
    return drawing


def polygons(drawing):
    found = []
    for line in drawing.modelspace().query('LWPOLYLINE[layer=="CUT"]'):
        assert line.closed
        points = []
        for piece in line.virtual_entities():
            if piece.dxftype() == "LINE":
                ends = [piece.dxf.start, piece.dxf.end]
            else:
                ends = list(piece.flattening(FINE_MM))
                if points and ends[-1].isclose(points[-1], abs_tol=1e-6):  # an arc is kept anticlockwise
                    ends.reverse()
            points += [end for end in ends if not (points and end.isclose(points[-1], abs_tol=1e-6))]
        points = [(p.x, p.y) for p in points]
        found.append(shapely.set_precision(shapely.Polygon(points), 1e-6))  # arcs that run out into straights: 1e-9 off
    return found


def outside(engine, part, out):
    """The finished outline moved out, as shapely has it: the buffers of the shape's own pieces run together."""
    from asmade.book.forms import form_of

    build, values = engine
    place = build.design.parts[part].places[0]
    shape = shape_of(form_of(build.design.parts[part]), seat_sizes(values, part, place))
    pieces = [
        shapely.Point(p.x, p.y).buffer(p.radius + out, quad_segs=500)
        if isinstance(p, Disc)
        else shapely.Polygon(p.ring).buffer(out, quad_segs=100)
        for p in shape.pieces
    ]
    return shapely.union_all(pieces)


@pytest.mark.parametrize("part", ["coupling_rod_front", "coupling_rod_rear", "connecting_rod", "combination_lever"])
@pytest.mark.parametrize("allowance", [0.0, 0.3, 1.0])
def test_a_rod_is_the_buffer_of_its_outline(engine, part, allowance):
    (cut,) = polygons(read_back(of(engine, part, allowance)))
    want = outside(engine, part, allowance)
    assert cut.geom_type == "Polygon"
    assert cut.area == pytest.approx(want.area, rel=2e-4)
    assert cut.symmetric_difference(want).area < 2e-4 * want.area


@pytest.mark.parametrize("part", ["brake_hanger", "expansion_link", "frame", "drop_arm", "cab_side"])
@pytest.mark.parametrize("allowance", [0.0, 0.2])
def test_a_plate_is_the_buffer_of_its_outline(engine, part, allowance):
    outline = polygons(read_back(of(engine, part, allowance)))[0]
    want = outside(engine, part, allowance)
    assert outline.geom_type == "Polygon"
    assert outline.symmetric_difference(want).area < 2e-4 * want.area


def test_openings_and_slots_are_cut_small(engine):
    """The slot of the expansion link: a band along an arc, narrower by twice the allowance."""
    build, values = engine
    sizes = seat_sizes(values, "expansion_link", "L")
    slot = polygons(read_back(of(engine, "expansion_link", 0.2)))[1]
    angle = 2 * math.asin(sizes["half_slot"] / sizes["slot_radius"])
    width = sizes["slot"] - 0.4
    band = angle * sizes["slot_radius"] * width + math.pi * width**2 / 4  # Pappus, and two round ends
    assert slot.area == pytest.approx(band, rel=1e-4)
    ports = polygons(read_back(of(engine, "port_face", 0.1)))[1:]
    face = seat_sizes(values, "port_face", "L")
    exhaust = (face["exhaust_port"] - 0.2) * (0.75 * 25.4 - 0.2)
    assert ports[0].area == pytest.approx(exhaust, rel=1e-3)
    assert build.design.parts["port_face"].form


def test_arcs_stay_arcs(engine):
    drawing = read_back(of(engine, "connecting_rod"))
    (line,) = drawing.modelspace().query('LWPOLYLINE[layer=="CUT"]')
    bulges = [b for *_, b in line.get_points("xyb")]
    assert len(bulges) < 12
    assert sum(abs(b) > 0 for b in bulges) >= 2


def test_holes_are_undersize_or_marked(engine):
    """A hole smaller than the sheet is thick is marked, with the reason; the rest as much smaller as a reamer wants."""
    result = of(engine, "connecting_rod")
    drawing = read_back(result)
    circles = {round(c.dxf.radius * 2, 4) for c in drawing.modelspace().query('CIRCLE[layer=="HOLES"]')}
    assert circles == {round(h.cut_mm, 4) for h in result.holes}
    big = next(h for h in result.holes if h.name.startswith("big"))
    assert big.finished_mm - big.cut_mm == pytest.approx(0.3)  # training notes: 0.2 to 0.3 mm from 5 to 20 mm
    (mark,) = [m for m in result.marks if m.name.startswith("little")]
    assert mark.finished_mm < result.thickness_mm
    assert "drill it" in mark.reason
    crosses = drawing.modelspace().query('LINE[layer=="MARK"]')
    assert len(crosses) == 2 * len(result.marks)
    assert {h.cut_mm for h in of(engine, "connecting_rod", under=1.0).holes} == {big.finished_mm - 1.0}


def test_units_version_layers_and_the_same_bytes(engine):
    result = of(engine, "coupling_rod_front")
    drawing = read_back(result)
    assert drawing.dxfversion == "AC1024"  # R2010
    assert drawing.header["$INSUNITS"] == 4  # millimetres
    assert set(LAYERS) <= {layer.dxf.name for layer in drawing.layers}
    assert {e.dxf.layer for e in drawing.modelspace()} <= set(LAYERS)
    assert profile_dxf(result) == profile_dxf(result)


def test_what_is_no_profile_is_refused(engine):
    with pytest.raises(Refused, match="only a rod or a plate"):
        of(engine, "axle")
    with pytest.raises(OutOfRange, match="allowance"):
        of(engine, "frame", allowance=-0.1)
    with pytest.raises(OutOfRange, match="half its width"):
        of(engine, "expansion_link", allowance=3.0)
