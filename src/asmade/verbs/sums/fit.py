"""Quick sum: a fit by class or by the trade's words, a wanted clearance turned into classes, two sizes set together."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.joints.thermal import clearance_at_mm
from asmade.standards.fits import Callout, Fit, Wanted, fit_words, parse_fit, recommended_fits, wanted
from asmade.standards.fits import fit as by_class
from asmade.standards.limits import SOURCE, parse_class
from asmade.standards.materials import material
from asmade.standards.suiting import classes_for_clearance
from asmade.verbs.sums import limits_of
from asmade.verbs.sums.result import (
    QuickSum,
    Rows,
    clearance_words,
    length_pair,
    mm,
    quantity,
    size,
    thou,
    unique,
)

_SIZE_AND_WORDS = re.compile(r"(?P<size>\S.*?(?:\s+(?:mm|in|inch|inches|thou))?)\s+(?P<words>[A-Za-z][A-Za-z -]*)")
_UNITS = ("mm", "in", "inch", "inches", "thou")


def fit(
    text: str = "",
    *,
    hole: str = "",
    shaft: str = "",
    clearance: str = "",
    basis: str = "hole",
    hot: str = "",
    hole_material: str = "",
    shaft_material: str = "",
) -> QuickSum:
    """A fit: ``25 H7/g6``, ``16 mm running``, a size alone (all recommended fits), or measured ``hole`` and ``shaft``.

    With ``clearance`` ("0.02 to 0.05 mm") the size's nearest classes are found. Measured sizes with ``hot``, the
    temperature both work at, and their materials: the clearance there.
    """
    if hole or shaft:
        if text or clearance:
            raise Refused("fit", got=text or clearance, reason="either a fit, or a hole and a shaft as measured")
        return _measured(hole, shaft, hot, hole_material, shaft_material)
    if hot:
        raise Refused("fit", got=hot, reason="warm, it wants sizes as measured", way_out="give --hole and --shaft")
    if not text.strip():
        raise Refused("fit", got=text, reason="nothing is written", way_out="write it as 25 H7/g6 or 16 mm running")
    if clearance:
        return _classes(text, clearance, basis)
    if re.search(r"[A-Za-z]{1,2}\d{1,2}(?:\s*[/-]\s*|\s+)[A-Za-z]{1,2}\d", text):
        return _by_class(text)
    words = _SIZE_AND_WORDS.fullmatch(text.strip())
    if words and words["words"].lower() not in _UNITS:
        return _by_words(words["size"], words["words"])
    return _recommended(text)


def _by_class(text: str) -> QuickSum:
    callout = parse_fit(text)
    found = by_class(callout)
    low, high = found.clearance_min_um, found.clearance_max_um
    words = [r.words for r in recommended_fits() if f"{callout.hole}/{callout.shaft}" in (r.hole_basis, r.shaft_basis)]
    use = [r.use for r in recommended_fits() if f"{callout.hole}/{callout.shaft}" in (r.hole_basis, r.shaft_basis)]
    notes = [f"a recommended fit: {words[0]} ({use[0]})"] if words else []
    return QuickSum(
        "fit",
        (f"{callout}, nominal {float(callout.nominal_mm):g} mm",),
        (
            Rows(
                f"{callout}: {found.kind} fit",
                limits_of.COLUMNS,
                (limits_of.row(found.hole), limits_of.row(found.shaft)),
                limits_of.FIGURES,
            ),
            _clearances(low / 1000, high / 1000),
        ),
        (
            *limits_of.working(found.hole),
            *limits_of.working(found.shaft),
            f"greatest clearance = ES - ei = {found.hole.upper_um:g} - ({found.shaft.lower_um:g}) = {high:g} µm",
            f"least clearance = EI - es = {found.hole.lower_um:g} - ({found.shaft.upper_um:g}) = {low:g} µm",
        ),
        (f"{SOURCE}, Tables 1 to 5",),
        _data(found),
        notes=(*notes, clearance_words(low / 1000, high / 1000)),
        cautions=_tight(low),
    )


def _data(found: Fit) -> dict[str, Any]:
    return {
        "nominal_mm": float(found.hole.nominal_mm),
        "kind": found.kind,
        "hole": limits_of.data(found.hole),
        "shaft": limits_of.data(found.shaft),
        **_both(found.clearance_min_um / 1000, found.clearance_max_um / 1000),
    }


def _both(low_mm: float, high_mm: float) -> dict[str, Any]:
    return {
        "clearance_max_um": high_mm * 1000,
        "clearance_min_um": low_mm * 1000,
        "clearance_max_mm": high_mm,
        "clearance_min_mm": low_mm,
    }


def _clearances(low_mm: float, high_mm: float) -> Rows:
    rows = []
    for name, value in (("least", low_mm), ("greatest", high_mm)):
        word = "clear" if value >= 0 else "tight by"
        rows.append((name, word, mm(abs(value)), thou(abs(value))))
    return Rows("Clearance on diameter", ("", "", "mm", "thou"), tuple(rows), (2, 3))


def _tight(low_um: float) -> tuple[str, ...]:
    if low_um >= 0:
        return ()
    return ("Tight fits crack cast iron bosses: work out the stress first (asmade reckon press).",)


def _by_words(size_text: str, words: str) -> QuickSum:
    diameter = size(size_text, "diameter")
    found = wanted(words, diameter.mm)
    return QuickSum(
        "fit",
        (f"{diameter.how}, {found.words}",),
        (_clearances(found.least_mm, found.most_mm),),
        (
            (
                f"{found.words} at {float(diameter.mm):g} mm: least {found.least_mm:.4f}, most {found.most_mm:.4f} mm "
                "(constant + so much for each mm or inch of diameter, table fits_words)"
            ),
        ),
        (found.source,),
        {
            "words": found.words,
            "means": found.means,
            "nominal_mm": float(diameter.mm),
            **_both(found.least_mm, found.most_mm),
            "placeholder": found.placeholder,
        },
        notes=unique((found.means, clearance_words(found.least_mm, found.most_mm), _placeholder(found))),
        cautions=_tight(found.least_mm),
    )


def _placeholder(found: Wanted) -> str:
    return "a placeholder on the safe side: the adhesive's own data sheet rules" if found.placeholder else ""


def _recommended(text: str) -> QuickSum:
    diameter = size(text, "diameter")
    rows, data = [], []
    for each in recommended_fits():
        one = _at(diameter.mm, each.hole_basis)
        rows.append(
            (
                each.hole_basis,
                each.shaft_basis,
                each.words,
                mm(one.clearance_min_um / 1000),
                mm(one.clearance_max_um / 1000),
                each.use,
            )
        )
        data.append(
            {
                "fit": each.hole_basis,
                "shaft_basis": each.shaft_basis,
                "words": each.words,
                "use": each.use,
                **_both(one.clearance_min_um / 1000, one.clearance_max_um / 1000),
            }
        )
    words, by_word = [], []
    for word in fit_words():
        try:
            found = wanted(word, diameter.mm)
        except OutOfRange:
            continue
        words.append((word, mm(found.least_mm), mm(found.most_mm), found.means))
        by_word.append({"words": word, "means": found.means, **_both(found.least_mm, found.most_mm)})
    tables = [
        Rows(
            f"Recommended fits at {float(diameter.mm):g} mm (negative = tight by)",
            ("fit", "shaft basis", "words", "least mm", "most mm", "use"),
            tuple(rows),
            (3, 4),
        )
    ]
    if words:
        tables.append(
            Rows(
                "The trade's words, clearance on diameter",
                ("words", "least mm", "most mm", "means"),
                tuple(words),
                (1, 2),
            )
        )
    return QuickSum(
        "fit",
        (diameter.how,),
        tuple(tables),
        ("least clearance = EI - es, greatest = ES - ei, from the limits of each class",),
        (
            "BS 4500A and 4500B selected fits, from memory; limits by " + SOURCE,
            "words: an older model engineer's handbook, quoted second hand; common practice, no source",
        ),
        {"nominal_mm": float(diameter.mm), "recommended": data, "words": by_word},
    )


def _at(nominal: Fraction, pair: str) -> Fit:
    one, two = pair.split("/")
    return by_class(Callout(nominal, parse_class(one), parse_class(two)))


def _measured(hole: str, shaft: str, hot: str, hole_material: str, shaft_material: str) -> QuickSum:
    if not hole or not shaft:
        raise Refused(
            "fit", got=hole or shaft, reason="a hole and a shaft are needed", way_out="give --hole and --shaft"
        )
    one, two = size(hole, "hole"), size(shaft, "shaft")
    gap = float(one.mm - two.mm)
    nominal = float(max(one.mm, two.mm))
    near = []
    for word in fit_words():
        try:
            found = wanted(word, nominal)
        except OutOfRange:
            break
        if found.least_mm <= gap <= found.most_mm:
            near.append((word, mm(found.least_mm), mm(found.most_mm), found.means))
    tables = [_gap(gap)]
    if near:
        tables.append(
            Rows("What the trade calls such a fit", ("words", "least mm", "most mm", "means"), tuple(near), (1, 2))
        )
    warm = _hot(float(one.mm), float(two.mm), hot, hole_material, shaft_material)
    if warm:
        tables.append(warm[0])
    return QuickSum(
        "fit",
        (f"hole {one.how}", f"shaft {two.how}", *((f"both at {warm[1]['at_c']:g} °C",) if warm else ())),
        tuple(tables),
        (
            f"clearance = hole - shaft = {float(one.mm):g} - {float(two.mm):g} = {gap:.4f} mm on diameter",
            *((warm[2],) if warm else ()),
        ),
        (
            "ISO 286-1:2010, 3.3 (definition of clearance)",
            "words: table fits_words",
            *(("linear expansion, any physics text; expansion: table material_values",) if warm else ()),
        ),
        {
            **(warm[1] if warm else {}),
            "hole_mm": float(one.mm),
            "shaft_mm": float(two.mm),
            "clearance_mm": gap,
            "clearance_um": gap * 1000,
            "words": [row[0] for row in near],
        },
        cautions=_tight(gap),
    )


def _hot(
    hole_mm: float, shaft_mm: float, hot: str, hole_material: str, shaft_material: str
) -> tuple[Rows, dict[str, Any], str] | None:
    """Clearance of a free hole and shaft at a temperature; None where none is asked."""
    if not hot:
        return None
    for thing, name in (("--hole-material", hole_material), ("--shaft-material", shaft_material)):
        if not name:
            raise Refused(
                "fit", got=hot, reason="how much each part grows goes by its material", way_out=f"give {thing}"
            )
    at_c, _ = quantity(hot, "temperature", "hot", bare="C")
    hole_grows, shaft_grows = material(hole_material).expansion_per_k, material(shaft_material).expansion_per_k
    found = float(
        clearance_at_mm(
            hole_mm,
            shaft_mm,
            hole_c=at_c,
            hole_expansion_per_k=hole_grows,
            shaft_c=at_c,
            shaft_expansion_per_k=shaft_grows,
        )
    )
    word = "clear" if found >= 0 else "tight by"
    working = (
        f"at {at_c:g} C: {hole_mm:g} (1 + {hole_grows:g} x {at_c - 20:g}) - {shaft_mm:g} (1 + {shaft_grows:g} x "
        f"{at_c - 20:g}) = {found:.4f} mm"
    )
    rows = Rows(
        f"At {at_c:g} °C, both free to grow", ("", "mm", "thou"), ((word, mm(abs(found)), thou(abs(found))),), (1, 2)
    )
    return rows, {"at_c": at_c, "clearance_hot_mm": found}, working


def _gap(gap: float) -> Rows:
    word = "clear" if gap >= 0 else "tight by"
    return Rows("On diameter", ("", "mm", "thou"), ((word, mm(abs(gap)), thou(abs(gap))),), (1, 2))


def _classes(text: str, clearance: str, basis: str) -> QuickSum:
    diameter = size(text, "diameter")
    low, high, said = length_pair(clearance, "clearance", signed=True)
    found = classes_for_clearance(diameter.mm, low, high, basis=basis)
    rows = tuple(
        (
            c.name,
            "yes" if c.inside else f"out by {c.outside_um:g} µm",
            mm(c.fit.clearance_min_um / 1000),
            mm(c.fit.clearance_max_um / 1000),
        )
        for c in found
    )
    return QuickSum(
        "fit",
        (diameter.how, said),
        (Rows(f"Classes for {clearance_words(low, high)}", ("fit", "inside", "least mm", "most mm"), rows, (2, 3)),),
        ("for each pair of classes: least = EI - es, greatest = ES - ei; those wholly inside first, widest first",),
        (f"{SOURCE}, clause 3.3, and its advice to pair a hole with a shaft one grade finer or equal",),
        {
            "nominal_mm": float(diameter.mm),
            "wanted_min_mm": low,
            "wanted_max_mm": high,
            "classes": [
                {
                    "fit": c.name,
                    "inside": c.inside,
                    "outside_um": c.outside_um,
                    **_both(c.fit.clearance_min_um / 1000, c.fit.clearance_max_um / 1000),
                }
                for c in found
            ],
        },
    )
