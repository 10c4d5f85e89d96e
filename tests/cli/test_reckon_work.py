"""The quick sums of the bench as a builder types them: examples, figures by hand, a book's machines, refusals."""

from __future__ import annotations

import json
import math
import subprocess
import sys

import pytest

from asmade.cli.app import run
from asmade.verbs.demo import demo

NAMES = ("speed", "feed", "power", "deflect", "square", "index", "circle", "gears", "taper", "packing")


@pytest.fixture
def reckon(capsys):
    def call(*words, code=0):
        assert run(["reckon", *words]) == code
        said = capsys.readouterr()
        if code == 2 and "--json" not in words:
            return said.err
        return json.loads(said.out) if "--json" in words else said.out

    return call


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    demo(folder)
    (path,) = folder.glob("*.asmade")
    return str(path)


def plain(value):
    if isinstance(value, dict):
        return all(isinstance(k, str) and plain(v) for k, v in value.items())
    if isinstance(value, list):
        return all(plain(v) for v in value)
    return value is None or isinstance(value, (str, int, bool)) or (isinstance(value, float) and math.isfinite(value))


@pytest.mark.parametrize("name", NAMES)
def test_each_shows_an_example_its_working_and_plain_data(reckon, name):
    said = reckon(name, "--working")
    assert said.startswith(f"for example: asmade reckon {name} ")
    assert "Working" in said
    assert "source: " in said
    data = reckon(name, "--json")
    assert plain(data)
    for key in ("read_as", "working", "sources", "cautions"):
        assert data[key], key
    assert "--working" in reckon(name, "--help")


def test_the_step_of_a_machine(reckon, book):
    """20 mm mild steel, 33 m/min: 525 rev/min; nearest below of the demo's lathe: 340 (by hand)."""
    typed = reckon("speed", "20", "--speeds", "60 110 190 340 600", "--json")["machine"]
    assert (typed["rev_min"], typed["too_fast"]) == (340, False)
    assert reckon("speed", "20", "--book", book, "--json")["machine"]["rev_min"] == 340
    assert reckon("speed", "300", "--speeds", "60", "--json")["machine"]["too_fast"]


def test_the_cautions_of_the_operation_and_the_metal_are_shown(reckon):
    said = " ".join(reckon("speed", "6", "--operation", "drilling", "--material", "CZ121", "--json")["cautions"])
    assert "screws itself in" in said
    assert "lead" in said
    steel = " ".join(reckon("speed", "6", "--operation", "drilling", "--material", "EN3B", "--json")["cautions"])
    assert "screws itself in" not in steel


def test_feed_along_the_work(reckon):
    found = reckon("feed", "6", "--operation", "milling", "--rpm", "1000", "--teeth", "4", "--json")
    assert found["high_mm_min"] == pytest.approx(found["high_mm"] * 4 * 1000)


def test_power_against_a_motor(reckon):
    found = reckon("power", "20", "--depth", "1", "--motor", "370 W", "--efficiency", "0.5", "--json")
    assert found["at_tool_w"] == pytest.approx(185)
    assert found["share"] == pytest.approx(found["power_w"] / 185)
    assert found["deepest_mm"] == pytest.approx(1 / found["share"], rel=1e-6)
    assert reckon("power", "8", "--operation", "drilling", "--json")["torque_nm"] > 0
    assert reckon("power", "10", "--operation", "milling", "--json")["power_w"] > 0


def test_deflection_by_hand(reckon):
    """F L^3/3EI of 100 N, 50 mm, 10 mm round, E 210,000 MPa, twice on diameter."""
    found = reckon("deflect", "10", "--length", "50", "--force", "100 N", "--json")
    inertia = math.pi * 10**4 / 64
    assert found["worst_mm"] == pytest.approx(2 * 100 * 50**3 / (3 * 210_000 * inertia), rel=1e-6)
    assert found["too_slender"]


def test_hexagon_from_bar(reckon):
    assert reckon("square", "8", "--sides", "6", "--json")["bar_mm"] == pytest.approx(8 * 2 / math.sqrt(3))
    assert not reckon("square", "8", "--bar", "10", "--json")["sharp"]


def test_indexing(reckon):
    """40:1, 7 on 21: 5 turns, 15 spaces (crank turns = 40/N); 11.5 degrees on 18: 1 and 5 (Machinery's Handbook)."""
    plain_moves = reckon("index", "7", "--plates", "21", "--json")["plain"]
    assert plain_moves == [{"circle": 21, "turns": 5, "spaces": 15}]
    angle = reckon("index", "--angle", "11.5", "--plates", "18", "--json")
    assert angle["plain"] == [{"circle": 18, "turns": 1, "spaces": 5}]
    gears = "2x24 28 32 40 44 48 56 64 72 86 100"
    diff = reckon("index", "57", "--plates", "15 18 20", "--gears", gears, "--json")["differential"][0]
    assert (diff["approximate"], diff["ratio"], diff["drivers"], diff["driven"]) == (60, "2", [48], [24])
    assert reckon("index", "6", "--direct", "24", "--json")["direct_spaces"] == 4


def test_what_is_not_exact_says_so(reckon):
    said = reckon("index", "53", "--plates", "15 16 17 18 19 20", "--diameter", "60")
    assert "NOT exact" in said
    assert "along the rim" in said
    found = reckon("index", "53", "--json")
    assert found["exact"] is False
    assert found["nearest"]["worst_deg"] > 0
    assert len(found["nearest"]["spaces"]) == 53
    assert "NOT exact" in reckon("index", "--angle", "0d 24m")
    assert "NOT exact" in reckon("gears", "1 mm", "--leadscrew", "8 tpi", "--owned", "30 63 75 80", "--all")


def test_hole_circle_with_dials(reckon, book):
    found = reckon("circle", "6", "--diameter", "100", "--in-order", "--json")
    assert (found["holes"][1]["x_mm"], found["holes"][1]["y_mm"]) == pytest.approx((25, 43.30127))
    assert found["chord_mm"] == pytest.approx(50)
    with_dials = reckon("circle", "4", "--diameter", "20", "--centre", "30 mm, 30 mm", "--book", book, "--json")
    assert with_dials["holes"][0]["x_dial"]
    assert "first" in reckon("circle", "4", "--diameter", "20", "--dial", "2 mm / 0.02 mm")


def test_gears_of_the_book_and_of_a_thread(reckon, book):
    """3 mm screw: 20/40 x ... 1.5 mm is 1:2 (by hand); M6 has a pitch of 1 mm (ISO 261)."""
    exact = reckon("gears", "1.5 mm", "--book", book, "--json")["exact"]
    assert exact[0]["error_mm"] == 0
    assert exact[0]["drivers"][0] * 2 == exact[0]["driven"][0]
    assert reckon("gears", "M6", "--book", book, "--json")["pitch_mm"] == 1
    assert reckon("gears", "40 tpi", "--book", book, "--json")["pitch_mm"] == pytest.approx(0.635)
    near = reckon(
        "gears", "1 mm", "--leadscrew", "8 tpi", "--owned", "30 63 75 80", "--all", "--length", "20", "--json"
    )
    assert near["exact"] == []
    assert near["nearest"][0]["error_mm"] == pytest.approx(20 * 0.000125, rel=1e-3)


def test_taper_and_fine_cuts(reckon):
    found = reckon("taper", "--one-in", "20", "--between", "150", "--rollers", "100", "--json")
    assert found["half_angle_deg"] == pytest.approx(1.4321, abs=5e-5)
    assert found["tailstock_mm"] == pytest.approx(150 * math.sin(math.atan(1 / 40)))
    assert found["sine_packing_whole_mm"] == pytest.approx(100 * math.sin(2 * math.atan(1 / 40)))
    assert reckon("taper", "--fine", "0.2", "--json")["angle_deg"] == pytest.approx(11.537, abs=5e-4)


def test_packing_both_ways(reckon):
    found = reckon("packing", "3", "--diameter", "25", "--json")
    assert found["packing_flat_jaws_mm"] == pytest.approx(4.5)
    assert found["packing_narrow_jaws_mm"] == pytest.approx(4.2270, abs=5e-5)
    assert reckon("packing", "--diameter", "25", "--thickness", "4.227", "--json")["offset_mm"] == pytest.approx(
        3, abs=1e-4
    )


REFUSED = {
    ("speed", "0"): ("diameter", "above 0"),
    ("speed", "20", "--operation", "knitting"): ("operation", "turning"),
    ("speed", "20", "--speeds", "fast"): ("speeds of the machine", "60 110"),
    ("speed", "20", "--machine", "lathe"): ("machine", "--book"),
    ("feed", "6", "--operation", "sawing"): ("operation with a feed", "drilling"),
    ("power", "20", "--motor", "370"): ("motor", "370 W"),
    ("power", "20", "--operation", "sawing"): ("operation with a force", "turning"),
    ("power", "20", "--depth", "15"): ("depth of cut", "past the middle"),
    ("power", "20", "--material", "PTFE"): ("specific cutting force", "plastics"),
    ("deflect", "10", "--length", "50", "--held", "magnet"): ("holding", "chuck only"),
    ("deflect", "10"): ("length", ""),
    ("square", "8", "--sides", "5"): ("number of flats", "even number"),
    ("square", "8", "--bar", "7"): ("across flats", "larger bar"),
    ("index", "0"): ("divisions", "1 to"),
    ("index", "7", "--angle", "10"): ("what to index", "not both"),
    ("index", "7", "--plates", "x"): ("hole circles", "whole number"),
    ("circle", "6", "--diameter", "40", "--dial", "2 mm"): ("dial", "0.02"),
    ("circle", "6", "--diameter", "40", "--centre", "3"): ("middle of the circle", "x and y"),
    ("gears", "0.75 mm"): ("change gears", "--leadscrew"),
    ("gears", "banana", "--leadscrew", "3 mm", "--owned", "20 40"): ("pitch", "40 tpi"),
    ("taper", "--large", "20"): ("taper", "--small"),
    ("taper", "--large", "20", "--angle", "3"): ("taper", "one of the four"),
    ("packing", "8", "--diameter", "25"): ("offset", "four-jaw"),
}


@pytest.mark.parametrize("words", list(REFUSED), ids=" ".join)
def test_bad_input_is_named_with_the_way_out_and_ends_with_2(reckon, words):
    said = reckon(*words, code=2)
    assert "Traceback" not in said
    for part in REFUSED[words]:
        assert part in said
    assert reckon(*words, "--json", code=2)["error"]["message"]


def test_a_quick_sum_loads_no_numerics_library():
    """numpy alone costs as much as all the rest of the answer."""
    for name in NAMES:
        code = (
            "import sys; from asmade.cli.app import run; "
            f"run(['reckon', '{name}', '--json']); "
            "sys.exit(len({'numpy', 'scipy', 'highspy', 'shapely'} & set(sys.modules)))"
        )
        assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0, name
