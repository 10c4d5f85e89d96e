"""Limits of size: the tables against the formulas they were rounded from, the laws between classes, and what is refused."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.standards import tables
from asmade.standards.limits import (
    GRADES,
    HOLE_LETTERS,
    SHAFT_LETTERS,
    deviation_formula_um,
    fundamental_deviation_um,
    limits,
    limits_many,
    parse_class,
    tolerance_um,
    tolerance_unit_um,
)

STEPS = [(row["over"], row["upto"]) for row in tables.load("iso286_it").rows]
SUBSTEPS = [(row["over"], row["upto"]) for row in tables.load("iso286_shafts").rows]
sizes = st.floats(min_value=1.001, max_value=500)


def middle(over: float, upto: float) -> float:
    """Geometric mean of a step; the standard takes 1 mm for the lower end of the first."""
    return math.sqrt(max(over, 1) * upto)


def main_step(over: float) -> tuple[float, float]:
    return next(step for step in STEPS if step[0] <= over < step[1])


@pytest.mark.parametrize("step", STEPS)
def test_coarse_grades_follow_the_tolerance_unit(step: tuple[float, float]) -> None:
    """ISO 286-1:1988 Table A: IT5 7 i, IT6 10 i, then the R5 series; the table rounds (most at the smallest sizes)."""
    unit = tolerance_unit_um(max(step[0], 1), step[1])
    factors = {
        5: 7,
        6: 10,
        7: 16,
        8: 25,
        9: 40,
        10: 64,
        11: 100,
        12: 160,
        13: 250,
        14: 400,
        15: 640,
        16: 1000,
        17: 1600,
        18: 2500,
    }
    for grade, factor in factors.items():
        allowed = 0.16 if step[1] == 3 else 0.05
        assert tolerance_um(step[1], grade) == pytest.approx(factor * unit, rel=allowed, abs=0.7), grade


@pytest.mark.parametrize("step", STEPS)
def test_five_grades_further_is_ten_times_as_much(step: tuple[float, float]) -> None:
    """ISO 286-1:1988: from IT6 the tolerance is multiplied by 10 every fifth grade; the table keeps it but once."""
    for grade in range(6, 14):
        expected = 75 if (grade, step) == (6, (3, 6)) else 10 * tolerance_um(step[1], grade)  # IT11 is 75, IT6 is 8
        assert tolerance_um(step[1], grade + 5) == expected, grade


@pytest.mark.parametrize("step", STEPS)
def test_fine_grades_follow_their_lines(step: tuple[float, float]) -> None:
    """ISO 286-1:1988: IT01 = 0.3 + 0.008 D, IT0 = 0.5 + 0.012 D, IT1 = 0.8 + 0.020 D, IT2 to IT4 a geometric series up to IT5."""
    d = middle(*step)
    first, fifth = 0.8 + 0.020 * d, 7 * tolerance_unit_um(max(step[0], 1), step[1])
    expected = {"01": 0.3 + 0.008 * d, "0": 0.5 + 0.012 * d}
    expected |= {str(n): first * (fifth / first) ** ((n - 1) / 4) for n in range(1, 5)}
    for grade, value in expected.items():  # the printed values leave the lines by up to a fifth over 180 mm
        assert tolerance_um(step[1], grade) == pytest.approx(value, rel=0.22, abs=0.35), grade


@pytest.mark.parametrize("step", SUBSTEPS)
def test_shaft_deviations_follow_their_formulas(step: tuple[float, float]) -> None:
    """Formulas of ISO 286-1:1988, Table 5 (fundamental deviations), D in mm, from which the tables were rounded."""
    over, upto = step
    d = middle(over, upto)
    it6, it7, it8, it9, it10 = (tolerance_um(upto, grade) for grade in range(6, 11))
    row = tables.load("iso286_shafts").step(upto)
    p, s = tables.number(row["p"]), tables.number(row["s"])
    if upto > 3:  # the first step was set by hand
        assert row["m"] == it7 - it6
        assert it7 <= p <= it7 + 5
        assert it8 + 1 <= s <= it8 + 4 or upto > 50
    main = main_step(over)
    close = {one: deviation_formula_um(one, max(main[0], 1), main[1]) for one in "defgkn"}
    close |= {one: deviation_formula_um(one, max(over, 1), upto) for one in "ab"}
    close |= {"s": s if upto <= 50 else it7 + 0.4 * d, "r": math.sqrt(p * s)}
    for letters, value in close.items():
        if upto > 3:
            assert abs(tables.number(row[letters])) == pytest.approx(
                value, rel=0.05 if letters in "ab" else 0.03, abs=1.3
            ), letters
    steep = {
        "t": it7 + 0.63 * d,
        "u": it7 + d,
        "v": it7 + 1.25 * d,
        "x": it7 + 1.6 * d,
        "y": it7 + 2 * d,
        "z": it7 + 2.5 * d,
    }
    steep |= {"za": it8 + 3.15 * d, "zb": it9 + 4 * d, "zc": it10 + 5 * d}
    for letters, value in steep.items():
        if over >= (30 if letters == "t" else 18) and row[letters] is not None:  # below, tables are larger
            assert tables.number(row[letters]) == pytest.approx(value, rel=0.012 if upto <= 120 else 0.025, abs=1.2), (
                letters
            )
    if over >= 40:
        assert abs(tables.number(row["c"])) == pytest.approx(95 + 0.8 * d, rel=0.03)
    # no difference of neighbours may jump: catches a slip of one figure where formulas are loose
    for between, (low, high) in {"cd": ("c", "d"), "ef": ("e", "f"), "fg": ("f", "g")}.items():
        if row[between] is not None:
            mean = math.sqrt(tables.number(row[low]) * tables.number(row[high]))
            assert abs(tables.number(row[between])) == pytest.approx(mean, rel=0.12, abs=1)


@pytest.mark.parametrize("step", STEPS)
def test_delta_is_the_difference_of_two_grades(step: tuple[float, float]) -> None:
    """ISO 286-1:2010 Table 3: delta = ITn - IT(n-1), nothing up to 3 mm."""
    row = tables.load("iso286_holes").step(step[1])
    for grade in range(3, 9):
        expected = 0 if step[1] <= 3 else tolerance_um(step[1], grade) - tolerance_um(step[1], grade - 1)
        assert row[f"delta{grade}"] == pytest.approx(expected), grade


@pytest.mark.parametrize("grade", [6, 7, 8])
def test_holes_j_straddle_the_nominal_size_and_lean_upwards(grade: int) -> None:
    """ISO 286-2, tables of J: over 3 mm the larger part lies above the nominal size, up to 3 mm below it."""
    for _, upto in STEPS:
        found = limits(upto, f"J{grade}")
        assert found.lower_um < 0 < found.upper_um
        assert (found.upper_um + found.lower_um >= 0) == (upto > 3)


@given(size=sizes, bigger=sizes)
def test_tolerance_grows_with_grade_and_size(size: float, bigger: float) -> None:
    widths = [tolerance_um(size, grade) for grade in GRADES]
    assert widths == sorted(widths)
    low, high = sorted((size, bigger))
    assert all(tolerance_um(low, grade) <= tolerance_um(high, grade) for grade in GRADES)


@given(size=st.floats(min_value=1.001, max_value=50), grade=st.integers(min_value=5, max_value=11))
def test_holes_a_to_h_mirror_the_shafts(size: float, grade: int) -> None:
    """General rule of ISO 286-1: EI = -es."""
    for letters in SHAFT_LETTERS[: SHAFT_LETTERS.index("j")]:
        hole, shaft = limits(size, f"{letters.upper()}{grade}"), limits(size, f"{letters}{grade}")
        assert (hole.upper_um, hole.lower_um) == (-shaft.lower_um, -shaft.upper_um)


@given(
    size=sizes,
    name=st.sampled_from(["H7", "JS8", "K7", "N9", "P7", "ZC11", "g6", "js5", "k6", "r6", "zc9", "M6", "T7", "cd8"]),
)
def test_many_equals_one_by_one(size: float, name: str) -> None:
    try:
        one = limits(size, name)
    except OutOfRange:
        with pytest.raises(OutOfRange):
            limits_many([10.0, size], name)
        return
    upper, lower = limits_many(np.array([[size]]), name)
    assert upper.shape == (1, 1)
    assert (upper[0, 0], lower[0, 0]) == (one.upper_um, one.lower_um)


def test_every_class_the_standard_lists_has_limits_at_every_step() -> None:
    """A to H and JS in any grade; K to ZC as ISO 286-1 gives them: no hole in the tables up to 500 mm."""
    for letters in (*HOLE_LETTERS, *SHAFT_LETTERS):
        if letters.lower() in ("j", "cd", "ef", "fg", "t", "v", "y"):
            continue  # given for part of the sizes or grades only
        for _, upto in SUBSTEPS:
            for grade in (5, 6, 7, 8):
                found = limits(upto, f"{letters}{grade}")
                assert found.tolerance_um == pytest.approx(tolerance_um(upto, grade))
                assert min(abs(found.upper_um), abs(found.lower_um)) >= 0


def test_inch_sizes_are_exact_and_the_end_of_a_step_belongs_to_it() -> None:
    assert limits(Fraction(254, 10) * Fraction(5, 8), "H7").upper_um == 18
    assert tolerance_um(Fraction(3), "IT6") == 6
    assert tolerance_um(Fraction(3) + Fraction(1, 10**9), "IT6") == 8
    assert limits(Fraction(254, 10), "g6").greatest_mm == pytest.approx(25.393)


@pytest.mark.parametrize("size", [0, -5, 500.0001, math.nan, math.inf])
def test_sizes_outside_are_refused(size: float) -> None:
    with pytest.raises(OutOfRange, match="over 0 up to 500 mm"):
        limits(size, "H7")
    with pytest.raises(OutOfRange, match="over 0 up to 500 mm"):
        limits_many([10, size], "H7")


@pytest.mark.parametrize(
    ("size", "name", "words"),
    [
        (25, "K9", "up to IT8"),
        (25, "cd8", None),
        (60, "cd8", "up to 50 mm"),
        (20, "t6", "over 24 mm"),
        (12, "v6", "over 14 mm"),
        (15, "Y7", "over 18 mm"),
        (1, "a11", "over 1 mm"),
        (1, "B11", "over 1 mm"),
        (1, "N9", "over 1 mm"),
        (1, "H14", "over 1 mm"),
        (25, "j8", "j5, j6 and j7"),
        (25, "J9", "J6, J7 and J8"),
        (25, "P2", "IT3"),
    ],
)
def test_what_the_standard_does_not_give_is_refused(size: float, name: str, words: str | None) -> None:
    if words is None:
        assert limits(size, name).tolerance_um == 33
        return
    with pytest.raises(OutOfRange, match=words):
        limits(size, name)


def test_bad_classes_are_named() -> None:
    with pytest.raises(Unknown, match="there is no 'Q'"):
        parse_class("Q7")
    with pytest.raises(OutOfRange, match="IT19"):
        parse_class("H19")
    for text in ("", "H", "7", "H7/g6", "H 7", "h-7", "Hg7x"):
        with pytest.raises(Refused, match="cannot read"):
            parse_class(text)
    assert fundamental_deviation_um(2, "K7") == 0
    with pytest.raises(OutOfRange):
        tolerance_unit_um(0, 3)


@pytest.mark.parametrize("edge", [1, 3, 6, 10, 14, 18, 24, 30, 50, 120])
def test_a_sum_in_floats_that_comes_to_the_end_of_a_step_belongs_to_it(edge: int) -> None:
    """ISO 286-1: a step includes its upper end; 3.0000000000000004 mm is 3 mm."""
    for size in (math.nextafter(edge, 0), math.nextafter(edge, 600)):
        for name in ("g6", "P7", "K9" if edge <= 3 else "s6"):
            exact = limits(edge, name)
            found = limits(size, name)
            assert (found.upper_um, found.lower_um) == (exact.upper_um, exact.lower_um)
            assert [float(end[0]) for end in limits_many([size], name)] == [exact.upper_um, exact.lower_um]
