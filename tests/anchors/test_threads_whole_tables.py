"""Threads: the whole lists of the standards, written out once more and held against every thread of the program.

From memory, not confirmed against printed copies, unless a formula stands beside them: the lists were written down apart from
the tables of the program, the diameters are worked here from the basic profiles.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from asmade.standards.threads import all_threads, clearance_drill, find, thread, thread_limits, usual_tapping_drill

INCH = 25.4


def inches(text: str) -> Fraction:
    if text.startswith("#"):
        return Fraction(60 + 13 * int(text[1:]), 1000)  # ASME B1.1: 0.060 + 0.013 n
    return sum((Fraction(part) for part in text.replace("_", " ").split()), Fraction(0))


def pairs(text: str) -> list[tuple[str, str]]:
    return [(size, pitch) for size, pitch in (word.split(":") for word in text.split())]


# BS 93: number, pitch, major, effective, minor, mm
BA = """
0 1.00 6.0 5.400 4.80|1 0.90 5.3 4.760 4.22|2 0.81 4.7 4.215 3.73|3 0.73 4.1 3.660 3.22|4 0.66 3.6 3.205 2.81|
5 0.59 3.2 2.845 2.49|6 0.53 2.8 2.480 2.16|7 0.48 2.5 2.210 1.92|8 0.43 2.2 1.940 1.68|9 0.39 1.9 1.665 1.43|
10 0.35 1.7 1.490 1.28|11 0.31 1.5 1.315 1.13|12 0.28 1.3 1.130 0.96|13 0.25 1.2 1.050 0.90|14 0.23 1.0 0.860 0.72|
15 0.21 0.9 0.775 0.65|16 0.19 0.79 0.675 0.56
"""
BA_BEYOND = "17:0.17:0.70 18:0.15:0.62 19:0.14:0.54 20:0.12:0.48 21:0.11:0.42 22:0.098:0.37 23:0.089:0.33 24:0.080:0.29 25:0.072:0.25"
# BS 84: size, threads per inch
BSW = """1/16:60 3/32:48 1/8:40 5/32:32 3/16:24 7/32:24 1/4:20 5/16:18 3/8:16 7/16:14 1/2:12 9/16:12 5/8:11 11/16:11 3/4:10
7/8:9 1:8 1_1/8:7 1_1/4:7 1_1/2:6 1_3/4:5 2:4.5 2_1/4:4 2_1/2:4 2_3/4:3.5 3:3.5"""
BSF = """3/16:32 7/32:28 1/4:26 9/32:26 5/16:22 3/8:20 7/16:18 1/2:16 9/16:16 5/8:14 11/16:14 3/4:12 13/16:12 7/8:11 1:10
1_1/8:9 1_1/4:9 1_3/8:8 1_1/2:8 1_5/8:8 1_3/4:7 2:7 2_1/4:6 2_1/2:6 2_3/4:6 3:5"""
# ISO 228-1: size, threads per inch, major, pitch and minor diameter, mm
BSP = """1/16 28 7.723 7.142 6.561|1/8 28 9.728 9.147 8.566|1/4 19 13.157 12.301 11.445|3/8 19 16.662 15.806 14.950|
1/2 14 20.955 19.793 18.631|5/8 14 22.911 21.749 20.587|3/4 14 26.441 25.279 24.117|7/8 14 30.201 29.039 27.877|
1 11 33.249 31.770 30.291|1_1/8 11 37.897 36.418 34.939|1_1/4 11 41.910 40.431 38.952|1_1/2 11 47.803 46.324 44.845|
1_3/4 11 53.746 52.267 50.788|2 11 59.614 58.135 56.656|2_1/4 11 65.710 64.231 62.752|2_1/2 11 75.184 73.705 72.226|
2_3/4 11 81.534 80.055 78.576|3 11 87.884 86.405 84.926"""
# ISO 261 and 262, mm
COARSE = """1:.25 1.1:.25 1.2:.25 1.4:.3 1.6:.35 1.8:.35 2:.4 2.2:.45 2.5:.45 3:.5 3.5:.6 4:.7 4.5:.75 5:.8 6:1 7:1 8:1.25 9:1.25
10:1.5 11:1.5 12:1.75 14:2 16:2 18:2.5 20:2.5 22:2.5 24:3 27:3 30:3.5 33:3.5 36:4 39:4 42:4.5 45:4.5 48:5 52:5 56:5.5 60:5.5
64:6 68:6"""
FINE = """1:.2 1.1:.2 1.2:.2 1.4:.2 1.6:.2 1.8:.2 2:.25 2.2:.25 2.5:.35 3:.35 3.5:.35 4:.5 4.5:.5 5:.5 5.5:.5 6:.75 7:.75 8:1
8:.75 9:1 9:.75 10:1.25 10:1 10:.75 11:1 11:.75 12:1.5 12:1.25 12:1 14:1.5 14:1.25 14:1 15:1.5 15:1 16:1.5 16:1 17:1.5 17:1
18:2 18:1.5 18:1 20:2 20:1.5 20:1 22:2 22:1.5 22:1 24:2 24:1.5 24:1 25:2 25:1.5 25:1 26:1.5 27:2 27:1.5 27:1 28:2 28:1.5 28:1
30:3 30:2 30:1.5 30:1 32:2 32:1.5 33:3 33:2 33:1.5 35:1.5 36:3 36:2 36:1.5 38:1.5 39:3 39:2 39:1.5 40:3 40:2 40:1.5"""
# ASME B1.1
UNC = """#1:64 #2:56 #3:48 #4:40 #5:40 #6:32 #8:32 #10:24 #12:24 1/4:20 5/16:18 3/8:16 7/16:14 1/2:13 9/16:12 5/8:11 3/4:10 7/8:9
1:8 1_1/8:7 1_1/4:7 1_3/8:6 1_1/2:6 1_3/4:5 2:4.5"""
UNF = """#0:80 #1:72 #2:64 #3:56 #4:48 #5:44 #6:40 #8:36 #10:32 #12:28 1/4:28 5/16:24 3/8:24 7/16:20 1/2:20 9/16:18 5/8:18
3/4:16 7/8:14 1:12 1_1/8:12 1_1/4:12 1_3/8:12 1_1/2:12"""
UNEF = """#12:32 1/4:32 5/16:32 3/8:32 7/16:28 1/2:28 9/16:24 5/8:24 11/16:24 3/4:20 13/16:20 7/8:20 15/16:20 1:20 1_1/16:18
1_1/8:18 1_1/4:18 1_3/8:18 1_1/2:18"""


@pytest.mark.parametrize("row", [row.split() for row in BA.replace("\n", "").split("|")], ids=lambda row: f"{row[0]}BA")
def test_recalled_ba(row: list[str]) -> None:
    """BS 93:1951, from memory; minor = 2 effective - major holds in every row of it."""
    found = find("BA", int(row[0]))
    pitch, major, effective, minor = map(float, row[1:])
    assert minor == pytest.approx(2 * effective - major, abs=1e-9), "the list itself"
    sizes = (found.pitch_mm, found.major_mm, found.effective_mm, found.core_mm, found.nut_minor_mm)
    assert sizes == pytest.approx((pitch, major, effective, minor, minor), abs=1e-9)


def test_recalled_ba_beyond() -> None:
    """The original series, 0.9^n mm pitch and 6 p^1.2 diameter to two figures, from memory and by that formula."""
    for row in BA_BEYOND.split():
        size, pitch, major = row.split(":")
        assert 0.9 ** int(size) == pytest.approx(float(pitch), abs=0.006)
        assert 6 * 0.9 ** (1.2 * int(size)) == pytest.approx(float(major), abs=0.01)
        found = find("BA", int(size))
        assert (found.pitch_mm, found.major_mm) == (float(pitch), float(major))


@pytest.mark.parametrize(("series", "listing"), [("BSW", BSW), ("BSF", BSF)])
def test_recalled_whitworth(series: str, listing: str) -> None:
    """BS 84:1956: pitches from memory; h = 0.640327 p, effective = major - h, minor = major - 2 h."""
    for size, tpi in pairs(listing):
        found = find(series, inches(size))
        major, depth = float(inches(size)) * INCH, 0.640327 * INCH / float(tpi)
        assert found.tpi == pytest.approx(float(tpi)), (series, size)
        sizes = (found.major_mm, found.effective_mm, found.core_mm)
        assert sizes == pytest.approx((major, major - depth, major - 2 * depth), abs=2e-5)


@pytest.mark.parametrize("row", [row.split() for row in BSP.replace("\n", "").split("|")], ids=lambda row: f"G{row[0]}")
def test_recalled_pipe(row: list[str]) -> None:
    """ISO 228-1 Table 1, from memory, to the 0.001 mm it prints."""
    found = find("BSP", inches(row[0]))
    sizes = (found.tpi, found.major_mm, found.effective_mm, found.core_mm)
    assert sizes == pytest.approx(tuple(map(float, row[1:])), abs=0.0011)


def test_recalled_metric_lists() -> None:
    """ISO 261 coarse and fine pitches from memory; d2 = d - 0.649519 P, D1 = d - 1.082532 P, d3 = d - 1.226869 P (ISO 724)."""
    for fine, listing in ((False, COARSE), (True, FINE)):
        for size, step in pairs(listing):
            major, pitch = float(size), float(step)
            found = find("M", Fraction(size), Fraction(step) if fine else None)
            assert found.listed, (size, step)
            sizes = (found.major_mm, found.pitch_mm, found.effective_mm, found.nut_minor_mm, found.core_mm)
            by_hand = (major, pitch, major - 0.649519 * pitch, major - 1.082532 * pitch, major - 1.226869 * pitch)
            assert sizes == pytest.approx(by_hand, abs=1e-5)


def test_every_listed_metric_thread_up_to_40_mm_is_in_the_recalled_lists() -> None:
    """Nothing more than ISO 261 has, first to third choice, up to 40 mm."""
    known = {(Fraction(size), Fraction(step)) for size, step in pairs(COARSE) + pairs(FINE) if Fraction(size) <= 40}
    assert {(t.major, t.pitch) for t in all_threads("M") if t.major <= 40} == known


@pytest.mark.parametrize(("series", "listing"), [("UNC", UNC), ("UNF", UNF), ("UNEF", UNEF)])
def test_recalled_unified(series: str, listing: str) -> None:
    """ASME B1.1: pitches from memory, diameters by the ISO 68-1 profile."""
    for size, tpi in pairs(listing):
        found = find(series, inches(size))
        major, pitch = float(inches(size)) * INCH, INCH / float(tpi)
        assert found.tpi == pytest.approx(float(tpi)), (series, size)
        sizes = (found.major_mm, found.effective_mm, found.nut_minor_mm)
        assert sizes == pytest.approx((major, major - 0.649519 * pitch, major - 1.082532 * pitch), abs=1e-5)


def test_recalled_stress_areas() -> None:
    """ISO 898-1 Tables 4 and 6 (mm2) and ASME B1.1 (in2), from memory, to their printed figures."""
    metric = """M3:5.03 M3.5:6.78 M4:8.78 M5:14.2 M6:20.1 M7:28.9 M8:36.6 M10:58.0 M12:84.3 M14:115 M16:157 M18:192 M20:245
    M22:303 M24:353 M27:459 M30:561 M8x1:39.2 M10x1:64.5 M10x1.25:61.2 M12x1.25:92.1 M12x1.5:88.1 M14x1.5:125 M16x1.5:167"""
    for name, area in pairs(metric):
        figures = len(area.replace(".", ""))
        assert float(f"{thread(name).stress_area_mm2:.{figures}g}") == float(area), name
    unified = """#0-80UNF:.00180 #1-64UNC:.00263 #1-72UNF:.00278 #2-56UNC:.00370 #2-64UNF:.00394 #3-48UNC:.00487 #3-56UNF:.00523
    #4-40UNC:.00604 #4-48UNF:.00661 #5-40UNC:.00796 #5-44UNF:.00830 #6-32UNC:.00909 #6-40UNF:.01015 #8-32UNC:.0140
    #8-36UNF:.01474 #10-24UNC:.0175 #10-32UNF:.0200 #12-24UNC:.0242 #12-28UNF:.0258 1/4-20UNC:.0318 1/4-28UNF:.0364
    5/16-18UNC:.0524 5/16-24UNF:.0580 3/8-16UNC:.0775 3/8-24UNF:.0878 7/16-14UNC:.1063 7/16-20UNF:.1187 1/2-13UNC:.1419
    1/2-20UNF:.1599 9/16-12UNC:.182 5/8-11UNC:.226 3/4-10UNC:.334 7/8-9UNC:.462 1-8UNC:.606 1-12UNF:.663"""
    for name, area in pairs(unified):
        places = len(area) - 1
        assert round(thread(name).stress_area_mm2 / INCH**2, places) == pytest.approx(
            float(area), abs=1.1 * 10**-places
        )


# ISO 965-2 limits of size, mm: screw 6g: major max min, pitch max min; nut 6H: pitch min max, minor min max
SIX_G = """M1.6 1.581 1.496 1.354 1.291|M2 1.981 1.886 1.721 1.654|M2.5 2.480 2.380 2.188 2.117|M3 2.980 2.874 2.655 2.580|
M3.5 3.479 3.354 3.089 3.004|M4 3.978 3.838 3.523 3.433|M5 4.976 4.826 4.456 4.361|M6 5.974 5.794 5.324 5.212|
M7 6.974 6.794 6.324 6.212|M8 7.972 7.760 7.160 7.042|M10 9.968 9.732 8.994 8.862|M12 11.966 11.701 10.829 10.679|
M14 13.962 13.682 12.663 12.503|M16 15.962 15.682 14.663 14.503|M18 17.958 17.623 16.334 16.164|
M20 19.958 19.623 18.334 18.164|M24 23.952 23.577 22.003 21.803|M30 29.947 29.522 27.674 27.462|
M6x0.75 5.978 5.838 5.491 5.391|M8x1 7.974 7.794 7.324 7.212|M10x1 9.974 9.794 9.324 9.212|
M10x1.25 9.972 9.760 9.160 9.042|M12x1.25 11.972 11.760 11.160 11.028|M12x1.5 11.968 11.732 10.994 10.854|
M5x0.5 4.980 4.874 4.655 4.580|M4x0.5 3.980 3.874 3.655 3.580"""
SIX_H = """M1.6 1.373 1.458 1.221 1.321|M2 1.740 1.830 1.567 1.679|M2.5 2.208 2.303 2.013 2.138|M3 2.675 2.775 2.459 2.599|
M3.5 3.110 3.222 2.850 3.010|M4 3.545 3.663 3.242 3.422|M5 4.480 4.605 4.134 4.334|M6 5.350 5.500 4.917 5.153|
M8 7.188 7.348 6.647 6.912|M10 9.026 9.206 8.376 8.676|M12 10.863 11.063 10.106 10.441|M14 12.701 12.913 11.835 12.210|
M16 14.701 14.913 13.835 14.210|M20 18.376 18.600 17.294 17.744|M24 22.051 22.316 20.752 21.252|
M30 27.727 28.007 26.211 26.771|M6x0.75 5.513 5.645 5.188 5.378|M8x1 7.350 7.500 6.917 7.153|
M10x1 9.350 9.500 8.917 9.153|M10x1.25 9.188 9.348 8.647 8.912|M12x1.25 11.188 11.368 10.647 10.912|
M12x1.5 11.026 11.216 10.376 10.676|M5x0.5 4.675 4.775 4.459 4.599|M4x0.5 3.675 3.775 3.459 3.599"""


def split(listing: str) -> list[list[str]]:
    return [row.split() for row in listing.replace("\n", "").split("|")]


@pytest.mark.parametrize("row", split(SIX_G), ids=lambda row: row[0])
def test_recalled_metric_screw_limits(row: list[str]) -> None:
    """ISO 965-2 and its extension to fine threads, class 6g, from memory, to the 0.001 mm it prints."""
    found = thread_limits(thread(row[0]), "6g")
    got = (found.major.high_mm, found.major.low_mm, found.effective.high_mm, found.effective.low_mm)
    assert got == pytest.approx(tuple(map(float, row[1:])), abs=0.00101)


@pytest.mark.parametrize("row", split(SIX_H), ids=lambda row: row[0])
def test_recalled_metric_nut_limits(row: list[str]) -> None:
    """ISO 965-2 and its extension to fine threads, class 6H, from memory, to the 0.001 mm it prints."""
    found = thread_limits(thread(row[0]), "6H")
    got = (found.effective.low_mm, found.effective.high_mm, found.minor.low_mm, found.minor.high_mm)
    assert got == pytest.approx(tuple(map(float, row[1:])), abs=0.00101)


# ASME B1.1 limits, inches. 2A: major max min, pitch max min; 2B: pitch min max, minor min max
TWO_A = """#0-80UNF .0595 .0563 .0514 .0496|#2-56UNC .0854 .0813 .0738 .0717|#4-40UNC .1112 .1061 .0950 .0925|
#6-32UNC .1372 .1312 .1169 .1141|#8-32UNC .1631 .1571 .1428 .1399|#10-24UNC .1890 .1818 .1619 .1586|
#10-32UNF .1891 .1831 .1688 .1658|1/4-20UNC .2489 .2408 .2164 .2127|1/4-28UNF .2490 .2425 .2258 .2225|
1/4-32UNEF .2490 .2430 .2287 .2255|5/16-18UNC .3113 .3026 .2752 .2712|5/16-24UNF .3114 .3042 .2843 .2806|
3/8-16UNC .3737 .3643 .3331 .3287|3/8-24UNF .3739 .3667 .3468 .3430|1/2-13UNC .4985 .4876 .4485 .4435|
1/2-20UNF .4987 .4906 .4662 .4619|
#1-64UNC .0724 .0686 .0623 .0603|#1-72UNF .0724 .0689 .0634 .0615|#3-48UNC .0983 .0938 .0848 .0825|
#5-40UNC .1242 .1191 .1080 .1054|#12-24UNC .2150 .2078 .1879 .1845|7/16-14UNC .4361 .4258 .3897 .3850|
7/16-20UNF .4362 .4281 .4037 .3995|5/8-11UNC .6234 .6113 .5644 .5589|3/4-10UNC .7482 .7353 .6832 .6773|
1-8UNC .9980 .9830 .9168 .9100"""
TWO_B = """#0-80UNF .0519 .0542 .0465 .0514|#2-56UNC .0744 .0772 .0667 .0737|#4-40UNC .0958 .0991 .0849 .0939|
#6-32UNC .1177 .1214 .104 .114|#8-32UNC .1437 .1475 .130 .139|#10-24UNC .1629 .1672 .145 .156|
#10-32UNF .1697 .1736 .156 .164|1/4-20UNC .2175 .2224 .196 .207|1/4-28UNF .2268 .2311 .211 .220|
1/4-32UNEF .2297 .2339 .216 .224|5/16-18UNC .2764 .2817 .252 .265|5/16-24UNF .2854 .2902 .267 .277|
3/8-16UNC .3344 .3401 .307 .321|3/8-24UNF .3479 .3528 .330 .340|1/2-13UNC .4500 .4565 .417 .434|
1/2-20UNF .4675 .4731 .446 .457|
#1-64UNC .0629 .0655 .0561 .0623|#1-72UNF .0640 .0665 .0580 .0635|#3-48UNC .0855 .0885 .0764 .0845|
#5-40UNC .1088 .1121 .0979 .1062|#12-24UNC .1889 .1933 .171 .181|7/16-14UNC .3911 .3972 .360 .376|
7/16-20UNF .4050 .4104 .383 .395|5/8-11UNC .5660 .5732 .527 .546|3/4-10UNC .6850 .6927 .642 .663|
1-8UNC .9188 .9276 .865 .890"""
# classes 3A (pitch max min) and 3B (pitch min max, minor min max)
THREE = """1/4-20UNC .2175 .2147 .2175 .2211 .1960 .2067|1/4-28UNF .2268 .2243 .2268 .2300 .2110 .2190|
3/8-24UNF .3479 .3450 .3479 .3516 .3300 .3372|1/2-20UNF .4675 .4643 .4675 .4717 .4460 .4537"""


@pytest.mark.parametrize("row", split(TWO_A), ids=lambda row: row[0])
def test_recalled_unified_screw_limits(row: list[str]) -> None:
    """ASME B1.1 class 2A, from memory; the standard rounds basic size, allowance and tolerance one by one to 0.0001 in."""
    found = thread_limits(thread(row[0]), "2A")
    got = [
        size / INCH
        for size in (found.major.high_mm, found.major.low_mm, found.effective.high_mm, found.effective.low_mm)
        if size
    ]
    assert got == pytest.approx(list(map(float, row[1:])), abs=0.000151)


@pytest.mark.parametrize("row", split(TWO_B), ids=lambda row: row[0])
def test_recalled_unified_nut_limits(row: list[str]) -> None:
    """ASME B1.1 class 2B, from memory, to the figures it prints (minor to 0.001 in from #6 up)."""
    found = thread_limits(thread(row[0]), "2B")
    low, high, bore, bore_most = map(float, row[1:])
    assert (found.effective.low_mm, found.effective.high_mm) == pytest.approx((low * INCH, high * INCH), abs=0.00257)
    step = 10.0 ** (1 - len(row[3])) * 1.01 * INCH
    assert (found.minor.low_mm, found.minor.high_mm) == pytest.approx((bore * INCH, bore_most * INCH), abs=step)


@pytest.mark.parametrize("row", split(THREE), ids=lambda row: row[0])
def test_recalled_unified_class_3(row: list[str]) -> None:
    """ASME B1.1 classes 3A and 3B, from memory, to 0.0001 in; the least minor is rounded to 0.001 in there."""
    screw, nut = thread_limits(thread(row[0]), "3A").effective, thread_limits(thread(row[0]), "3B")
    got = [
        screw.high_mm,
        screw.low_mm,
        nut.effective.low_mm,
        nut.effective.high_mm,
        nut.minor.low_mm,
        nut.minor.high_mm,
    ]
    found, printed = [size / INCH for size in got if size], list(map(float, row[1:]))
    assert found.pop(4) == pytest.approx(printed.pop(4), abs=0.00051)
    assert found == pytest.approx(printed, abs=0.000151)


def test_recalled_tapping_drills() -> None:
    """ISO 2306 (metric) and BS 1157 (BA, BSW, BSF, BSP), from memory."""
    metric = """M1:.75 M1.1:.85 M1.2:.95 M1.4:1.1 M1.6:1.25 M1.8:1.45 M2:1.6 M2.2:1.75 M2.5:2.05 M3:2.5 M3.5:2.9 M4:3.3 M5:4.2
    M6:5 M7:6 M8:6.8 M9:7.8 M10:8.5 M11:9.5 M12:10.2 M14:12 M16:14 M18:15.5 M20:17.5 M22:19.5 M24:21 M3x0.35:2.65 M4x0.5:3.5
    M5x0.5:4.5 M8x1:7 M9x1:8 M10x1:9 M10x1.25:8.8 M12x1:11 M12x1.25:10.8 M12x1.5:10.5
    M4.5:3.7 M27:24 M30:26.5 M36:32 M6x0.75:5.2 M14x1.5:12.5 M16x1.5:14.5 M20x1.5:18.5 M2x0.25:1.75 M2.5x0.35:2.15"""
    british = """0BA:5.1 1BA:4.5 2BA:4 3BA:3.4 4BA:3 5BA:2.65 6BA:2.3 7BA:2.05 8BA:1.8 9BA:1.55 10BA:1.4 11BA:1.2 12BA:1.05
    1/8BSW:2.55 3/16BSW:3.7 1/4BSW:5.1 5/16BSW:6.5 3/8BSW:7.9 1/2BSW:10.5 3/16BSF:4 7/32BSF:4.6 1/4BSF:5.3 9/32BSF:6.1 5/16BSF:6.8
    7/16BSF:9.7 1/2BSF:11.1 9/16BSW:12.1 5/8BSW:13.5 3/4BSW:16.25 7/8BSW:19.25 1BSW:22 9/16BSF:12.7 5/8BSF:14 3/4BSF:16.75
    7/8BSF:19.75 1BSF:22.75 3/8BSF:8.3 7/16BSW:9.3 1/8BSP:8.8 1/4BSP:11.8 3/8BSP:15.25 1/2BSP:19 3/4BSP:24.5 1BSP:30.75 13BA:.98
    14BA:.8 15BA:.7 16BA:.6 5/32BSW:3.2 7/32BSW:4.5 1/16BSW:1.2"""
    wrong = {
        name: (usual_tapping_drill(thread(name)).mm, float(size))
        for name, size in pairs(metric + " " + british)
        if not math.isclose(usual_tapping_drill(thread(name)).mm, float(size), abs_tol=1e-9)
    }
    assert not wrong


def test_recalled_clearance_holes() -> None:
    """ISO 273 fine, medium, coarse, from memory."""
    rows = """1 1.1 1.2 1.3|1.2 1.3 1.4 1.5|1.4 1.5 1.6 1.8|1.6 1.7 1.8 2|1.8 2 2.1 2.2|2 2.2 2.4 2.6|2.5 2.7 2.9 3.1|3 3.2 3.4 3.6|
    3.5 3.7 3.9 4.2|4 4.3 4.5 4.8|4.5 4.8 5 5.3|5 5.3 5.5 5.8|6 6.4 6.6 7|7 7.4 7.6 8|8 8.4 9 10|10 10.5 11 12|12 13 13.5 14.5|
    14 15 15.5 16.5|16 17 17.5 18.5|18 19 20 21|20 21 22 24|22 23 24 26|24 25 26 28"""
    wrong = []
    for row in split(rows):
        found = [clearance_drill(thread(f"M{row[0]}"), fit).mm for fit in ("close", "medium", "free")]
        if found != pytest.approx(list(map(float, row[1:]))):
            wrong.append((row, found))
    assert not wrong
