"""Sizes at other temperatures: readings corrected to 20 C, clearances hot, interference hot.

Every function takes one value or an array of values.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from asmade.reckon.joints.checks import not_negative, positive, within

if TYPE_CHECKING:
    from asmade.reckon.joints.checks import Values

REFERENCE_C = 20.0  # ISO 1:2016


def length_at_20_mm(length_mm: Values, at_c: Values, expansion_per_k: Values) -> Values:
    """Length at the reference temperature of a part measured at another with a tool that does not grow.

        L20 = L/(1 + alpha (t - 20))

    Source: reference temperature 20 C, ISO 1:2016; linear expansion, any physics text.
    Range: length above 0; -60 to 400 C; expansion 0 to 1e-4 per K.
    Anchor: 100.02875 mm at 45 C, 11.5e-6 per K: 100.00000 mm (by hand).

    >>> round(length_at_20_mm(100.02875, 45, 11.5e-6), 5)
    100.0
    """
    positive("length", length_mm, "mm")
    return length_mm / _growth(at_c, expansion_per_k)


def length_at_mm(length_20_mm: Values, at_c: Values, expansion_per_k: Values) -> Values:
    """Length at a temperature of a part whose length at 20 C is known.

        L = L20 (1 + alpha (t - 20))

    Source: linear expansion, any physics text; ISO 1:2016.
    Range: length above 0; -60 to 400 C; expansion 0 to 1e-4 per K.
    Anchor: 100 mm, 45 C, 11.5e-6 per K: 100.02875 mm (by hand).

    >>> round(length_at_mm(100, 45, 11.5e-6), 5)
    100.02875
    """
    positive("length", length_20_mm, "mm")
    return length_20_mm * _growth(at_c, expansion_per_k)


def reading_at_20_mm(
    reading_mm: Values,
    *,
    part_c: Values,
    part_expansion_per_k: Values,
    tool_c: Values,
    tool_expansion_per_k: Values,
) -> Values:
    """Reading corrected to 20 C for part and measuring tool at their own temperatures.

        L20 = reading (1 + alpha_t (t_t - 20))/(1 + alpha_p (t_p - 20))

    Tool and part of one metal at one temperature need no correction.

    Source: ISO 1:2016; JCGM 100 H.1 (same model, first order).
    Range: as ``length_at_20_mm``, for both.
    Anchor: bronze 50 mm read 50.010 at 30 C (18e-6) with steel at 20 C: 50.010/1.00018 = 50.0010 (by hand).

    >>> steel_at_20 = dict(tool_c=20, tool_expansion_per_k=11.5e-6)
    >>> round(reading_at_20_mm(50.010, part_c=30, part_expansion_per_k=18e-6, **steel_at_20), 4)
    50.001
    """
    positive("reading", reading_mm, "mm")
    return reading_mm * _growth(tool_c, tool_expansion_per_k) / _growth(part_c, part_expansion_per_k)


def clearance_at_mm(
    hole_20_mm: Values,
    shaft_20_mm: Values,
    *,
    hole_c: Values,
    hole_expansion_per_k: Values,
    shaft_c: Values,
    shaft_expansion_per_k: Values,
) -> Values:
    """Clearance on diameter of two parts at their working temperatures, free to grow; negative = tight by.

        c = H20 (1 + alpha_h (t_h - 20)) - S20 (1 + alpha_s (t_s - 20))

    A bush that is pressed in is not free: its bore follows the part that holds it, and ``interference_at_mm`` says
    how much tighter it is held.

    Source: linear expansion, any physics text; ISO 1:2016.
    Range: sizes above 0; -60 to 400 C; expansion 0 to 1e-4 per K.
    Anchor: bronze bush 8.030 (18e-6) on steel pin 8.000 (11.5e-6), both 120 C:
        0.030 + 8.03 * 0.0018 - 8 * 0.00115 = 0.03525 mm (by hand).

    >>> hot = dict(hole_c=120, hole_expansion_per_k=18e-6, shaft_c=120, shaft_expansion_per_k=11.5e-6)
    >>> round(clearance_at_mm(8.030, 8.000, **hot), 5)
    0.03525
    """
    return length_at_mm(hole_20_mm, hole_c, hole_expansion_per_k) - length_at_mm(
        shaft_20_mm, shaft_c, shaft_expansion_per_k
    )


def interference_at_mm(
    interference_20_mm: Values,
    d_mm: Values,
    *,
    hub_c: Values,
    hub_expansion_per_k: Values,
    shaft_c: Values,
    shaft_expansion_per_k: Values,
) -> Values:
    """Interference on diameter at working temperatures; negative when the joint has come loose.

        U = U20 + d [alpha_s (t_s - 20) - alpha_h (t_h - 20)]

    Source: linear expansion, first order in the interference; DIN 7190-1.
    Range: interference at 20 C 0 or more; d above 0; -60 to 400 C; expansion 0 to 1e-4 per K.
    Anchor: bronze bush (18e-6) in steel (11.5e-6), d 12, U20 0.012, both 120 C: 0.012 + 12 * 6.5e-6 * 100 = 0.0198.

    >>> both = dict(hub_c=120, hub_expansion_per_k=11.5e-6, shaft_c=120, shaft_expansion_per_k=18e-6)
    >>> round(interference_at_mm(0.012, 12, **both), 4)
    0.0198
    """
    not_negative("interference at 20 C", interference_20_mm, "mm")
    positive("joint diameter", d_mm, "mm")
    return interference_20_mm + d_mm * (_growth(shaft_c, shaft_expansion_per_k) - _growth(hub_c, hub_expansion_per_k))


def diameter_change_mm(d_mm: Values, from_c: Values, to_c: Values, expansion_per_k: Values) -> Values:
    """Change of a diameter between two temperatures, negative = smaller; any consistent units of length and degree.

        dD = D alpha (t2 - t1)

    Source: linear expansion, any physics text; trunnion example of Numerical Methods with Applications.
    Range: diameter above 0; expansion 0 to 1e-4 per degree; one mean coefficient for the whole change.
    Anchor: 12.363 in, 80 to -108 F, 6.47e-6 per F: -0.01504 in (Numerical Methods with Applications).

    >>> round(diameter_change_mm(12.363, 80, -108, 6.47e-6), 5)
    -0.01504
    """
    positive("diameter", d_mm, "mm")
    within("coefficient of expansion", expansion_per_k, 0, 1e-4, "per K")
    within("first temperature", from_c, -273.15, 1000, "C")
    within("second temperature", to_c, -273.15, 1000, "C")
    return d_mm * expansion_per_k * (to_c - from_c)


def _growth(at_c: Values, expansion_per_k: Values) -> Values:
    within("temperature", at_c, -60, 400, "C")
    within("coefficient of expansion", expansion_per_k, 0, 1e-4, "per K", way_out="steel is about 11e-6 per K")
    return 1 + expansion_per_k * (at_c - REFERENCE_C)
