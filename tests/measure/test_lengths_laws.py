"""Laws of reading: what is shown is read back, no text crashes it, space counts for nothing, way outs lead out."""

from __future__ import annotations

import re
from fractions import Fraction

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from asmade.measure.errors import Refused
from asmade.measure.lengths import Length, read_angle, read_length, read_thread
from asmade.measure.show import show, show_64ths, show_angle, show_inch, show_mm
from asmade.measure.writing import DIVISIONS

UNITS = st.sampled_from(["mm", "inch"])


@st.composite
def figures(draw):
    """One figure as written, without sign, and what must be read of it in its own unit."""
    kind = draw(st.sampled_from(["whole", "decimal", "fraction", "mixed"]))
    if kind == "whole":
        value = draw(st.integers(0, 90))
        return str(value), Fraction(value)
    if kind == "decimal":
        digits = draw(st.integers(0, 10**6))
        places = draw(st.integers(1, 6))
        whole, part = divmod(digits % (90 * 10**places), 10**places)
        comma = "." if places == 3 else draw(st.sampled_from(".,"))
        return f"{whole}{comma}{part:0{places}}", Fraction(whole * 10**places + part, 10**places)
    below = draw(st.sampled_from(sorted(DIVISIONS)))
    above = draw(st.integers(1, below - 1))
    if kind == "fraction":
        return f"{above}/{below}", Fraction(above, below)
    whole = draw(st.integers(1, 90))
    return f"{whole}{draw(st.sampled_from(' -'))}{above}/{below}", whole + Fraction(above, below)


SIZES = {"mm": Fraction(1), "in": Fraction("25.4"), '"': Fraction("25.4"), "thou": Fraction("0.0254")}


@st.composite
def measures(draw):
    """One figure with its unit, and its value in mm."""
    written, value = draw(figures())
    unit = draw(st.sampled_from(sorted(SIZES)))
    return f"{written}{draw(st.sampled_from([' ', '']))}{unit}", value * SIZES[unit]


@st.composite
def texts(draw):
    """A text of any accepted sort."""
    kind = draw(st.sampled_from(["one", "sum", "tolerance", "plus-minus", "limits", "class", "remark", "name"]))
    first, _ = draw(measures())
    if kind == "sum":
        more = draw(st.lists(st.tuples(st.sampled_from("+-"), measures()), min_size=1, max_size=4))
        return first + "".join(f" {sign} {written}" for sign, (written, _) in more)
    if kind == "tolerance":
        upper, lower = (draw(measures())[0] for _ in range(2))
        return draw(
            st.sampled_from([f"{first} +{upper} -{lower}", f"{first} +{upper}/-{lower}", f"{first} 0 -{lower}"])
        )
    if kind == "plus-minus":
        return f"{first} {draw(st.sampled_from(['+/-', '±', '+/- ', '+-']))}{draw(measures())[0]}"
    if kind == "limits":
        low, high = (draw(st.decimals(0, 90, places=4)) for _ in range(2))
        return f"{low}/{high}{draw(st.sampled_from(['', ' mm', ' in']))}"
    if kind == "class":
        return f"{first} {draw(st.sampled_from(['h8', 'H7', 'js13', 'M6', 'ZA9', 'e8']))}"
    if kind == "remark":
        return f"{first} {draw(st.sampled_from(['full', 'bare']))}"
    if kind == "name":
        names = [
            f"No. {draw(st.integers(1, 97))}",
            f"#{draw(st.integers(1, 97))} drill",
            f"letter {draw(st.sampled_from('AFZ'))}",
        ]
        return draw(st.sampled_from([*names, f"{draw(st.integers(0, 50))} SWG", f"{draw(st.integers(2, 5))}/0 BWG"]))
    return first


def read_or_none(text, unit, *, signed=True):
    try:
        return read_length(text, unit=unit, signed=signed)
    except Refused:
        return None


@given(measures(), UNITS)
def test_one_figure_is_read_exactly(measure, unit):
    text, mm = measure
    assert read_length(text, unit=unit).mm == mm


@given(st.lists(st.tuples(st.sampled_from("+-"), measures()), min_size=3, max_size=5), measures(), UNITS)
def test_a_sum_is_the_sum(more, first, unit):
    text = first[0] + "".join(f" {sign} {written}" for sign, (written, _) in more)
    total = first[1] + sum(mm if sign == "+" else -mm for sign, (_, mm) in more)
    assume(abs(total) <= 10_000)
    assert read_length(text, unit=unit, signed=True).mm == total


@settings(max_examples=400)
@given(texts(), UNITS, UNITS)
@example("1/96 in + 0.001 in", "inch", "mm")
@example("1/3 thou +/-1/96 thou", "inch", "mm")
@example("0.1234567890/0.1234567892 mm", "mm", "inch")
@example("0.123456 thou + 1 mm", "inch", "mm")
def test_what_is_shown_is_read_back(text, unit, other):
    found = read_or_none(text, unit)
    assume(found is not None)
    assert read_length(show(found), unit=other, signed=True) == found


@settings(max_examples=400)
@given(texts(), UNITS, st.integers(1, 3), st.sampled_from(["", " ", "\t", "\u00a0"]))
def test_extra_space_changes_nothing(text, unit, times, around):
    spaced = around + text.replace(" ", " " * times) + around
    assert read_or_none(spaced, unit) == read_or_none(text, unit)


@settings(max_examples=400)
@given(texts(), UNITS, st.data())
def test_space_put_anywhere_never_gives_another_size(text, unit, data):
    """Space between figures and signs: read the same, or refused; never silently something else."""
    at = data.draw(st.integers(0, len(text)))
    assume(not (text[:at][-1:].isdigit() and text[at:][:1].isdigit()))  # splits a number in two
    before, after = read_or_none(text, unit), read_or_none(text[:at] + " " + text[at:], unit)
    assert before is None or after is None or before == after


ALPHABET = "0123456789 .,/-+±\"'#°½⅜xXmMinthouNoHh7SWGdrillfull\u2044³₆eE()"


@settings(max_examples=600)
@given(st.one_of(st.text(max_size=30), st.text(ALPHABET, max_size=14)), UNITS, st.booleans())
@example("1\u215f", "inch", True)
@example("0 0/1", "mm", False)
def test_any_text_is_read_or_refused(text, unit, signed):
    try:
        found = read_length(text, unit=unit, signed=signed)
    except Refused as refused:
        assert refused.reason  # noqa: PT017  # both ends are right here, and each is looked at
        assert refused.way_out  # noqa: PT017  # as above
        return
    assert isinstance(found, Length)
    assert signed or found.mm >= 0
    assert abs(found.mm) <= 10_000
    assert read_length(show(found), unit=unit, signed=True) == found


@settings(max_examples=400)
@given(st.text(ALPHABET, max_size=12), UNITS)
@example("1 -3/16", "inch")
@example("12.5+0.02-0.01", "mm")
@example("1,234", "inch")
def test_every_way_out_that_is_offered_is_read(text, unit):
    try:
        read_length(text, unit=unit)
    except Refused as refused:
        if refused.way_out.startswith("write "):
            for spelling in re.findall(r"'([^']*)'", refused.way_out):
                read_length(spelling, unit=unit)


@settings(max_examples=400)
@given(st.one_of(st.text(max_size=20), st.text("0123456789 .,/-+°'\"dmsegrabBASWFMUNCx#½", max_size=14)))
def test_any_text_is_an_angle_and_a_thread_or_refused(text):
    for reader in (read_angle, read_thread):
        try:
            found = reader(text)
        except Refused as refused:
            assert refused.way_out  # noqa: PT017
            continue
        again = read_angle(show_angle(found)) if reader is read_angle else read_thread(found.designation)
        assert again == found


@given(st.floats(-9000, 9000), st.sampled_from(["0.01", "0.001", "0.05", "0.5", "1", "0.0001"]))
def test_rounding_is_to_the_nearest_step_and_never_minus_nothing(mm, step):
    shown = show_mm(mm, step)
    assert abs(Fraction(shown) - Fraction(repr(mm))) <= Fraction(step) / 2
    assert Fraction(shown) % Fraction(step) == 0
    assert not (shown.startswith("-") and Fraction(shown) == 0)
    assert not show_inch(mm, step).startswith("-0.00") or Fraction(show_inch(mm, step)) != 0


@given(st.fractions(-2000, 2000, max_denominator=10**6))
def test_nearest_64th_with_its_remainder_is_read_back_to_a_tenth_of_a_thou(mm):
    read = read_length(show_64ths(mm), unit="mm", signed=True).mm
    assert abs(read - mm) <= Fraction("0.0254") / 20
