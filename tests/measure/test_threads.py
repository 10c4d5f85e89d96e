"""Thread callouts. Series and designations: BS 93 (BA), BS 84 (BSW, BSF), ISO 228-1 (G), ISO 261 (M), ASME B1.1 (UN)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from asmade.measure.errors import Refused
from asmade.measure.lengths import read_thread


@pytest.mark.parametrize(
    ("designation", "texts"),
    [
        ("2 BA", ["2 BA", "2BA", "2 b.a.", "No. 2 BA", "No 2 BA", "BA 2"]),
        ("0 BA", ["0 BA"]),
        (
            "1/4 x 40",
            ["1/4 x 40", '1/4" x 40', "1/4x40", "1/4 in x 40 tpi", "¼ × 40", "1/4 x 40T", "1/4 x 40 ME", "1/4-40 ME"],
        ),
        ("7/32 x 40", ["7/32 x 40"]),
        ("1 1/8 x 26", ["1 1/8 x 26", "1-1/8 X 26"]),
        ("1/4 BSF", ["1/4 BSF", "1/4 in BSF", '1/4" B.S.F.', "1/4bsf"]),
        ("1/4 x 26 BSF", ["1/4 x 26 BSF", "1/4 x 26 tpi BSF", "1/4-26 BSF", "1/4 - 26 bsf"]),
        ("1/4 BSW", ["1/4 BSW", "1/4 Whit.", "1/4 Whitworth"]),
        ("1/4 BSB", ["1/4 BSB", "1/4 brass", "1/4 x 26 brass"]),
        ("1/8 BSP", ["1/8 BSP", "G 1/8", "G1/8", "1/8 BSPP"]),
        ("M5", ["M5", "m5", "M 5", "M5 x 0.8", "M5 × 0,8", "M5x0.80"]),
        ("M5 x 0.5", ["M5 x 0.5", "M5x.5", "M5 X 0,5 mm"]),
        ("M2.5", ["M2.5", "M2,5", "M2.5 x 0.45"]),
        ("1/4-20 UNC", ["1/4-20 UNC", "1/4 - 20 UNC", "1/4 x 20 unc", '1/4"-20 UNC']),
        ("#4-40 UNC", ["#4-40 UNC", "# 4-40 UNC", "No. 4-40 UNC", "4-40 UNC"]),
        ("1-8 UNC", ["1-8 UNC", '1" - 8 UNC']),
        ("1/4 UNEF", ["1/4 UNEF"]),
    ],
)
def test_spellings_of_one_thread_are_one(designation, texts):
    read = [read_thread(text) for text in texts]
    assert {each.designation for each in read} == {designation}
    assert len(set(read)) == 1
    assert [each.text for each in read] == texts
    assert read_thread(designation) == read[0]
    assert designation in read[0].how


@pytest.mark.parametrize(
    ("text", "series", "number", "nominal_mm", "pitch_mm", "tpi"),
    [
        ("2 BA", "BA", 2, None, None, None),
        ("1/4 x 40", "ME", None, "6.35", None, 40),
        ("1/4 BSF", "BSF", None, "6.35", None, None),
        ("1/4 BSB", "BSB", None, "6.35", None, 26),
        ("1/8 BSP", "BSP", None, None, None, None),
        ("M5", "M", None, "5", "0.8", None),
        ("M5 x 0.5", "MF", None, "5", "0.5", None),
        ("#4-40 UNC", "UNC", 4, None, None, 40),
        ("4-40 UNC", "UNC", 4, None, None, 40),
        ("1-12 UNF", "UNF", None, "25.4", None, 12),
        ("1/4 UNEF", "UNEF", None, "6.35", None, None),
    ],
)
def test_what_the_callout_says(text, series, number, nominal_mm, pitch_mm, tpi):
    found = read_thread(text)
    assert (found.series, found.number, found.tpi) == (series, number, tpi)
    assert found.nominal_mm == (None if nominal_mm is None else Fraction(nominal_mm))
    assert found.pitch_mm == (None if pitch_mm is None else Fraction(pitch_mm))


@pytest.mark.parametrize(
    "text",
    ["", "BA", "M", "x", "1/4", "0.25", "5 mm", "26 BA", "02 BA", "2.5 BA", "1/4 x 20", "1/4 x 0", "1/4 x 1000", "1/4-40",
     "#4-40", "1/4 x 40 BSC", "1/4 x 40 LH", "1/4 x 32 BSB", "1/8 BSPT", "G", "G 0", "M0", "M5.5", "M6 x 20", "M6 x 1.25",
     "M6 x 0", "M400", "M6-6H", "6 x 0.5", "1 UNC", "13-40 UNC", "#13 UNC", "3/15 x 40", "9/8 x 40", "8 x 40", "M1,234",
     "2 BA x 10", "-2 BA", "M-5", "0 x 40", "1/8 NPT", "1/4-19", "#4-36", "1-2 BSF", "0.3 x 40"],
)  # fmt: skip
def test_refused(text):
    with pytest.raises(Refused) as caught:
        read_thread(text)
    assert caught.value.reason
    assert caught.value.way_out


@pytest.mark.parametrize(
    ("text", "ways"),
    [
        ("1/4-40", ["1/4 x 40"]),
        ("1/4 x 20", ["1/4 x 20 BSW", "1/4-20 UNC"]),
        ("6 x 0.5", ["M6 x 0.5"]),
        ("M6 x 20", ["M6"]),
        ("1/8 BSPT", ["1/8 BSP"]),
        ("3/17 x 40", ["3/16 x 40"]),
        ("#4-40", ["#4-40 UNC"]),
        ("#4-48", ["#4-48 UNF"]),
        ("#0-80", ["#0-80 UNF"]),
        ("10-32", ["#10-32 UNF"]),
        ("1/4-20", ["1/4 x 20 BSW", "1/4-20 UNC"]),
        ("1/4-28", ["1/4-28 UNF"]),
        ("1/4-32", ["1/4 x 32", "1/4-32 UNEF"]),
        ("1/4 x 28", ["1/4-28 UNF"]),
        ("1/4 x 27", ["1/4 x 27 BSW"]),
        ("0.25 x 40", ["1/4 x 40"]),
        ("R 1/8", ["1/8 BSP"]),
        ("M6 6g", ["M6"]),
        ("#2-56 UNC-2A", ["#2-56 UNC"]),
        ("1/4 BSF close", ["1/4 BSF"]),
        ("2 BA normal screw", ["2 BA"]),
        ("MF6x0.75", ["M6 x 0.75"]),
    ],
)
def test_the_way_out_is_accepted(text, ways):
    with pytest.raises(Refused) as caught:
        read_thread(text)
    assert caught.value.way_out == "write " + " or ".join(f"'{way}'" for way in ways)
    for way in ways:
        read_thread(way)
