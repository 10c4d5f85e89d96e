"""Quick sums of one part: the limits of a hole or a shaft by class, or made to suit its mate as measured."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Final, Literal

from asmade.measure.errors import AsmadeError, Refused
from asmade.standards.fits import parse_size, wanted
from asmade.standards.limits import SOURCE, limits
from asmade.standards.reamers import nearest_reamers, reamer_limits
from asmade.standards.suiting import Sizes, class_of, classes_within, hole_to_suit, shaft_to_suit
from asmade.verbs.sums import limits_of
from asmade.verbs.sums.result import QuickSum, Rows, clearance_words, inch, length_pair, mm, size, unique

Kind = Literal["hole", "shaft"]
NEAR_WHOLE_MM: Final = 0.06
"""A mate this near to a whole millimetre has that for its drawing size, and classes can be named."""


def hole(text: str = "", *, to_suit: str = "", want: str = "", clearance: str = "", made: str = "") -> QuickSum:
    """A hole: ``25 H7``; or ``to_suit`` a shaft as measured, for a wanted fit; or ``made``, which class it is."""
    return _part("hole", text, to_suit, want, clearance, made)


def shaft(text: str = "", *, to_suit: str = "", want: str = "", clearance: str = "", made: str = "") -> QuickSum:
    """A shaft: ``25 g6``; or ``to_suit`` a hole as measured, for a wanted fit; or ``made``, which class it is."""
    return _part("shaft", text, to_suit, want, clearance, made)


def _part(kind: Kind, text: str, to_suit: str, want: str, clearance: str, made: str) -> QuickSum:
    if to_suit:
        return _to_suit(kind, text, to_suit, want, clearance)
    if want or clearance:
        raise Refused(
            kind,
            got=want or clearance,
            reason="a wanted fit needs the mate it is made to",
            way_out="give --to-suit with the mate as measured",
        )
    if not text.strip():
        raise Refused(
            kind, got=text, reason="nothing is written", way_out=f"write it as {'25 H7' if kind == 'hole' else '25 g6'}"
        )
    if made:
        return _class_of(kind, text, made)
    return _by_class(kind, text)


def _by_class(kind: Kind, text: str) -> QuickSum:
    nominal, tolerance_class = parse_size(text)
    if tolerance_class.is_hole != (kind == "hole"):
        other, letters = ("shaft", "small letters") if kind == "hole" else ("hole", "capitals")
        raise Refused(kind, got=text, reason=f"{letters} are a {other}", way_out=f'asmade reckon {other} "{text}"')
    found = limits(nominal, tolerance_class)
    tables = [
        Rows(f"{float(nominal):g} {tolerance_class}", limits_of.COLUMNS, (limits_of.row(found),), limits_of.FIGURES)
    ]
    data = limits_of.data(found)
    sources = [f"{SOURCE}, Tables 1 to 5"]
    working = list(limits_of.working(found))
    if kind == "hole":
        reamed = _reamed(float(nominal), str(tolerance_class), nominal)
        tables += reamed[0]
        data |= reamed[1]
        working += reamed[2]
        sources.append("ISO 522 (DIN 1420): limits of reamers; standard reamers ISO 236-1, ISO 521, from memory")
    return QuickSum(
        kind, (f"{float(nominal):g} mm, class {tolerance_class}",), tuple(tables), tuple(working), tuple(sources), data
    )


def _reamed(nominal_mm: float, name: str, exact: Fraction) -> tuple[list[Rows], dict[str, Any], list[str]]:
    """The reamer for a hole of a class: its own limits, and the standard ones nearest."""
    near = nearest_reamers(exact)
    rows = tuple((n.reamer.name, n.reamer.kind, mm(n.reamer.size_mm), mm(n.over_mm)) for n in near)
    tables = [Rows("Standard reamers near the drawing size", ("reamer", "kind", "mm", "over mm"), rows, (2, 3))]
    data: dict[str, Any] = {
        "reamers": [
            {"name": n.reamer.name, "kind": n.reamer.kind, "mm": n.reamer.size_mm, "over_mm": n.over_mm} for n in near
        ]
    }
    try:
        own = reamer_limits(nominal_mm, name)
    except AsmadeError:
        return tables, data, []  # no class of hole that a reamer is made for
    line = f"a reamer for {name} is itself {mm(own.least_mm, '0.0001')} to {mm(own.greatest_mm, '0.0001')} mm"
    return tables, data | {"reamer_least_mm": own.least_mm, "reamer_greatest_mm": own.greatest_mm}, [line]


def _to_suit(kind: Kind, text: str, to_suit: str, want: str, clearance: str) -> QuickSum:
    other: Kind = "shaft" if kind == "hole" else "hole"
    if text:
        raise Refused(
            kind, got=text, reason=f"made to suit, its size follows from the {other}", way_out="leave the size out"
        )
    if bool(want) == bool(clearance):
        raise Refused(
            kind,
            got=want or "nothing",
            reason="say the fit in words or by class, or the clearance",
            way_out="--want running, --want H7/g6, or --clearance '0.02 to 0.05'",
        )
    if " to " in to_suit:
        least, greatest, said = length_pair(to_suit, other)
    else:
        one = size(to_suit, other)
        least = greatest = float(one.mm)
        said = f"{other} {one.how}"
    if clearance:
        low, high, words = length_pair(clearance, "clearance", signed=True)
        source, name = "clearance as given", words
    else:
        found = wanted(want, (least + greatest) / 2)
        low, high, source, name = found.least_mm, found.most_mm, found.source, found.words
    make = hole_to_suit if kind == "hole" else shaft_to_suit
    sizes = make(least, greatest, low, high)
    return _suited(kind, other, sizes, (least, greatest), (low, high), said, name, source)


def _suited(
    kind: Kind,
    other: Kind,
    sizes: Sizes,
    mate: tuple[float, float],
    gap: tuple[float, float],
    said: str,
    name: str,
    source: str,
) -> QuickSum:
    low, high = gap
    nominal = round((mate[0] + mate[1]) / 2)
    whole = nominal > 0 and abs(mate[0] - nominal) < NEAR_WHOLE_MM
    classes = classes_within(nominal, sizes.least_mm, sizes.greatest_mm, kind=kind)[:3] if whole else ()
    rows = (
        (
            f"{kind} to make",
            mm(sizes.least_mm),
            mm((sizes.least_mm + sizes.greatest_mm) / 2),
            mm(sizes.greatest_mm),
            inch(sizes.least_mm),
            inch(sizes.greatest_mm),
        ),
    )
    if kind == "shaft":
        working = (
            f"greatest shaft = least hole - least clearance = {mate[0]:.4f} - ({low:.4f}) = {sizes.greatest_mm:.4f}",
            f"least shaft = greatest hole - most clearance = {mate[1]:.4f} - ({high:.4f}) = {sizes.least_mm:.4f}",
        )
    else:
        working = (
            f"least hole = greatest shaft + least clearance = {mate[1]:.4f} + ({low:.4f}) = {sizes.least_mm:.4f}",
            f"greatest hole = least shaft + most clearance = {mate[0]:.4f} + ({high:.4f}) = {sizes.greatest_mm:.4f}",
        )
    notes = [f"{name}: {clearance_words(low, high)}"]
    if classes:
        notes.append("classes that lie within: " + ", ".join(f"{nominal} {c.tolerance_class}" for c in classes))
    return QuickSum(
        kind,
        (said, name),
        (
            Rows(
                f"Made to suit a {other} of {mm(mate[0])}"
                + (f" to {mm(mate[1])}" if mate[1] > mate[0] else "")
                + " mm",
                ("", "least mm", "middle mm", "greatest mm", "least in", "greatest in"),
                rows,
                (1, 2, 3, 4, 5),
            ),
        ),
        working,
        unique(("ISO 286-1:2010, 3.3 (definition of clearance)", source)),
        {
            "least_mm": sizes.least_mm,
            "greatest_mm": sizes.greatest_mm,
            "middle_mm": (sizes.least_mm + sizes.greatest_mm) / 2,
            "least_inch": sizes.least_mm / 25.4,
            "greatest_inch": sizes.greatest_mm / 25.4,
            "clearance_min_mm": low,
            "clearance_max_mm": high,
            f"{other}_least_mm": mate[0],
            f"{other}_greatest_mm": mate[1],
            "classes": [f"{nominal} {c.tolerance_class}" for c in classes],
        },
        notes=tuple(notes),
        cautions=("Tight fits crack cast iron bosses: work out the stress first (asmade reckon press).",)
        if low < 0
        else (),
    )


def _class_of(kind: Kind, text: str, made: str) -> QuickSum:
    nominal = size(text, "drawing size")
    if " to " in made:
        least, greatest, said = length_pair(made, kind)
    else:
        one = size(made, kind)
        least = greatest = float(one.mm)
        said = f"{kind} {one.how}"
    found = class_of(nominal.mm, least, greatest, kind=kind)
    rows = tuple(limits_of.row(one) for one in found[:6])
    notes = () if found else ("no recommended class takes these sizes in: make its mate to suit",)
    return QuickSum(
        kind,
        (f"drawing size {nominal.how}", said),
        (
            Rows(
                f"Classes that take it in, tightest first ({float(nominal.mm):g} mm)",
                limits_of.COLUMNS,
                rows,
                limits_of.FIGURES,
            ),
        ),
        ("a class takes sizes in when its least limit is not above them and its greatest not below",),
        (f"limits of {SOURCE}; classes of the recommended fits",),
        {
            "nominal_mm": float(nominal.mm),
            "made_least_mm": least,
            "made_greatest_mm": greatest,
            "classes": [limits_of.data(one) for one in found],
        },
        notes=notes,
    )
