"""Lengths as shops write them. Expected values by hand: 1 in = 25.4 mm exactly (international inch, 1959)."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest

from asmade.measure.errors import Refused, Unknown
from asmade.measure.lengths import Length, read_length

INCH = Fraction("25.4")


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("1 3/16", "inch", "30.1625"),
        ("1-3/16", "inch", "30.1625"),
        ('1 3/16"', "mm", "30.1625"),
        ("1 3/16''", "mm", "30.1625"),
        ("3/8 in", "mm", "9.525"),
        ("3/8IN", "mm", "9.525"),
        ("3/8 in.", "mm", "9.525"),
        ("3/8 inches", "mm", "9.525"),
        (".375", "inch", "9.525"),
        ('0.030"', "mm", "0.762"),
        ("30 thou", "mm", "0.762"),
        ("30thou", "inch", "0.762"),
        ("1/2 thou", "inch", "0.0127"),
        ("12.5", "mm", "12.5"),
        ("12.5", "inch", "317.5"),
        ("12.5mm", "inch", "12.5"),
        ("12,5 mm", "inch", "12.5"),
        ("0,375", "mm", "0.375"),
        ("1234,567", "mm", "1234.567"),
        ("0", "inch", "0"),
        ("10000 mm", "mm", "10000"),
        ("No. 40", "mm", "2.4892"),
        ("no 40", "mm", "2.4892"),
        ("#40", "inch", "2.4892"),
        ("#40 drill", "inch", "2.4892"),
        ("№ 40", "inch", "2.4892"),
        ("drill F", "mm", "6.5278"),
        ("letter f", "mm", "6.5278"),
        ("16 SWG", "mm", "1.6256"),
        ("16 s.w.g.", "mm", "1.6256"),
        ("No. 16 SWG", "mm", "1.6256"),
        ("1/4 + 1/64", "inch", "6.746875"),
        ("1/4+1/64", "inch", "6.746875"),
        ("3/8 - 1/64", "inch", "9.128125"),
        ("1/4 in + 0.5 mm", "inch", "6.85"),
        ("2 in - 30 thou + 1 mm", "mm", "51.038"),
        ("1/2 + 1/4 - 1/8 + 1/16", "inch", "17.4625"),
        ("3/8 mm", "inch", "0.375"),
    ],
)
def test_exact_value(text, unit, mm):
    assert read_length(text, unit=unit).mm == Fraction(mm)


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("1½", "1 1/2"),
        ("1 ½", "1 1/2"),
        ("½", "1/2"),
        ("⅜”", '3/8"'),
        ("1³⁄₁₆", "1 3/16"),
        ("1 3⁄16", "1 3/16"),
        ("1⅟64", "1 1/64"),
        ("１２．５", "12.5"),
        ("1\u00a03/16\u2009in", "1 3/16 in"),
        ("\ufeff1 3/16", "1 3/16"),
        ("1–3/16", "1-3/16"),
        ("0.030″", '0.030"'),
        ("12.5 ± 0.02", "12.5 +/-0.02"),
    ],
)
def test_signs_of_other_keyboards_and_papers(text, same):
    assert read_length(text, unit="inch") == read_length(same, unit="inch")


@pytest.mark.parametrize("text", ["½5", "½¼", "1²", "१२", "1\u200b2", "12.5\u00ad", "5³/₁₆4", "½/4", "12\x005", "1½/2"])
def test_such_signs_never_run_together_into_another_number(text):
    with pytest.raises(Refused):
        read_length(text, unit="inch")


@pytest.mark.parametrize(
    ("text", "unit", "mm", "upper", "lower"),
    [
        ("12.5 +0.02 -0.01", "mm", "12.5", "0.02", "-0.01"),
        ("12.5 mm +0.02 -0.01", "inch", "12.5", "0.02", "-0.01"),
        ("12.5 mm +0.02 mm -0.01 mm", "inch", "12.5", "0.02", "-0.01"),
        ("12.5 + 0.02/- 0.01", "mm", "12.5", "0.02", "-0.01"),
        ("12.5 +/-0.02", "mm", "12.5", "0.02", "-0.02"),
        ("12.5 +-0.02", "mm", "12.5", "0.02", "-0.02"),
        ("12.5 ± 0,02", "mm", "12.5", "0.02", "-0.02"),
        ("12.5 +0.02 0", "mm", "12.5", "0.02", "0"),
        ("12.5 0 -0.02", "mm", "12.5", "0", "-0.02"),
        ("12.5 +0 -0.02", "mm", "12.5", "0", "-0.02"),
        ("12.5 0/-0.02", "mm", "12.5", "0", "-0.02"),
        ("12 +0.05/+0.02", "mm", "12", "0.05", "0.02"),
        ("12 -0.016/-0.043", "mm", "12", "-0.016", "-0.043"),
        ("1 +0.001 -0", "inch", "25.4", "0.0254", "0"),
        ("3/8 +1/64 -0", "inch", "9.525", "0.396875", "0"),
        ("1 +/-2 thou", "inch", "25.4", "0.0508", "-0.0508"),
        ("30 thou +/-2", "mm", "0.762", "0.0508", "-0.0508"),
        ("1 in +/-0.02 mm", "mm", "25.4", "0.02", "-0.02"),
        ("0.3745/0.3750", "inch", "9.51865", "0.00635", "-0.00635"),
        ("0.3750 / 0.3745", "inch", "9.51865", "0.00635", "-0.00635"),
        ('0.3745"/0.3750"', "mm", "9.51865", "0.00635", "-0.00635"),
        ("12,50/12,52 mm", "inch", "12.51", "0.01", "-0.01"),
    ],
)
def test_tolerances(text, unit, mm, upper, lower):
    found = read_length(text, unit=unit)
    assert (found.mm, found.upper, found.lower) == tuple(map(Fraction, (mm, upper, lower)))
    assert found.greatest_mm == Fraction(mm) + Fraction(upper)
    assert found.least_mm == Fraction(mm) + Fraction(lower)


@pytest.mark.parametrize(
    ("text", "fit_class"),
    [("12.5 h8", "h8"), ("3/8 H7", "H7"), ("3/8H7", "H7"), ("12 mm js13", "js13"), ("5 mm M6", "M6"), ("8 m6", "m6")],
)
def test_classes_of_limits(text, fit_class):
    found = read_length(text, unit="inch")
    assert found.fit_class == fit_class
    assert found.upper is found.lower is None


def test_remarks_change_no_figure():
    full, bare, plain = (read_length(text, unit="inch") for text in ("3/8 full", "3/8 Bare", "3/8"))
    assert full.mm == bare.mm == plain.mm
    assert (full.remark, bare.remark, plain.remark) == ("full", "bare", None)
    assert full != plain


def test_a_name_is_kept():
    assert read_length("#40", unit="mm").named == "No. 40"
    assert read_length("No. 40", unit="inch") == read_length("#40 drill", unit="mm")
    assert read_length("000 SWG", unit="mm").named == "3/0 SWG"
    assert read_length("0.098 in", unit="mm") != read_length("#40", unit="mm")


def test_a_bare_number_takes_the_unit_and_says_so():
    assert read_length("12.5", unit="mm").how == "12.5 mm"
    assert read_length("0.5", unit="inch").how == "0.5 in = 12.7 mm"
    assert read_length("0.5 mm", unit="inch").unit == "mm"
    assert read_length("1/4 in + 0.5 mm", unit="inch").unit == "mm"


def test_the_text_is_kept_as_written():
    found = read_length(" 1½\u00a0in ", unit="mm")
    assert found.text == " 1½\u00a0in "
    assert found == read_length("1 1/2", unit="inch")


def test_what_has_no_end_in_mm_is_exact_all_the_same():
    found = read_length("1/3", unit="inch")
    assert found.mm == INCH / 3
    assert found.how == "1/3 in = 8.466667 mm (rounded)"


def test_negative_only_where_signed():
    assert read_length("-5 1/4", unit="inch", signed=True).mm == Fraction("-133.35")
    assert read_length("−5-1/4", unit="inch", signed=True).mm == Fraction("-133.35")
    assert read_length("+0.5", unit="mm", signed=True).mm == Fraction("0.5")
    assert read_length("-1/4 + 1/64", unit="inch", signed=True).mm == Fraction("-5.953125")
    assert read_length("1/4 - 3/8", unit="inch", signed=True).mm == Fraction("-3.175")
    assert read_length("-0.5 +0.1 -0.2", unit="mm", signed=True).least_mm == Fraction("-0.7")
    for text in ("-5 1/4", "-0", "1/4 - 3/8", "0.1 +/-0.2", "-No. 40"):
        with pytest.raises(Refused, match="bore: cannot read"):
            read_length(text, unit="inch", thing="bore")
    with pytest.raises(Refused, match="it is negative") as caught:
        read_length("-5 1/4", unit="inch", thing="bore")
    assert caught.value.way_out == "write '5 1/4'"


@pytest.mark.parametrize(
    "text",
    [
        "", "   ", "-", "+", ".", ",", "/", '"', "in", "mm", "thou", "0x10", "1e5", "1E5", "1e-5", "nan", "inf", "12.5.1",
        "1,234", "12,345", "1,234.5", "1.234,5", "1 234.5", "1,2,3", ",5", "5.", "5,", "1.3/16", "1/2.5", "3/0", "0/8",
        "03/8", "3/08", "3/7", "3/15", "8/8", "19/16", "113/16", "1 19/16", "0 3/16", "1 2 3/4", "3/8/4", "3//8", "007",
        "0375", "40 m", "1 m", "3 cm", "1 ft", "5'", "5 um", "30 mil", "10001 mm", "394 in", "123456789012", "12.5 12.6",
        "1 - 3/16", "1 -3/16", "1- 3/16", "1 --3/16", "5-1/4-1/8", "1/4-3/8", "12.4-12.6", "12.4 to 12.6", "12/12.1",
        "12.5/12.5", "1.5 in/30 mm", "12.5 +0.02", "12.5 -0.02", "12.5+0.02", "12.5+0.02-0.01", "12.5 + 0.02 - 0.01",
        "12.5 -0.01 +0.02", "12.5 -0.01/+0.02", "12.5 +0.02 +0.01", "12.5 -0.01 -0.02", "12.5 0.02 -0.01",
        "12.5 +0.02 0.01", "12.5 +/-0", "12.5 ± -0.02", "12.5 + ± 0.02", "12.5 ±", "± 0.02", "0.3750 - 0.3745",
        "1/4 + 1/64 +/-0.01", "12.5 h", "12.5 h19", "12.5 I7", "12.5 Hh7", "12.5 H7/g6", "12.5 h8 full", "H7", "12 x8",
        "12x8", "12 x 8", "4 M5", "5 M6", "4 x M5", "full", "full 3/8", "3/8 full bare", "3/8 f", "3/8 approx",
        "~3/8", "about 3/8", "(3/8)", "3/8*2", "2 * 3/8", "Ø12", "12 dia", "R5", "90°", "90 deg", "M5", "2 BA", "1/4 x 40",
        "1/4 BSF", "No. 0", "No. 98", "#", "# -4", "No.", "drill", "drill 40", "drill 1/4", "letter", "letter AB", "F",
        "51 SWG", "8/0 SWG", "SWG", "16 gauge", "16G", "No. 40 +/-0.02", "#40 + 1/64", "16 SWG + 1/64", "1;2", "1_000",
        "12.5\n13.5", "½½", "TRUE", "12 mm mm", "12 in mm", "12 mmm", "1/2/3", "1/4 + ", "+ 1/4 +", "1/4 ++ 1/64",
    ],
)  # fmt: skip
def test_refused_on_any_drawing(text):
    for unit in ("inch", "mm"):
        with pytest.raises(Refused) as caught:
            read_length(text, unit=unit)
        assert caught.value.got == text
        assert caught.value.reason
        assert caught.value.way_out


def test_a_bare_fraction_of_millimetres_is_refused_and_one_with_its_unit_read():
    for text in ("3/8", "1 3/16", "1/4 + 1/64", "3/8 H7", "3/8 full", "3/8 +0.01 -0", "12.5 +1/64 -0"):
        with pytest.raises(Refused, match="fraction"):
            read_length(text, unit="mm")
    assert read_length("1 1/2 mm", unit="inch").mm == Fraction("1.5")


@pytest.mark.parametrize(
    ("text", "unit", "ways"),
    [
        ("1,234", "mm", ["1.234", "1234"]),
        ("1,234 + 1", "mm", ["1.234 + 1", "1234 + 1"]),
        ("1.3/16", "inch", ["1 3/16", "1.3"]),
        ("3/8", "mm", ["3/8 in", "0.375"]),
        ("1/4 + 1/64", "mm", ["1/4 in + 1/64 in"]),
        ("40 m", "mm", ["40 mm"]),
        ("0.5 m", "mm", ["500 mm"]),
        ("2.5 cm", "inch", ["25 mm"]),
        ("1' 3 1/2\"", "inch", ["15 1/2 in"]),
        ("12.5+0.02-0.01", "mm", ["12.5 +0.02 -0.01", "12.5 - 0.01 + 0.02"]),
        ("12/12.1", "mm", ["12.0/12.1"]),
        ("0375", "inch", ["375", "0.375"]),
        ("3/17", "inch", ["3/16"]),
        ("Ø 12.5", "mm", ["12.5"]),
        ("number 40", "mm", ["No. 40"]),
    ],
)
def test_the_nearest_accepted_spelling_is_offered(text, unit, ways):
    with pytest.raises(Refused) as caught:
        read_length(text, unit=unit, signed=True)
    offered = caught.value.way_out.removeprefix("write ").strip("'").split("' or '")
    assert [way for way in offered if way in ways] == ways


def test_the_limit_is_named():
    with pytest.raises(Refused, match=r"12700 mm, over the 10 m") as caught:
        read_length("500", unit="inch")
    assert caught.value.way_out == "write '500 mm'"


def test_the_unit_must_be_one():
    with pytest.raises(Unknown, match="unit"):
        read_length("1", unit="cm")  # type: ignore[arg-type]


def test_limits_come_as_a_pair_in_order():
    with pytest.raises(Refused, match="missing"):
        Length(Fraction(1), "1", "1 mm", "mm", upper=Fraction(1))
    with pytest.raises(Refused, match="below"):
        Length(Fraction(1), "1", "1 mm", "mm", upper=Fraction(0), lower=Fraction(1))


def test_reading_lengths_loads_no_numerics():
    code = "import sys, asmade.measure.lengths as l, asmade.measure.show; l.read_length('#40', unit='mm')\n"
    code += "print([name for name in ('numpy', 'scipy', 'click') if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("text", ["1e999", "1E-400", "2.5e12"])
def test_a_power_beyond_any_part_is_refused_as_one_and_not_cut_short(text):
    with pytest.raises(Refused, match="powers of ten are not read") as refused:
        read_length(text, unit="mm")
    assert "'1'" not in refused.value.way_out
