"""Scheme of a thing that is put together: its joints in their order, each tried, made, left alone and measured."""

from __future__ import annotations

import math
from collections.abc import Iterator

from asmade.book.address import Address, spread_out
from asmade.book.model import Build, Part
from asmade.reckon.joining import Joints, settings, standing
from asmade.reckon.system import Joint
from asmade.reckon.values import Values
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.progress import Entered
from asmade.work.routes.schemes.result import Scheme

QUARTER = "quarter"


def joints_of(joints: Joints, part: Part, place: str) -> tuple[Joint, ...]:
    """Joints whose pieces are all among those the part is assembled from, in an order in which they can be made."""
    own = {spread_out(each, place) for each in part.assembled_from}
    found = (joints.by_name[name] for name in joints.order)
    return tuple(j for j in found if joints.seats(j) and set(joints.seats(j)) <= own)


def scheme(build: Build, values: Values, joints: Joints, part: Part, place: str) -> Scheme:
    """Features of a thing that is put together; none where the book has no joint between its pieces."""
    features = tuple(_features(build, values, joints, joints_of(joints, part, place)))
    claimed = frozenset(d for f in features for d in f.dims)
    return Scheme(None, features, (), claimed)


def _features(build: Build, values: Values, joints: Joints, own: tuple[Joint, ...]) -> Iterator[Feature]:
    done: tuple[str, ...] = ()
    for at, joint in enumerate(own, start=1):
        name = joint.relation.name
        quartered = [a for a in joint.fixes if a.dim == QUARTER]
        captive = joints.captive_seats(joint)
        first = ", ".join(_marked(build, seat) for seat in captive)
        on = f"; on it first: {first}, the right way round" if captive else ""
        setup = SetUp(
            f"{at}: {name}",
            10 * at,
            "by hand",
            f"{' and '.join(_marked(build, seat) for seat in joints.seats(joint))}, the very pieces{on}",
            "centres of the axle and the jig" if quartered else "the shoulder",
            f"joint|{name}|{joint.by}",
            done,
            words=tuple(filter(None, (joint.relation.text("note"), joint.relation.text("caution")))),
        )
        measured = dict.fromkeys(a.dim for a in (*joint.measure_after, *joint.disturbs, *joint.fixes))
        dims = tuple(d for d in measured if any(a.dim == d and a.seat not in joints.seats(joint) for a in joint.fixes))
        figures = _figures(values, joints, joint, build.design.leads) if quartered else {}
        yield Feature(
            name,
            "quartering" if quartered else "joint made",
            setup,
            figures,
            dims,
            done,
            (f"{name} done",),
            words=joint.subject,
            callout=f"{joint.by}|{build.design.leads}" if quartered else joint.by,
        )
        done = (f"{name} done",)


def _marked(build: Build, seat: str) -> str:
    """A piece by its place, and by its mark where it has one of its own: ``wheel@1R (wheel#W2)``."""
    part, _, place = seat.partition("@")
    piece = build.piece_at(Address(part, place))
    return seat if piece.mark == place else f"{seat} ({piece.seat})"


def _figures(values: Values, joints: Joints, joint: Joint, leads: str) -> dict[str, float]:
    """Quarter, crank radii, pins and axle of a wheelset, from the wheels' own sizes; NaN where nothing is known."""
    wheel, _, place = joints.seats(joint)[0].partition("@")
    shaft, _, axle = joints.seats(joint)[1].partition("@")
    quarter = next((s for s in settings(values, joint) if s.address.dim == QUARTER), None)
    wanted = quarter.wanted if quarter is not None and quarter.wanted is not None else math.nan
    sides = {"lead": leads or "R", "lag": "L" if (leads or "R") == "R" else "R"}
    found = {"quarter": wanted, "axle": _best(values, Address(shaft, axle, dim="journal.diameter"))}
    for which, side in sides.items():
        seat = f"{place[:-1]}{side}"
        found[f"{which}_radius"] = _best(values, Address(wheel, seat, dim="crank_radius"))
        found[f"{which}_pin"] = _pin(values, joints, Address(wheel, seat, dim="pin_hole"))
    return found


def _pin(values: Values, joints: Joints, hole: Address) -> float:
    """Diameter of the pin in a hole where the jig meets it: its journal, else a plug of the hole's own size."""
    pin = next((shaft for bore, shaft in joints.fits.values() if bore == hole), None)
    if pin is not None:
        journal = _best(values, Address(pin.part, pin.place, dim="journal.diameter"))
        if math.isfinite(journal):
            return journal
    return _best(values, hole)


def _best(values: Values, address: Address) -> float:
    at = values.system.index.get(address)
    return math.nan if at is None else float(values.best[at])


def made_by_joint(build: Build, joints: Joints, part: Part, place: str) -> dict[str, Entered]:
    """When and by which entry each joint of the part was joined, by the joint's name; only those that stand."""
    stands = standing(build)
    return {
        j.relation.name: Entered(stands[j.subject].at, stands[j.subject].entry)
        for j in joints_of(joints, part, place)
        if j.subject in stands and stands[j.subject].joined
    }
