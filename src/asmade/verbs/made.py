"""made: a reading goes into the book; what it changes comes back at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.book.address import Address, read_address
from asmade.book.kinds import STAGES
from asmade.book.model import Aimed, Build, Dimension, Reading
from asmade.book.sizes import check_written, read_size
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.aims import Aim, aim_of, rows_of
from asmade.reckon.findings import look
from asmade.reckon.values import MADE, NINETY_FIVE, Values, compute, corrected, last_made
from asmade.verbs.addresses import dimension_of
from asmade.verbs.joined import read_moment
from asmade.verbs.store import Opened, Path_, Saved, read, save, trial

SLIPS: Final = ((10.0, "ten times"), (0.1, "a tenth of"), (25.4, "25.4 times"), (1 / 25.4, "1/25.4 of"))
FAR: Final = 0.05
"""A reading further from what was expected than this share of it (and than the process explains) is called a slip."""


@dataclass(frozen=True, slots=True)
class AimChange:
    """How the aim of one size moved."""

    dimension: Address
    before: Aim
    after: Aim


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """How the verdict of one requirement moved."""

    code: str
    subject: str
    before: str
    after: str
    margin: float | None


@dataclass(frozen=True, slots=True)
class MadeResult:
    """The entry, how the reading was read, warnings, and what changed.

    ``slips`` are those of the warnings that a face should ask about before it saves.
    """

    saved: Saved
    piece: Address
    how: str
    stage: str
    warnings: tuple[str, ...]
    aims: tuple[AimChange, ...]
    verdicts: tuple[VerdictChange, ...]
    slips: tuple[str, ...] = ()


def made(
    path: Path_,
    text: str,
    readings: Sequence[str] = (),
    *,
    goes: str = "",
    stops: str = "",
    spots: bool = False,
    instrument: str = "",
    tool: str = "",
    stage: str = "finished",
    note: str = "",
    at: str = "",
    what_if: bool = False,
    heed_slips: bool = False,
    key: str = "",
) -> MadeResult:
    """Enter one reading: a figure, repeats at one spot, several ``spots``, or a plug that goes and one that stops.

    ``at`` is when it was read, now unless said (one that was taken without a connection is entered later). ``key`` is
    the client's own name for this reading, so that one sent twice is saved once. With ``heed_slips`` one
    that looks like a slip is not saved (``slips`` says why, ``saved`` that it was not), so that a face can ask first.
    """
    opened = read(path)
    build = opened.build
    piece, dimension = _piece_and_dimension(build, text)
    body, how = _body(build, piece, dimension, tuple(readings), goes, stops, spots=spots, instrument=instrument)
    if stage not in STAGES:
        raise Unknown("stage", got=stage, near=near(stage, STAGES), way_out=f"one of: {', '.join(STAGES)}")
    if instrument and instrument not in build.shop.instruments:
        raise Unknown("instrument", got=instrument, near=near(instrument, build.shop.instruments),
                      way_out=f"the shop has: {', '.join(build.shop.instruments) or 'none yet'}")  # fmt: skip
    if tool and tool not in build.shop.tools:
        raise Unknown("tool", got=tool, near=near(tool, build.shop.tools),
                      way_out=f"the shop has: {', '.join(build.shop.tools) or 'none yet'}")  # fmt: skip
    extra = {"instrument": instrument, "tool": tool, "note": note}
    body |= {k: v for k, v in extra.items() if v} | {"stage": stage}
    draft, before = Draft("made", body, read_moment(at) if at else ""), compute(build)
    hold = heed_slips and bool(_slip(before, build, trial(opened, [draft]), piece, dimension))
    saved = save(opened, [draft], what_if=what_if or hold, key=key)
    return _result(opened, before, saved, piece, dimension, how, stage, instrument)


@dataclass(frozen=True, slots=True)
class Tried:
    """A reading as it would be read, not saved: its piece, how it was read, why it looks like a slip."""

    piece: Address
    reading: Reading
    how: str
    slips: tuple[str, ...]


def tried(
    opened: Opened, before: Values, text: str, readings: Sequence[str] = (), *, goes: str = "", stops: str = "",
    spots: bool = False, instrument: str = "",
) -> tuple[Tried, Build]:  # fmt: skip
    """How a reading would be read, and the build with it: for a face that shows it back before it is saved.

    ``before`` are the values of ``opened``. Raises as `made` does where it cannot be read.
    """
    build = opened.build
    piece, dimension = _piece_and_dimension(build, text)
    body, how = _body(build, piece, dimension, tuple(readings), goes, stops, spots=spots, instrument=instrument)
    body |= {"instrument": instrument} if instrument in build.shop.instruments else {}
    now = trial(opened, [Draft("made", body | {"stage": "on the way"})])
    return Tried(piece, now.readings[-1], how, tuple(_slip(before, build, now, piece, dimension))), now


def _piece_and_dimension(build: Build, text: str) -> tuple[Address, Dimension]:
    address = read_address(text)
    part, dimension = dimension_of(build.design, address)
    if not address.mark and not address.place:
        if len(part.places) != 1:
            raise Refused("address", got=text, reason=f"{part.name} sits at {', '.join(part.places)}: which piece?",
                          way_out=f"write {part.name}@{part.places[0]}.{address.dim}, or its mark")  # fmt: skip
        address = Address(part.name, part.places[0], dim=address.dim)
    if address.place and address.place not in part.places:
        raise Unknown(f"place of {part.name}", got=address.place, near=near(address.place, part.places),
                      way_out=f"it sits at {', '.join(part.places)}")  # fmt: skip
    piece = build.piece_at(address)
    if piece.seat not in build.pieces:
        raise Unknown("piece", got=piece.seat, near=near(piece.seat, build.pieces),
                      way_out=f"bring a new piece in with: asmade piece BOOK {piece.seat} --to PLACE")  # fmt: skip
    return piece, dimension


def _body(
    build: Build, piece: Address, dimension: Dimension, readings: tuple[str, ...], goes: str, stops: str, *,
    spots: bool, instrument: str,
) -> tuple[dict[str, object], str]:  # fmt: skip
    known = build.shop.instruments.get(instrument)
    unit = known.unit if known else "mm"
    body: dict[str, object] = {"piece": piece.seat, "dim": piece.dim, "unit": unit}
    texts = (goes, stops) if goes or stops else readings
    if not any(texts):
        raise Refused("reading", got="", reason="there is none", way_out="give it as 15.90, or --goes and --stops")
    if readings and (goes or stops):
        raise Refused("reading", got=" ".join(readings), reason="a figure and plugs are two readings: enter them apart")
    if bool(goes) != bool(stops):
        said, other = ("goes", "stops") if goes else ("stops", "goes")
        raise Refused("reading", got=f"--{said} {goes or stops}", reason=f"a plug that {said} alone bounds one side",
                      way_out=f"give --{other} too, or the nearest plug you have on the other side")  # fmt: skip
    how = "; ".join(check_written(text, dimension, unit, str(piece)) for text in texts if text)
    if goes or stops:
        return body | {"goes": goes, "stops": stops}, how
    if len(readings) == 1:
        return body | {"reading": readings[0]}, how
    if spots:
        return body | {"spots": list(readings)}, f"{how} at {len(readings)} spots"
    return body | {"repeats": list(readings)}, f"{how}: the mean of {len(readings)} repeats"


def _result(
    opened: Opened, before: Values, saved: Saved, piece: Address, dimension: Dimension, how: str, stage: str,
    instrument: str,
) -> MadeResult:  # fmt: skip
    after = compute(saved.build, before.system)  # a reading changes no design and no choice
    slips = tuple(_slip(before, opened.build, saved.build, piece, dimension))
    warnings = [*slips, *_disagrees(opened.build, saved.build, piece, dimension)]
    if not instrument and not dimension.of_kind.thread:
        warnings.append("the instrument is not said: a standard uncertainty of 0.010 mm is taken")
    seat = saved.build.pieces[piece.seat]
    aims: tuple[AimChange, ...] = ()
    if seat.place and not dimension.of_kind.thread:
        place = Address(piece.part, seat.place, dim=piece.dim)
        aims = tuple(_aims_moved(opened.build, before, saved.build, after, place))
    return MadeResult(saved, piece, how, stage, tuple(warnings), aims,
                      tuple(_verdicts_moved(before, after)), slips)  # fmt: skip


def _slip(before: Values, was: Build, now: Build, piece: Address, dimension: Dimension) -> Sequence[str]:
    """Plain warnings where a reading looks like a slip; never a question, never a refusal."""
    if dimension.of_kind.thread:
        return ()
    reading = now.readings[-1]
    seat = was.pieces[piece.seat]
    aim = next((a for a in reversed(was.aimed) if a.piece == piece), None)
    expected = aim.target if aim else math.nan
    reach = 0.0
    if math.isnan(expected) and seat.place:
        at = before.system.index.get(Address(piece.part, seat.place, dim=piece.dim))
        if at is not None:
            expected, (_, reach) = float(before.best[at]), before.spread(at)
    if math.isnan(expected) or not expected:
        return ()
    read_as, out = reading.middle, reading.middle - expected
    for ratio, words in SLIPS:
        if abs(read_as / expected / ratio - 1) < FAR and abs(ratio - 1) > FAR:
            return (f"{read_as:.3f} is {words} the {expected:.3f} expected: a slip of the decimal point or the unit?",)
    if abs(out) > max(FAR * abs(expected), 3 * reach, 0.2):
        return (
            f"{read_as:.3f} is {abs(out):.3f} {'over' if out > 0 else 'under'} the {expected:.3f} expected: a slip?",
        )
    return () if aim is None else _beside_aim(aim, read_as)


def _disagrees(was: Build, now: Build, piece: Address, dimension: Dimension) -> Sequence[str]:
    """A check reading against the one it checks: said where they differ by more than both instruments explain."""
    new, old = now.readings[-1], last_made(was).get(piece)
    if new.stage != "check" or old is None or dimension.of_kind.thread:
        return ()
    one, two = (corrected(now, reading) for reading in (new, old))
    out = abs(one[0] - two[0])
    allowed = NINETY_FIVE * math.hypot(one[1], two[1])
    if out <= allowed + 1e-9:
        return ()
    show, unit = (math.degrees, " deg") if dimension.of_kind.angle else (float, "")
    words = f"it differs by {show(out):.3f}{unit} from the reading before, {show(two[0]):.3f}{unit}"
    return (f"{words}; the instruments explain {show(allowed):.3f}{unit}: measure again, withdraw the wrong one",)


def _beside_aim(aim: Aimed, read_as: float) -> Sequence[str]:
    """A plain word where a reading lies outside what was aimed at."""
    if aim.high is not None and read_as > aim.high + 1e-9:
        side, by = "over", read_as - aim.high
    elif aim.low is not None and read_as < aim.low - 1e-9:
        side, by = "under", aim.low - read_as
    else:
        return ()
    low, high = ("..." if end is None else f"{end:.3f}" for end in (aim.low, aim.high))
    return (f"it is {by:.3f} {side} what was aimed at ({low} to {high})",)


def _aims_moved(was: Build, before: Values, now: Build, after: Values, place: Address) -> Sequence[AimChange]:
    """Aims that differ, among the sizes tied to the one that was read."""
    found = []
    for at in _tied(before, before.system.at(place)):
        address = before.system.names[at]
        if after.source[at] == MADE or after.system.dimensions[at] is None or at in after.system.computed:
            continue
        old, new = aim_of(was, before, address), aim_of(now, after, address)
        if _differs(old, new):
            found.append(AimChange(address, old, new))
    return tuple(found)


def _tied(values: Values, at: int) -> tuple[int, ...]:
    """Sizes that share a requirement with ``at``, or that suit one that does."""
    rows = rows_of(values)
    found: dict[int, None] = {}
    edge = [at]
    for _ in range(3):
        edge = [
            other for here in edge for n in rows.by_size.get(here, ()) for other in rows.terms[n] if other not in found
        ]
        found |= dict.fromkeys(edge)
    return tuple(other for other in found if other != at)


def _differs(one: Aim, two: Aim) -> bool:
    def far(a: float | None, b: float | None) -> bool:
        return (a is None) != (b is None) or (a is not None and b is not None and abs(a - b) > 1e-6)

    return one.state != two.state or any(
        far(a, b) for a, b in ((one.low, two.low), (one.high, two.high), (one.target, two.target))
    )


def _verdicts_moved(before: Values, after: Values) -> Sequence[VerdictChange]:
    old = {(f.code, f.subject): f for f in look(before, samples=0)}
    found = []
    for finding in look(after, samples=0):
        was = old.get((finding.code, finding.subject))
        if was is None or was.verdict != finding.verdict:
            found.append(VerdictChange(
                finding.code, finding.subject, was.verdict if was else "not known", finding.verdict, finding.margin
            ))  # fmt: skip
    return tuple(found)


def reading_of(text: str, dimension: Dimension, unit: str) -> float | None:
    """What a reading's text comes to in mm (rad): for faces that show it back before it is saved."""
    found = read_size(text, dimension, unit)
    return None if found is None else found.value
