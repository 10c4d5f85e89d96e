"""The quick sums as a builder types them: examples, tables, working, JSON by its keys, what is refused and how."""

from __future__ import annotations

import json
import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.cli.app import run

NAMES = (
    "fit",
    "hole",
    "shaft",
    "thread",
    "tap",
    "drill",
    "gauge",
    "stock",
    "material",
    "speed",
    "press",
    "bond",
    "pin",
    "length",
)
PRESS = ("press", "--shaft", "12", "--hub", "30", "--length", "15", "--tight", "0.012")


@pytest.fixture
def reckon(capsys):
    def call(*words, code=0):
        assert run(["reckon", *words]) == code
        said = capsys.readouterr()
        if code == 2 and "--json" not in words:
            return said.err
        return json.loads(said.out) if "--json" in words else said.out

    return call


def plain(value):
    """Whether data holds nothing but plain finite values."""
    if isinstance(value, dict):
        return all(isinstance(k, str) and plain(v) for k, v in value.items())
    if isinstance(value, list):
        return all(plain(v) for v in value)
    return value is None or isinstance(value, (str, int, bool)) or (isinstance(value, float) and math.isfinite(value))


@pytest.mark.parametrize("name", NAMES)
def test_each_shows_an_example_when_nothing_is_given(reckon, name):
    said = reckon(name)
    assert said.startswith(f"for example: asmade reckon {name} ")
    assert "source: " in said
    data = reckon(name, "--json")
    assert data["example"].startswith(f"asmade reckon {name} ")
    assert plain(data)
    assert data["sources"]
    assert data["read_as"]
    assert data["working"]


@pytest.mark.parametrize("name", NAMES)
def test_working_is_written_out_and_help_stands(reckon, name):
    assert "Working" in reckon(name, "--working")
    assert "--working" in reckon(name, "--help")


def test_the_group_alone_lists_all(reckon):
    said = reckon()
    assert all(f"  {name} " in said for name in NAMES)


def test_a_fit_need_not_stand_in_quotes(reckon):
    assert reckon("fit", "25", "H7/g6", "--json") == reckon("fit", "25 H7/g6", "--json")


def test_a_letter_alone_is_a_drill_where_a_drill_is_asked_for(reckon):
    """Letter F is 0.257 in (ASME B94.11M)."""
    assert reckon("drill", "F", "--json")["inch"] == 0.257
    assert reckon("tap", "5/16-18 UNC", "--drill", "F", "--json")["drill"] == "letter F"


def test_a_minus_in_front_is_a_size_and_no_option(reckon):
    assert reckon("length", "-5", "1/4", "in", "--json")["mm"] == -133.35
    assert reckon("length", "--json", "--", "-0.5")["mm"] == -0.5


def test_tight_fits_and_joints_bring_their_cautions(reckon):
    assert "! " in reckon("fit", "25 H7/p6")
    assert "eye protection" in reckon(*PRESS)
    assert "skin" in reckon("bond")


REFUSED = {
    # unknown class; grade; size out of range; two holes
    ("fit", "25 Q7/g6"): ("fundamental deviation", "'Q'", "H7"),
    ("fit", "25 H19/g6"): ("tolerance grade", "IT19", "IT18"),
    ("fit", "800 H7/g6"): ("nominal size", "800", "500"),
    ("fit", "0 H7/g6"): ("nominal size", "0", "over 0"),
    ("fit", "25 H7/H6"): ("fit", "H7/H6", "two holes"),
    ("fit", "nan H7/g6"): ("fit", "nan", "25 H7/g6"),
    ("fit", "25 tightish"): ("fit", "tightish", "words known"),
    ("fit", "--hole", "15.9"): ("fit", "15.9", "--shaft"),
    ("fit", "25 H7/g6", "--hot", "120 C"): ("fit", "120 C", "--hole"),
    ("fit", "--hole", "8.03", "--shaft", "8", "--hot", "120 C"): ("fit", "material", "--hole-material"),
    ("hole", "25 g6"): ("hole", "25 g6", "asmade reckon shaft"),
    ("shaft", "25 H7"): ("shaft", "25 H7", "asmade reckon hole"),
    ("shaft", "--to-suit", "15.90"): ("shaft", "nothing", "--want"),
    ("hole", "25 H7", "--want", "running"): ("hole", "running", "--to-suit"),
    # threads and drills
    ("thread", "26 BA"): ("thread", "26 BA", "0 to 25"),
    ("thread", "M6", "--limits", "6k"): ("tolerance class", "6k", "6g"),
    ("thread", "M6", "--wire", "3"): ("wire", "3 mm", "best"),
    ("thread", "M6", "--over", "6.2"): ("wires", "6.2", "--wire"),
    ("tap", "M6", "--drill", "6.5"): ("tapping drill", "6.5 mm", "leaves no thread"),
    ("tap", "M6", "--percent", "120"): ("share of full thread", "120 %", "40 to 100 %"),
    ("tap", "M6", "--have", "2", "--have", "3"): ("drills", "none", "buy"),
    ("drill", "No. 98"): ("drill", "No. 98", "No. 97"),
    ("drill", "-3"): ("drill", "-3", "negative"),
    ("drill", "30"): ("drill diameter", "30 mm", "25"),
    ("drill", "2.5", "--series", "roman"): ("drill series", "roman", "metric"),
    ("gauge", "99 SWG"): ("gauge", "99 SWG", "50 SWG"),
    ("gauge", "0"): ("thickness", "0 mm", "above 0"),
    ("length", "1/3"): ("length", "1/3", "in"),
    ("length", "50", "--temperature", "30 C"): ("reading", "--material", "material"),
    ("stock", "12", "--shape", "star bar"): ("shape of stock", "star bar", "round bar"),
    ("stock", "12", "--system", "roman"): ("system", "roman", "metric"),
    ("material", "unobtainium"): ("material", "unobtainium", "known:"),
    ("material", "EN1A", "--condition", "soggy"): ("condition", "soggy", "+C"),
    ("speed", "0"): ("diameter", "0 mm", "above 0"),
    ("speed", "20", "--operation", "knitting"): ("operation", "knitting", "turning"),
    # joints: hub thinner than the shaft, no length, clearance, negative pressure, nan, huge
    ("press", "--shaft", "12", "--hub", "11", "--length", "14", "--tight", "0.01"): ("hub", "11 mm", "above"),
    ("press", "--shaft", "12", "--hub", "30", "--length", "0", "--tight", "0.01"): ("length", "0 mm", "above 0"),
    ("press", "--shaft", "12", "--hub", "30", "--tight", "0.01"): ("joint length", "missing", "--help"),
    ("press", "--shaft", "12", "--hub", "30", "--length", "14"): ("tightness", "nothing", "--tight"),
    ("press", "--shaft", "12", "--hub", "30", "--length", "14", "--hole", "12.1"): ("interference", "-0.1", "bond"),
    ("press", "--shaft", "12", "--hub", "30", "--length", "14", "--want", "running"): ("fit", "clear", "H7/p6"),
    ("press", "--shaft", "12", "--hub", "30", "--length", "14", "--tight", "-0.01"): ("tight", "-0.01", "negative"),
    ("press", "--shaft", "12", "--hub", "30", "--length", "14", "--pressure", "-5 MPa"): ("pressure", "-5", "negative"),
    ("press", "--shaft", "12", "--hub", "30", "--length", "14", "--pressure", "nan"): ("pressure", "nan", "MPa"),
    (*PRESS, "--pressure", "5 MPa"): ("tightness", "tight and pressure", "--tight"),
    (*PRESS, "--friction", "1.5"): ("friction", "1.5", "above 0 up to 1"),
    (*PRESS, "--friction", "0.2 to 0.1"): ("friction", "0.2 to 0.1", "exchange"),
    (*PRESS, "--turning", "-5 N m"): ("turning", "-5 N m", "negative"),
    (*PRESS, "--along", "5 psi"): ("along", "5 psi", "N"),
    (*PRESS, "--hub-modulus", "110"): ("modulus", "110 MPa", "GPa"),
    (*PRESS, "--hub-rz", "4"): ("roughness", "4", "both"),
    (*PRESS, "--hub-material", "cheese"): ("material", "cheese", "known"),
    (*PRESS, "--hub-material", "acetal"): ("usual friction", "plastic", "yourself"),
    ("bond", "--hole", "15.8", "--shaft", "15.9", "--length", "14"): ("gap", "-0.1", "press"),
    ("bond", "--hole", "15.9", "--shaft", "15.86", "--length", "14", "--strength", "nan"): ("strength", "nan", "MPa"),
    ("bond", "--hole", "15.9", "--shaft", "15.86", "--length", "14", "--strength", "900 MPa"): (
        "strength",
        "900",
        "60",
    ),
    ("bond", "--hole", "15.9", "--shaft", "15.86", "--length", "14", "--strength", "-5 MPa"): ("strength", "negative"),
    ("bond", "--hole", "15.9", "--shaft", "15.86", "--length", "14", "--gap", "0.1"): ("gap", "0.1", "0.03 to 0.10"),
    ("bond", "--hole", "15.9", "--shaft", "15.86", "--length", "14", "--at", "-20 C"): ("workshop", "-20", "warm"),
    ("bond", "--hole", "15.9", "--shaft", "15.86", "--length", "14", "--safety", "0.5"): ("safety", "0.5", "1 to 20"),
    ("bond", "--hole", "15.9", "--shaft", "15.86", "--length", "14", "--surface", "muddy"): ("muddy",),
    ("pin", "--shaft", "12"): ("pin", "missing", "--shaft"),
    ("pin", "6", "--shaft", "12"): ("shaft", "12", "thinner"),
    ("pin", "3", "--length", "10"): ("shaft", "--shaft"),
    ("pin", "3", "--shaft", "12", "--safety", "0.5"): ("safety", "0.5", "2"),
    ("pin", "3", "--shaft", "12", "--material", "grey cast iron"): ("pin material", "proof", "--shear"),
    ("pin", "--grub", "M12"): ("grub screw", "12", "10 mm"),
    ("length", "9" * 30): ("length", "9999", "digits"),
    ("press", "--shaft", "99999", "--hub", "30", "--length", "14", "--tight", "0.01"): ("shaft", "10 m"),
    ("knit",): ("no quick sum", "knit"),
    ("threat",): ("did you mean thread",),
}


@pytest.mark.parametrize("words", list(REFUSED), ids=" ".join)
def test_bad_input_names_thing_value_limit_and_way_out(reckon, words):
    said = reckon(*words, code=2)
    assert "Traceback" not in said
    for part in REFUSED[words]:
        assert part in said, said


@pytest.mark.parametrize("words", list(REFUSED), ids=" ".join)
def test_bad_input_in_json(reckon, words):
    error = reckon(*words, "--json", code=2)["error"]
    assert error["code"]
    assert error["message"]


words_of_junk = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(NAMES), st.lists(words_of_junk, max_size=3))
def test_junk_is_answered_or_refused_never_a_crash(name, junk):
    assert run(["reckon", name, *junk, "--json"]) in (0, 2)


def test_a_fit_by_hand(reckon):
    """52 H7/g6 of ISO 286-1 as its example of a designation; limits +30/0 and -10/-29 by ISO 286-2."""
    found = reckon("fit", "52 H7/g6", "--json")
    assert (found["hole"]["upper_um"], found["hole"]["lower_um"]) == (30, 0)
    assert (found["shaft"]["upper_um"], found["shaft"]["lower_um"]) == (-10, -29)
    assert (found["clearance_max_um"], found["clearance_min_um"]) == (59, 10)
    assert found["hole"]["greatest_mm"] == pytest.approx(52.030)
    assert found["hole"]["upper_mm"] == pytest.approx(0.030)


def test_a_shaft_made_to_suit_what_was_measured(reckon):
    """Hole 12.004, clearance 0.02 to 0.04: shaft 11.964 to 11.984 (by hand)."""
    found = reckon("shaft", "--to-suit", "12.004", "--clearance", "0.02 to 0.04", "--json")
    assert (found["least_mm"], found["greatest_mm"]) == (pytest.approx(11.964), pytest.approx(11.984))


def test_a_hole_made_to_suit_a_shaft_that_varies(reckon):
    """Shaft 11.975 to 11.980, clearance 0.02 to 0.04: hole 12.000 to 12.015 (by hand)."""
    found = reckon("hole", "--to-suit", "11.975 to 11.980", "--clearance", "0.02 to 0.04", "--json")
    assert (found["least_mm"], found["greatest_mm"]) == (pytest.approx(12.0), pytest.approx(12.015))


def test_classes_for_a_clearance_and_of_a_measured_hole(reckon):
    """25 H7/g6 has 7 to 41 um; a hole of 25.003 to 25.018 lies in H7 and not in H6 (ISO 286-2: +21/0, +13/0)."""
    assert reckon("fit", "25", "--clearance", "0.007 to 0.041", "--json")["classes"][0]["fit"] == "H7/g6"
    taken = [c["class"] for c in reckon("hole", "25", "--made", "25.003 to 25.018", "--json")["classes"]]
    assert taken[0] == "H7"
    assert "H6" not in taken


def test_words_of_the_trade(reckon):
    """Normal running, 1 inch: 2.5 thou by the older handbook, within least and most."""
    found = reckon("fit", "1 in running", "--json")
    assert found["clearance_min_mm"] < 2.5 * 0.0254 < found["clearance_max_mm"]
    assert "running" in reckon("fit", "--hole", "25.46", "--shaft", "25.40", "--json")["words"]


def test_a_bronze_bush_on_a_steel_pin_hot(reckon):
    """Each grows by its own expansion from 20 C (ISO 1): worked out here from the figures of the two materials."""
    grows = {name: reckon("material", name, "--json")["expansion_per_k"] for name in ("gunmetal", "silver steel")}
    words = ("fit", "--hole", "8.030", "--shaft", "8.000", "--hot", "120 C", "--json")
    found = reckon(*words, "--hole-material", "gunmetal", "--shaft-material", "silver steel")
    expected = 8.030 * (1 + 100 * grows["gunmetal"]) - 8.000 * (1 + 100 * grows["silver steel"])
    assert found["clearance_hot_mm"] == pytest.approx(expected)
    assert found["clearance_mm"] == pytest.approx(0.030)


def test_limits_of_a_thread_and_over_wires(reckon):
    """M6 6g: major 5.794 to 5.974, effective 5.212 to 5.324 (ISO 965-2); over best wires E + 3 w - 0.86603 p (H28)."""
    found = reckon("thread", "M6", "--limits", "6g", "--json")
    assert found["limits"]["major_least_mm"] == pytest.approx(5.794, abs=5e-4)
    assert found["limits"]["effective_greatest_mm"] == pytest.approx(5.324, abs=5e-4)
    wire = found["wires"]["best_wire_mm"]
    assert wire == pytest.approx(0.57735, abs=1e-5)
    assert found["wires"]["over_wires_mm"] == pytest.approx(5.3505 + 3 * wire - 0.86603, abs=2e-4)
    over = f"{found['wires']['over_wires_with_lead_mm']:.6f}"
    back = reckon("thread", "M6", "--wire", f"{wire:.6f}", "--over", over, "--json")
    assert back["wires"]["effective_measured_mm"] == pytest.approx(found["effective_mm"], abs=1e-5)


def test_substitutes_keep_to_what_the_shop_has(reckon):
    found = reckon("thread", "7/32 x 40", "--instead", "M", "--have", "M5", "--have", "M6 x 0.75", "--json")
    assert {s["thread"] for s in found["instead"]} == {"M5", "M6 x 0.75"}
    areas = {s["thread"]: s["strength_ratio"] for s in found["instead"]}
    assert areas["M5"] < 1 < areas["M6 x 0.75"]


def test_a_reading_corrected_to_20_degrees(reckon):
    """Bronze 18.3e-6 per K, read 50.010 at 30 C with steel at 20 C: 50.010/(1 + 183e-6) (ISO 1; linear expansion)."""
    found = reckon("length", "50.010", "--temperature", "86 F", "--material", "gunmetal", "--json")
    assert found["at_20_mm"] == pytest.approx(50.010 / (1 + found["expansion_per_k"] * 10), abs=1e-7)
    assert found["part_c"] == pytest.approx(30)


def test_mass_corners_and_delivery_of_a_bar(reckon):
    """Hexagon 10 mm: 11.547 over corners; 20 mm round of 7850 kg/m3: 2.466 kg a metre (geometry); 8 mm h9: 0/-36."""
    assert reckon("stock", "10", "--shape", "hexagon", "--json")["across_corners_mm"] == pytest.approx(11.547, abs=1e-3)
    bar = reckon("stock", "20", "--material", "EN3B", "--json")
    assert bar["mass_per_metre_kg"] == pytest.approx(2.466, abs=1e-3)
    assert reckon("stock", "8", "--json")["delivered"]["lower_um"] == -36


def test_spindle_speed(reckon):
    """n = 1000 V/(pi D) (Machinery's Handbook)."""
    found = reckon("speed", "25", "--material", "EN1A", "--json")
    assert found["low_rpm"] == pytest.approx(1000 * found["low_m_min"] / (math.pi * 25))


def test_chances_of_a_press_joint_are_seeded(reckon):
    words = (*PRESS, "--hole-spread", "0.006", "--shaft-spread", "0.008", "--turning", "5 N m", "--json")
    first, second = reckon(*words), reckon(*words)
    assert first == second
    assert first["chance_no_tightness"] == pytest.approx(0.1151, abs=0.01)  # normal distribution, 0.012/0.010 = 1.2


def test_a_press_fit_by_class_spans_least_to_most(reckon):
    """12 H7/p6: tight by 0 to 29 um (ISO 286-2: +18/0, +29/+18)."""
    found = reckon("press", "--shaft", "12", "--hub", "30", "--length", "15", "--want", "H7/p6", "--json")
    assert found["tight_mm"] == pytest.approx(0.029)
    assert found["tight_least_mm"] == pytest.approx(0.0)
    assert found["torque_nm"] == 0
    assert found["pressure_mpa"] > found["pressure_least_mpa"]


def test_the_tightness_for_a_wanted_pressure(reckon):
    """Steel in steel, d 20, D 40: 78.75 MPa needs 0.020 mm (Lame, by hand)."""
    metals = ("--hub-material", "EN3B", "--shaft-material", "EN3B", "--hub-modulus", "210 GPa", "--hub-poisson", "0.3")
    metals += ("--shaft-modulus", "210 GPa", "--shaft-poisson", "0.3")
    words = ("press", "--shaft", "20", "--hub", "40", "--length", "20", "--pressure", "78.75 MPa", *metals, "--json")
    found = reckon(*words)
    assert found["tight_mm"] == pytest.approx(0.020)
    assert found["pressure_mpa"] == pytest.approx(78.75)


def test_pins_by_hand(reckon):
    """Shigley: pin 3 in shaft 12 at 100 MPa 8.48 N m; 1413.7 N in double shear; key 3 x 3 x 10, crushing 13.5 N m."""
    pin = reckon("pin", "3", "--shaft", "12", "--shear", "100 MPa", "--safety", "1", "--json")
    assert pin["torque_nm"] == pytest.approx(8.48, abs=5e-3)
    assert pin["force_double_n"] == pytest.approx(1413.7, abs=0.1)
    words = ("--shear", "100 MPa", "--crushing", "150 MPa", "--safety", "1", "--json")
    key = reckon("pin", "3", "--shaft", "12", "--length", "10", "--height", "3", *words)
    assert key["torque_nm"] == pytest.approx(13.5)
    along = reckon("pin", "3", "--shaft", "16", "--length", "10", *words)
    assert along["torque_nm"] == pytest.approx(18)


@settings(max_examples=40, deadline=None)
@given(st.floats(1.5, 100), st.sampled_from(["g6", "f7", "h6", "k6", "p6", "s6"]))
def test_hole_basis_and_shaft_basis_give_one_clearance(size, shaft):
    """H7/f7 and F7/h7 have one range of clearance where no delta is added (ISO 286-1, general rule)."""
    from asmade.verbs.sums.fit import fit

    text = f"{size:.3f}"
    one = fit(f"{text} H8/{shaft}").data
    assert one["clearance_max_um"] - one["clearance_min_um"] == pytest.approx(
        one["hole"]["tolerance_um"] + one["shaft"]["tolerance_um"]
    )
    if shaft in ("g6", "f7", "h6"):
        letter, grade = shaft[0], shaft[1]
        turned = fit(f"{text} {letter.upper()}8/h{grade}").data
        assert turned["clearance_min_um"] == pytest.approx(one["clearance_min_um"])
        assert turned["clearance_max_um"] == pytest.approx(one["clearance_max_um"])


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(["2 BA", "M6", "1/4 BSF", "7/32 x 40", "1/4-20 UNC"]), st.integers(45, 90))
def test_the_tapping_hole_grows_as_the_share_falls(thread, percent):
    from asmade.verbs.sums.thread import tap

    deep, shallow = (tap(thread, percent=str(p)).data["hole_mm"] for p in (percent + 5, percent))
    assert deep < shallow


@settings(max_examples=40, deadline=None)
@given(st.floats(3, 60), st.floats(1.3, 4), st.floats(0.5, 30), st.floats(0.0002, 0.001), st.floats(1.1, 3))
def test_what_a_joint_holds_goes_with_its_length(d, ratio, length, share, times):
    """Force and torque of a pressed joint are proportional to its length; stress does not care."""
    from asmade.verbs.sums.press import Asked, press

    def held(of_length):
        asked = Asked(shaft=f"{d:.4f}", hub=f"{d * ratio:.4f}", length=f"{of_length:.5f}", tight=f"{d * share:.6f}")
        return press(asked).data

    one, more = held(length), held(length * times)
    assert more["torque_nm"] / one["torque_nm"] == pytest.approx(times, rel=1e-4)
    assert more["force_n"] / one["force_n"] == pytest.approx(times, rel=1e-4)
    assert more["hoop_hub_mpa"] == pytest.approx(one["hoop_hub_mpa"])


def test_a_quick_sum_loads_no_arrays():
    """Fits, drills and threads answer without numpy, scipy or the book: that is what makes them quick."""
    code = (
        "import sys; from asmade.cli.app import run; "
        "codes = [run(['reckon', *w, '--json']) for w in (['fit'], ['thread'], ['tap'], ['drill'], ['press'], ['bond'], ['pin'])]; "
        "heavy = {'numpy', 'scipy', 'pandas', 'asmade.book', 'asmade.reckon.system'} & set(sys.modules); "
        "print(codes, sorted(heavy), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stderr.strip() == "[0, 0, 0, 0, 0, 0, 0] []"
