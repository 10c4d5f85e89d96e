"""Quick sum of how far turned work gives under the cut, and the taper that comes of it."""

from __future__ import annotations

from asmade.standards.cutting import cutting_force_of
from asmade.standards.materials import material
from asmade.verbs.sums.result import QuickSum, Rows, amount, mm, quantity, size, unique
from asmade.work.deflection import LONGEST, RADIAL_SHARE, holding, longest_mm, second_moment_mm4, turned_shape
from asmade.work.force import turning_cut


def deflect(
    text: str, *, length: str, held: str = "chuck only", material_name: str = "bright mild steel", force: str = "",
    depth: str = "", feed: str = "", bore: str = "", allowed: str = "",
) -> QuickSum:  # fmt: skip
    """How much too large a bar comes out; the radial force as given, or half that of a cut."""
    exact, long = float(size(text, "diameter").mm), float(size(length, "length").mm)
    way, stuff = holding(held), material(material_name)
    inner = float(size(bore, "bore").mm) if bore else 0.0
    sources = ["Shigley, Mechanical Engineering Design, table of beams", stuff.value("youngs_modulus").source]
    working = []
    if force:
        push, said = quantity(force, "force", "radial force", bare="N")
    else:
        depth_mm, feed_mm = (
            float(amount(t, w).mm) for t, w in ((depth or "0.5", "depth of cut"), (feed or "0.1", "feed"))
        )
        kienzle = cutting_force_of(stuff)
        cut = turning_cut(
            kienzle.kc11_mpa, kienzle.mc, depth_mm=depth_mm, feed_mm=feed_mm, speed_m_min=25, diameter_mm=exact
        )
        push = RADIAL_SHARE * cut.force_n
        said = f"radial force half of the cut's: {push:.1f} N ({depth_mm:g} deep, feed {feed_mm:g})"
        working.append(f"Fr = {RADIAL_SHARE:g} Fc = {RADIAL_SHARE:g} x {cut.force_n:.1f} = {push:.1f} N")
        sources += [kienzle.source, "radial share: common practice, no source"]
    modulus = stuff.youngs_modulus_mpa
    shape = turned_shape(way, push, long, exact, modulus, bore_mm=inner)
    inertia = second_moment_mm4(exact, inner)
    working.append(f"I = pi (D^4 - d^4)/64 = {inertia:.1f} mm4, E = {modulus:g} MPa")
    working.append(
        f"{way}: twice the deflection at {shape.worst_at_mm:.1f} mm from the chuck = {shape.worst_mm:.4f} mm"
    )
    limit = float(size(allowed or "0.01", "taper allowed").mm)
    reach = longest_mm(way, push, exact, modulus, limit) if not inner and push > 0 else None
    rows = (
        ("too large on diameter, at worst, mm", mm(shape.worst_mm, "0.0001")),
        ("at so far from the chuck, mm", mm(shape.worst_at_mm, "0.1")),
        ("length to diameter", f"{shape.slenderness:.1f}"),
        (f"longest for {limit:g} mm, mm", "not worked out" if reach is None else mm(reach, "0.1")),
    )
    notes = [f"it comes out {shape.shape}; a spring cut at the same setting takes most of it"]
    if shape.too_slender:
        notes.append(f"longer than {LONGEST[way]:g} diameters {way}: bring up the centre, or use a steady")
    return QuickSum(
        "deflect", (f"{exact:g} mm, {long:g} long, {stuff.name}, {way}", said),
        (Rows("How the work gives", ("", ""), rows, (1,)),), tuple(working), unique(sources),
        {"diameter_mm": exact, "length_mm": long, "held": way, "force_n": push, "worst_mm": shape.worst_mm,
         "worst_at_mm": shape.worst_at_mm, "slenderness": shape.slenderness, "too_slender": shape.too_slender,
         "allowed_mm": limit, "longest_mm": reach},
        cautions=("Long thin work whips: centre up, slow at first, never stand in line with it.",), notes=tuple(notes),
    )  # fmt: skip
