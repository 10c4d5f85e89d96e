"""What a press or shrink joint holds, what it takes to press it, how warm or cold it goes together or apart.

Every function takes one value or an array of values.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, cast

from asmade.measure.errors import OutOfRange
from asmade.reckon.joints.checks import not_negative, positive, within

if TYPE_CHECKING:
    from asmade.reckon.joints.checks import Values

HOTTEST_HUB_C = 350
"""What a hub of plain steel, cast steel or iron may be heated to (DIN 7190-1, from memory); less if hardened."""


def smoothing_loss_um(rz_shaft_um: Values, rz_hub_um: Values) -> Values:
    """Interference lost because the peaks of both surfaces are pressed flat.

        U_R = 0.8 (Rz_shaft + Rz_hub)

    Source: DIN 7190-1:2017, from memory: check before relying on it.
    Range: Rz 0 or more; metal on metal, pressed or shrunk.
    Anchor: Rz 4 and 6.3: 8.24 um (by hand).

    >>> round(smoothing_loss_um(4, 6.3), 6)
    8.24
    """
    not_negative("roughness Rz of the shaft", rz_shaft_um, "um")
    not_negative("roughness Rz of the hub", rz_hub_um, "um")
    return 0.8 * (rz_shaft_um + rz_hub_um)


def effective_interference_um(interference_um: Values, rz_shaft_um: Values, rz_hub_um: Values) -> Values:
    """Interference that is left to press after smoothing; 0 when smoothing takes it all.

        U_w = max(0, U - U_R)

    Source: DIN 7190-1:2017, from memory: check before relying on it.
    Range: interference 0 or more, Rz 0 or more.
    Anchor: U 20, Rz 4 and 6.3: 11.76 um (by hand).

    >>> round(effective_interference_um(20, 4, 6.3), 6)
    11.76
    """
    not_negative("interference", interference_um, "um", "negative is a clearance: it holds nothing by pressure")
    left = interference_um - smoothing_loss_um(rz_shaft_um, rz_hub_um)
    return cast("Values", left * (left > 0))


def axial_force_n(pressure_mpa: Values, d_mm: Values, length_mm: Values, friction: Values) -> Values:
    """Axial force at which the joint slips; with the friction of pressing, also the force to press in or out.

        F = mu p pi d L

    Source: Coulomb friction on the joint cylinder; Shigley, Mechanical Engineering Design, press and shrink fits.
    Range: pressure 0 or more; d, L above 0; friction above 0 up to 1.
    Anchor: p 78.75, d 20, L 20, mu 0.12: 11 875 N (by hand).

    >>> round(axial_force_n(78.75, 20, 20, 0.12))
    11875
    """
    not_negative("pressure", pressure_mpa, "MPa")
    positive("joint diameter", d_mm, "mm")
    positive("joint length", length_mm, "mm")
    _friction(friction)
    return friction * pressure_mpa * math.pi * d_mm * length_mm


def slip_torque_nm(pressure_mpa: Values, d_mm: Values, length_mm: Values, friction: Values) -> Values:
    """Torque at which the joint slips, in N m.

        T = mu p pi d^2 L / 2

    Source: Coulomb friction on the joint cylinder; Shigley, Mechanical Engineering Design, press and shrink fits.
    Range: pressure 0 or more; d, L above 0; friction above 0 up to 1.
    Anchor: p 78.75, d 20, L 20, mu 0.12: 118.75 N m (by hand).

    >>> round(slip_torque_nm(78.75, 20, 20, 0.12), 2)
    118.75
    """
    return axial_force_n(pressure_mpa, d_mm, length_mm, friction) * d_mm / 2000


def heat_hub_to_c(
    interference_um: Values,
    d_mm: Values,
    expansion_per_k: Values,
    *,
    ambient_c: Values,
    clearance_um: Values | None = None,
    top_c: float | None = None,
) -> Values:
    """Temperature at which a heated hub slips on with a clearance to spare.

        t = t0 + (U + S)/(alpha d),   S = 0.001 d unless given

    ``top_c`` is what the metal may stand (lead-loaded brass, hardened parts, paint): above it the sum is refused.
    Cautions: hot work burns and sets fire to oil and solvent; adhesive residues give off fumes; never heat a casting
    with trapped oil or a closed hollow.

    Source: DIN 7190-1 (clearance for shrinking 0.001 d).
    Range: interference 0 or more; expansion above 0 up to 1e-4 per K; hub below ``top_c``.
    Anchor: 25 mm, U 48 um, S 25 um, 11e-6, 20 C: 285.5 C (by hand).

    >>> round(heat_hub_to_c(48, 25, 11e-6, ambient_c=20), 1)
    285.5
    """
    wanted = _expand_by(interference_um, d_mm, expansion_per_k, ambient_c, clearance_um)
    found = ambient_c + wanted
    if top_c is not None:
        within(
            "temperature of the hub", found, -273.15, top_c, "C", way_out="less interference, or cool the shaft as well"
        )
    return found


def expansion_when_cold_per_k(expansion_per_k: Values) -> Values:
    """Mean coefficient to reckon with when a part is cooled well below the room: metals shrink less than they grow.

        alpha_cold = alpha * 8.5/11

    Source: DIN 7190-1, table of expansion when heated and cooled (steel 11 and 8.5, grey iron 10 and 8, aluminium 23
        and 18, all e-6 per K), from memory; the least share, that of steel, is taken for every metal, on the safe side.
    Range: expansion above 0 up to 1e-4 per K; from room temperature down to dry ice or liquid nitrogen.
    Anchor: steel 11e-6: 8.5e-6 (DIN 7190-1).

    >>> round(expansion_when_cold_per_k(11e-6) * 1e6, 3)
    8.5
    """
    _expansion(expansion_per_k)
    return expansion_per_k * (8.5 / 11)


def cool_shaft_to_c(
    interference_um: Values,
    d_mm: Values,
    expansion_per_k: Values,
    *,
    ambient_c: Values,
    clearance_um: Values | None = None,
) -> Values:
    """Temperature at which a cooled shaft slips in with a clearance to spare.

        t = t0 - (U + S)/(alpha d),   S = 0.001 d unless given

    Metals shrink less when cold: take the mean coefficient over the cold range, see ``expansion_when_cold_per_k``.
    Dry ice reaches about -78 C. Cautions: cold burns the skin; carbon dioxide and nitrogen smother in a closed room.

    Source: DIN 7190-1; coefficient when cold from memory.
    Range: interference 0 or more; expansion above 0 up to 1e-4 per K; not below -196 C (liquid nitrogen).
    Anchor: 12 mm, U 10 um, S 4 um, 11e-6, 20 C: -86.1 C (by hand).

    >>> round(cool_shaft_to_c(10, 12, 11e-6, ambient_c=20, clearance_um=4), 1)
    -86.1
    """
    found = ambient_c - _expand_by(interference_um, d_mm, expansion_per_k, ambient_c, clearance_um)
    within("temperature of the shaft", found, -196, 1000, "C", way_out="heat the hub as well, or less interference")
    return found


def loose_at_c(
    interference_um: float, d_mm: float, expansion_hub_per_k: float, expansion_shaft_per_k: float, *, ambient_c: float
) -> float | None:
    """Temperature at which a joint, warm or cold through and through, has no interference left; None = never.

        t = t0 + U/((alpha_hub - alpha_shaft) d)

    Two parts of the same metal never come loose by warming both; heat the hub alone and quickly
    (``heat_hub_to_c`` with no clearance).

    Source: linear expansion, any physics text.
    Range: interference 0 or more; each expansion above 0 up to 1e-4 per K; None also if it lies below -273 C.
    Anchor: aluminium hub 23e-6 on steel 11e-6, 20 mm, U 24 um, 20 C: 20 + 24/(12e-6 * 20e3) = 120 C (by hand).

    >>> round(loose_at_c(24, 20, 23e-6, 11e-6, ambient_c=20), 3)
    120.0
    >>> loose_at_c(24, 20, 11e-6, 11e-6, ambient_c=20) is None
    True
    """
    not_negative("interference", interference_um, "um")
    positive("joint diameter", d_mm, "mm")
    _expansion(expansion_hub_per_k)
    _expansion(expansion_shaft_per_k)
    within("room temperature", ambient_c, -60, 60, "C")
    difference = expansion_hub_per_k - expansion_shaft_per_k
    if difference == 0:
        return None
    found = ambient_c + interference_um / 1000 / (difference * d_mm)
    return found if found > -273.15 else None


def hub_od_from_wall_mm(d_mm: float, least_wall_mm: float) -> float:
    """Outside diameter of the ring to reckon with when the boss is not round: its thinnest wall taken all round.

        D = d + 2 w

    Source: common practice, no source; on the safe side, since a thicker ring is stressed less at its bore.
    Range: d and wall above 0.
    Anchor: pin 6 mm, thinnest wall 3 mm: 12 mm (by hand).

    >>> hub_od_from_wall_mm(6, 3)
    12
    """
    positive("joint diameter", d_mm, "mm")
    positive("thinnest wall", least_wall_mm, "mm")
    return d_mm + 2 * least_wall_mm


def _expand_by(
    interference_um: Values,
    d_mm: Values,
    expansion_per_k: Values,
    ambient_c: Values,
    clearance_um: Values | None,
) -> Values:
    not_negative("interference", interference_um, "um")
    positive("joint diameter", d_mm, "mm")
    _expansion(expansion_per_k)
    within("room temperature", ambient_c, -60, 60, "C")
    spare = d_mm if clearance_um is None else clearance_um  # 0.001 d in um is d in mm
    not_negative("clearance for assembly", spare, "um")
    return (interference_um + spare) / 1000 / (expansion_per_k * d_mm)


def _expansion(expansion_per_k: Values) -> None:
    positive("coefficient of expansion", expansion_per_k, "per K")
    within("coefficient of expansion", expansion_per_k, 0, 1e-4, "per K", way_out="steel is about 11e-6 per K")


def _friction(friction: Values) -> None:
    positive("friction", friction, "")
    try:
        within("friction", friction, 0, 1, "")
    except OutOfRange as error:
        raise OutOfRange("friction", got=error.got, allowed="above 0 up to 1", way_out="0.05 to 0.2 is usual") from None
