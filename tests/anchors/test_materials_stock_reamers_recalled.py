"""Strengths of bar and castings, delivery of bright bar, limits of reamers, written out once more from memory.

From memory, not confirmed against printed copies, unless a rule stands beside them.
"""

from __future__ import annotations

import pytest

from asmade.standards.materials import material
from asmade.standards.reamers import reamer_limits
from asmade.standards.stock import delivery, mass_per_metre_kg

# material, condition: size inside the step, proof, tensile least, tensile most, elongation; "-" = not given
STRENGTHS = """
11SMn30 +C|8 440 510 810 6|12 410 490 760 7|25 375 460 710 8|50 305 400 650 9|80 245 360 630 9
11SMnPb30 +C|8 440 510 810 6|12 410 490 760 7|25 375 460 710 8|50 305 400 650 9|80 245 360 630 9
S235JRC +C|8 355 470 840 8|12 300 420 770 9|25 260 390 730 10|50 235 380 670 11|80 215 360 640 11
080M40 +C|8 565 750 1050 5|12 500 710 1030 6|25 410 650 1000 7|50 360 630 900 8|80 310 580 850 8
080M15 +C|8 380 500 800 7|12 340 480 780 8|25 280 430 730 9|50 240 380 670 11|80 215 340 600 12
070M20 bright_drawn|10 440 560 - 10|14 420 530 - 12|25 380 490 - 12|50 355 480 - 13|70 340 450 - 14
080M40 normalised|50 280 550 - 16
817M40 T|50 650 850 1000 13
605M36 T|50 680 850 1000 13
S275JR hot_rolled|10 275 410 560 23|25 265 410 560 23|50 255 410 560 22|70 245 410 560 21
1.4305 solution_annealed|50 190 500 750 35
1.4301 solution_annealed|50 190 500 700 45
1.4401 solution_annealed|50 200 500 700 40
1.4005 QT650|50 450 650 850 12
CC481K sand_cast_GS|- 130 250 - 5
CC481K die_cast_GM|- 170 310 - 2
CC481K continuously_cast_GC|- 170 350 - 5
CC481K centrifugally_cast_GZ|- 170 330 - 4
CC491K sand_cast_GS|- 90 200 - 13
CC491K die_cast_GM|- 110 220 - 6
CC491K continuously_cast_GC|- 110 250 - 13
CC491K centrifugally_cast_GZ|- 110 250 - 13
CC492K sand_cast_GS|- 130 230 - 14
CC492K continuously_cast_GC|- 130 270 - 16
CC493K sand_cast_GS|- 120 230 - 15
CC493K continuously_cast_GC|- 120 260 - 12
CW614N R360|20 160 360 - 20
CW614N R430|10 220 430 - 10
CW614N R500|10 350 500 - 5
6082-T6 extruded_bar|15 250 295 - 8|50 260 310 - 8|180 240 280 - 6|220 200 270 - 6
2014A-T6 extruded_bar|20 370 415 - 6|50 415 460 - 7|100 420 465 - 7|180 350 430 - 6
2011-T3 drawn_bar|20 270 320 - 10|45 250 300 - 10|60 210 280 - 10
EN-GJS-400-15 separately_cast|- 250 400 - 15
"""
QUANTITIES = ("proof_least", "tensile_least", "tensile_most", "elongation_least")


@pytest.mark.parametrize("line", STRENGTHS.strip().splitlines(), ids=lambda line: line.split("|")[0].replace(" ", "-"))
def test_recalled_strengths(line: str) -> None:
    """EN 10277-2, -3, -4, EN 10025-2, EN 10088-3, EN 1982, EN 1563, EN 12164, EN 755-2, EN 754-2, BS 970; from memory."""
    head, *steps = line.split("|")
    name, condition = head.split()
    held = material(name)
    for step in steps:
        size, *values = step.split()
        for quantity, value in zip(QUANTITIES, values, strict=True):
            if value == "-":
                continue
            at = None if size == "-" else float(size)
            found = held.value(quantity, size_mm=at, condition=condition.replace("_", " "))
            assert found.value == float(value), (step, quantity)


@pytest.mark.parametrize(
    ("iron", "walls"),
    [
        ("EN-GJL-200", {4: 230, 8: 205, 15: 180, 30: 155, 60: 130, 100: 115}),
        ("EN-GJL-250", {8: 250, 15: 225, 30: 195, 60: 170, 100: 155}),
    ],
)
def test_recalled_grey_iron_in_the_wall(iron: str, walls: dict[int, int]) -> None:
    """EN 1561:1997 Table 1, anticipated tensile strength in the casting, from memory."""
    held = material(iron)
    assert {wall: held.value("tensile_in_wall", size_mm=wall, condition="wall").value for wall in walls} == walls


@pytest.mark.parametrize(
    ("name", "density", "modulus", "expansion"),
    [
        ("mild steel", (7.83, 7.87), (200, 212), (11.0, 12.5)),
        ("silver steel", (7.75, 7.87), (200, 215), (10.5, 12.5)),
        ("cast iron", (7.1, 7.35), (95, 125), (9.0, 12.0)),
        ("SG iron", (7.05, 7.2), (160, 176), (11.0, 13.0)),
        ("gunmetal", (8.6, 8.9), (75, 105), (17.5, 19.0)),
        ("PB1", (8.6, 8.9), (85, 115), (17.0, 19.0)),
        ("CZ121", (8.4, 8.55), (95, 105), (19.5, 21.5)),
        ("copper", (8.9, 8.96), (115, 130), (16.5, 17.7)),
        ("303", (7.8, 8.05), (190, 203), (15.5, 17.5)),
        ("416", (7.6, 7.8), (195, 220), (9.5, 11.5)),
        ("6082", (2.68, 2.72), (68, 72), (22.5, 24.0)),
        ("dural", (2.77, 2.83), (70, 74), (22.0, 23.5)),
    ],
)
def test_physical_constants_lie_where_handbooks_put_them(
    name: str, density: tuple[float, float], modulus: tuple[float, float], expansion: tuple[float, float]
) -> None:
    """Ranges that Machinery's Handbook, the ASM Metals Handbook and Kaye and Laby span, from memory."""
    held = material(name)
    assert density[0] <= held.density_kg_m3 / 1000 <= density[1]
    assert modulus[0] <= held.youngs_modulus_mpa / 1000 <= modulus[1]
    assert expansion[0] <= held.expansion_per_k * 1e6 <= expansion[1]


@pytest.mark.parametrize(
    ("shape", "size", "lower"),
    [
        ("round bar", 3, -25), ("round bar", 6, -30), ("round bar", 10, -36), ("round bar", 18, -43),
        ("round bar", 30, -52), ("round bar", 50, -62), ("round bar", 80, -74), ("hexagon bar", 3, -60),
        ("hexagon bar", 6, -75), ("hexagon bar", 10, -90), ("hexagon bar", 17, -110), ("hexagon bar", 24, -130),
        ("hexagon bar", 36, -160), ("square bar", 8, -90), ("square bar", 20, -130), ("square bar", 60, -190),
        ("flat width", 50, -160), ("flat width", 100, -220), ("flat thickness", 3, -60), ("flat thickness", 12, -110),
        ("ground bar", 6, -18), ("ground bar", 12, -27), ("ground bar", 20, -33),
    ],
)  # fmt: skip
def test_recalled_delivery_of_bright_bar(shape: str, size: float, lower: float) -> None:
    """EN 10278: round h9, hexagon, square and flat h11, ground h8 (deviations of ISO 286-2), from memory."""
    found = delivery(size, shape)
    assert (found.upper_um, found.lower_um) == (0, lower)


def test_mass_of_bar_by_hand() -> None:
    """10 mm round steel 0.617 kg/m, 25 mm square 4.91, 20 mm hexagon 2.72 (7850 kg/m3, stock lists)."""
    assert mass_per_metre_kg("round bar", 10, 7850) == pytest.approx(0.617, abs=0.001)
    assert mass_per_metre_kg("square bar", 25, 7850) == pytest.approx(4.906, abs=0.002)
    assert mass_per_metre_kg("hexagon bar", 20, 7850) == pytest.approx(2.719, abs=0.002)


@pytest.mark.parametrize(
    ("size", "upper", "lower"),
    [(2, 8, 4), (5, 10, 5), (8, 12, 6), (12, 15, 8), (25, 17, 9), (40, 21, 12), (60, 25, 14), (100, 29, 16)],
)
def test_recalled_reamers_for_h7(size: float, upper: float, lower: float) -> None:
    """DIN 1420 (ISO 522), reamers m for H7 holes, from memory: 0.15 and 0.35 of the tolerance, rounded up."""
    found = reamer_limits(size, "H7")
    got = ((found.greatest_mm - size) * 1000, (found.least_mm - size) * 1000)
    assert got == pytest.approx((upper, lower), abs=1e-6)
