"""Thick rings by Lame's equations: what a press or shrink fit does to the two parts. Plane stress, elastic.

Every function takes one value or an array of values. Symbols: d joint diameter, D outside diameter of the hub, b bore
of the shaft (0 = solid), delta interference on diameter, p pressure at the joint, E and nu of each part.
Formulas hold in any consistent units; words and messages speak of mm and MPa.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from asmade.reckon.joints.checks import larger, not_negative, positive, within

if TYPE_CHECKING:
    from asmade.reckon.joints.checks import Values

SOURCE = "Lame, plane stress: Shigley, Mechanical Engineering Design, press and shrink fits"


def compliance_per_mpa(
    d_mm: Values,
    hub_od_mm: Values,
    shaft_bore_mm: Values,
    e_hub_mpa: Values,
    nu_hub: Values,
    e_shaft_mpa: Values,
    nu_shaft: Values,
) -> Values:
    """Interference per unit of diameter that raises the joint pressure by 1 MPa.

        K = [(D^2 + d^2)/(D^2 - d^2) + nu_hub]/E_hub + [(d^2 + b^2)/(d^2 - b^2) - nu_shaft]/E_shaft

    Source: Lame, plane stress; Shigley, Mechanical Engineering Design, press and shrink fits.
    Range: elastic; 0 <= b < d < D; E above 0; 0 <= nu < 0.5.
    Anchor: steel in steel, d 20, D 40, solid, E 210000: K = 2 * D^2/(D^2 - d^2)/E = 1.26984e-5 (by hand).

    >>> f"{compliance_per_mpa(20, 40, 0, 210000, 0.3, 210000, 0.3):.5e}"
    '1.26984e-05'
    """
    _geometry(d_mm, hub_od_mm, shaft_bore_mm)
    for part, e, nu in (("hub", e_hub_mpa, nu_hub), ("shaft", e_shaft_mpa, nu_shaft)):
        positive(f"modulus of elasticity of the {part}", e, "MPa")
        within(f"Poisson's ratio of the {part}", nu, 0, 0.4999, "")
    d2, big2, b2 = d_mm**2, hub_od_mm**2, shaft_bore_mm**2
    hub = ((big2 + d2) / (big2 - d2) + nu_hub) / e_hub_mpa
    return hub + ((d2 + b2) / (d2 - b2) - nu_shaft) / e_shaft_mpa


def contact_pressure_mpa(
    interference_mm: Values,
    d_mm: Values,
    hub_od_mm: Values,
    shaft_bore_mm: Values,
    *,
    e_hub_mpa: Values,
    nu_hub: Values,
    e_shaft_mpa: Values,
    nu_shaft: Values,
) -> Values:
    """Pressure at the joint for an interference on diameter.

        p = delta / (d K),  K as ``compliance_per_mpa``

    Source: Lame, plane stress; Shigley, Mechanical Engineering Design, press and shrink fits.
    Range: interference 0 or more (a clearance has no pressure); elastic; 0 <= b < d < D.
    Anchor: compound cylinder 4/6/8 in radii, 0.005 in radial, E 30e6 psi: 4050 psi (Timoshenko, Strength of
        Materials Part II).

    >>> steel = dict(e_hub_mpa=30e6, nu_hub=0.3, e_shaft_mpa=30e6, nu_shaft=0.3)
    >>> round(contact_pressure_mpa(0.010, 12, 16, 8, **steel))
    4051
    """
    not_negative("interference", interference_mm, "mm", "negative is a clearance: it holds nothing by pressure")
    k = compliance_per_mpa(d_mm, hub_od_mm, shaft_bore_mm, e_hub_mpa, nu_hub, e_shaft_mpa, nu_shaft)
    return interference_mm / (d_mm * k)


def interference_for_pressure_mm(
    pressure_mpa: Values,
    d_mm: Values,
    hub_od_mm: Values,
    shaft_bore_mm: Values,
    *,
    e_hub_mpa: Values,
    nu_hub: Values,
    e_shaft_mpa: Values,
    nu_shaft: Values,
) -> Values:
    """Interference on diameter that gives a wanted pressure: the reverse of ``contact_pressure_mpa``.

        delta = p d K

    Source: Lame, plane stress; Shigley, Mechanical Engineering Design, press and shrink fits.
    Range: pressure 0 or more; elastic; 0 <= b < d < D.
    Anchor: steel in steel, d 20, D 40: 78.75 MPa needs 0.020 mm (by hand).

    >>> steel = dict(e_hub_mpa=210000, nu_hub=0.3, e_shaft_mpa=210000, nu_shaft=0.3)
    >>> round(interference_for_pressure_mm(78.75, 20, 40, 0, **steel), 6)
    0.02
    """
    not_negative("pressure", pressure_mpa, "MPa")
    return (
        pressure_mpa
        * d_mm
        * compliance_per_mpa(d_mm, hub_od_mm, shaft_bore_mm, e_hub_mpa, nu_hub, e_shaft_mpa, nu_shaft)
    )


def hoop_at(
    at_r: Values, inner_r: Values, outer_r: Values, *, inside_mpa: Values = 0.0, outside_mpa: Values = 0.0
) -> Values:
    """Hoop stress in a thick ring at radius ``at_r``, tension positive, for pressures at its inner and outer surface.

        sigma_t = (p_i a^2 - p_o c^2)/(c^2 - a^2) + (p_i - p_o) a^2 c^2 / ((c^2 - a^2) r^2)

    For joints only. Boilers and cylinders under steam follow their code and inspector, not this sum.

    Source: Lame; Timoshenko, Strength of Materials Part II; Shigley, Mechanical Engineering Design.
    Range: 0 <= a <= r <= c, a < c, r > 0; pressures 0 or more; elastic.
    Anchor: 4 and 8 in radii, 30000 inside, at 8 in: 20000 (Timoshenko, Strength of Materials Part II).

    >>> round(hoop_at(8, 4, 8, inside_mpa=30000))
    20000
    """
    _ring(at_r, inner_r, outer_r, inside_mpa, outside_mpa)
    a2, c2 = inner_r**2, outer_r**2
    return (inside_mpa * a2 - outside_mpa * c2) / (c2 - a2) + (inside_mpa - outside_mpa) * a2 * c2 / (
        (c2 - a2) * at_r**2
    )


def radial_at(
    at_r: Values, inner_r: Values, outer_r: Values, *, inside_mpa: Values = 0.0, outside_mpa: Values = 0.0
) -> Values:
    """Radial stress in a thick ring at radius ``at_r``, tension positive.

        sigma_r = (p_i a^2 - p_o c^2)/(c^2 - a^2) - (p_i - p_o) a^2 c^2 / ((c^2 - a^2) r^2)

    Source: Lame; Timoshenko, Strength of Materials Part II; Shigley, Mechanical Engineering Design.
    Range: 0 <= a <= r <= c, a < c, r > 0; pressures 0 or more; elastic.
    Anchor: at the inner surface it is -p_i, at the outer -p_o (definition).

    >>> radial_at(4, 4, 8, inside_mpa=30.0), radial_at(8, 4, 8, inside_mpa=30.0)
    (-30.0, 0.0)
    """
    _ring(at_r, inner_r, outer_r, inside_mpa, outside_mpa)
    a2, c2 = inner_r**2, outer_r**2
    return (inside_mpa * a2 - outside_mpa * c2) / (c2 - a2) - (inside_mpa - outside_mpa) * a2 * c2 / (
        (c2 - a2) * at_r**2
    )


def hub_hoop_mpa(pressure_mpa: Values, d_mm: Values, hub_od_mm: Values) -> Values:
    """Greatest hoop stress in the hub, at its bore: tension.

        sigma_t = p (D^2 + d^2)/(D^2 - d^2)

    Source: Lame; Shigley, Mechanical Engineering Design, press and shrink fits.
    Range: pressure 0 or more; 0 < d < D; elastic.
    Anchor: d 20, D 40, p 78.75: 131.25 MPa (by hand: p * 5/3).

    >>> round(hub_hoop_mpa(78.75, 20, 40), 6)
    131.25
    """
    not_negative("pressure", pressure_mpa, "MPa")
    _geometry(d_mm, hub_od_mm, 0.0)
    return pressure_mpa * (hub_od_mm**2 + d_mm**2) / (hub_od_mm**2 - d_mm**2)


def shaft_hoop_mpa(pressure_mpa: Values, d_mm: Values, shaft_bore_mm: Values) -> Values:
    """Greatest hoop stress in the shaft, negative = compression: at the bore, or anywhere in a solid shaft.

        hollow: sigma_t = -2 p d^2/(d^2 - b^2);   solid: sigma_t = -p

    A hole however small doubles it, as in the formulas; that is no slip.

    Source: Lame; Shigley, Mechanical Engineering Design, press and shrink fits.
    Range: pressure 0 or more; 0 <= b < d; elastic.
    Anchor: d 10, b 6, p 52.5896: -164.34 MPa (by hand: -p * 200/64).

    >>> round(shaft_hoop_mpa(52.5896, 10, 6), 2), shaft_hoop_mpa(50.0, 10, 0)
    (-164.34, -50.0)
    """
    not_negative("pressure", pressure_mpa, "MPa")
    _shaft(d_mm, shaft_bore_mm)
    factor = cast("Values", 1.0 + (shaft_bore_mm > 0))  # 1 solid, 2 hollow, one value or many
    return -pressure_mpa * factor * d_mm**2 / (d_mm**2 - shaft_bore_mm**2)


def von_mises_mpa(hoop_mpa: Values, radial_mpa: Values) -> Values:
    """Equivalent stress of hoop and radial stress, no axial stress.

        sigma_v = sqrt(sigma_t^2 - sigma_t sigma_r + sigma_r^2)

    Source: von Mises criterion, plane stress; Shigley, Mechanical Engineering Design.
    Range: any stresses; ductile metals (grey cast iron is judged by its tensile strength instead).
    Anchor: hoop 131.25, radial -78.75: 183.75 MPa (by hand).

    >>> von_mises_mpa(131.25, -78.75)
    183.75
    """
    within("hoop stress", hoop_mpa, -1e12, 1e12, "MPa")
    within("radial stress", radial_mpa, -1e12, 1e12, "MPa")
    root: Values = (hoop_mpa**2 - hoop_mpa * radial_mpa + radial_mpa**2) ** 0.5
    return root


def hub_growth_mm(pressure_mpa: Values, d_mm: Values, hub_od_mm: Values, e_hub_mpa: Values) -> Values:
    """Growth of the hub's outside diameter.

        dD = 2 p d^2 D/((D^2 - d^2) E)

    Source: Lame (hoop strain at the free surface); Shigley, Mechanical Engineering Design.
    Range: pressure 0 or more; 0 < d < D; elastic.
    Anchor: d 20, D 40, p 78.75, E 210000: 0.010 mm (by hand).

    >>> round(hub_growth_mm(78.75, 20, 40, 210000), 6)
    0.01
    """
    not_negative("pressure", pressure_mpa, "MPa")
    _geometry(d_mm, hub_od_mm, 0.0)
    positive("modulus of elasticity of the hub", e_hub_mpa, "MPa")
    return 2 * pressure_mpa * d_mm**2 * hub_od_mm / ((hub_od_mm**2 - d_mm**2) * e_hub_mpa)


def bore_closing_mm(pressure_mpa: Values, d_mm: Values, shaft_bore_mm: Values, e_shaft_mpa: Values) -> Values:
    """How much the bore of a pressed-in bush closes in, on diameter; 0 for a solid shaft.

        db = 2 p d^2 b/((d^2 - b^2) E)

    Source: Lame (hoop strain at the free surface); Shigley, Mechanical Engineering Design.
    Range: pressure 0 or more; 0 <= b < d; elastic.
    Anchor: d 10, b 6, p 52.5896, E 110000: 164.34/110000 * 6 = 0.00896 mm (by hand).

    >>> round(bore_closing_mm(52.5896, 10, 6, 110000), 5)
    0.00896
    """
    not_negative("pressure", pressure_mpa, "MPa")
    _shaft(d_mm, shaft_bore_mm)
    positive("modulus of elasticity of the shaft", e_shaft_mpa, "MPa")
    return 2 * pressure_mpa * d_mm**2 * shaft_bore_mm / ((d_mm**2 - shaft_bore_mm**2) * e_shaft_mpa)


def _geometry(d_mm: Values, hub_od_mm: Values, shaft_bore_mm: Values) -> None:
    _shaft(d_mm, shaft_bore_mm)
    larger(
        "outside diameter of the hub", hub_od_mm, "the joint diameter", d_mm, "mm", "a hub needs metal round its bore"
    )


def _shaft(d_mm: Values, shaft_bore_mm: Values) -> None:
    positive("joint diameter", d_mm, "mm")
    not_negative("bore of the shaft", shaft_bore_mm, "mm", "give 0 for a solid shaft")
    larger("joint diameter", d_mm, "the bore of the shaft", shaft_bore_mm, "mm")


def _ring(at_r: Values, inner_r: Values, outer_r: Values, inside: Values, outside: Values) -> None:
    not_negative("inner radius", inner_r, "mm")
    larger("outer radius", outer_r, "the inner radius", inner_r, "mm")
    positive("radius", at_r, "mm")
    not_negative("distance from the inner surface", at_r - inner_r, "mm")
    not_negative("distance from the outer surface", outer_r - at_r, "mm")
    not_negative("pressure inside", inside, "MPa")
    not_negative("pressure outside", outside, "MPa")
