"""made: a reading goes into the book; what it changes comes back at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.book.address import Address, read_address
from asmade.book.kinds import STAGES
from asmade.book.model import Aimed, Build, Dimension, Reading
from asmade.book.sizes import check_written
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.aims import Aim
from asmade.reckon.moved import State, aims_moved, verdicts_moved
from asmade.reckon.values import NINETY_FIVE, Values, corrected, last_made
from asmade.verbs import store
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
    draft = Draft("made", body, read_moment(at) if at else "")
    _ = opened.values  # first, so that what is tried goes on from it
    ahead = store.tried(opened, [draft], key=key)
    hold = heed_slips and bool(_slip(opened.values, build, ahead.build.readings[-1], dimension))
    saved = save(opened, [draft], what_if=what_if or hold, key=key, ahead=ahead)
    return _result(opened, saved, piece, dimension, how, stage, instrument)


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
    return Tried(piece, now.readings[-1], how, tuple(_slip(before, build, now.readings[-1], dimension))), now


def address_of(build: Build, text: str) -> Address:
    """The piece and size that an address names: by mark, or whichever piece sits at the place."""
    return _piece_and_dimension(build, text)[0]


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
    opened: Opened, saved: Saved, piece: Address, dimension: Dimension, how: str, stage: str, instrument: str
) -> MadeResult:  # fmt: skip
    after = saved.after
    if after is None:  # never: `save` always tells how the book stands
        raise AssertionError(saved)
    number = saved.entries[0] if saved.entries else after.last  # one sent twice is not the last of the book
    reading = next(r for r in reversed(after.build.readings) if r.entry == number)
    slips = tuple(_slip(opened.values, opened.build, reading, dimension))
    warnings = [*slips, *_disagrees(opened.build, reading, dimension)]
    if not instrument and not dimension.of_kind.thread:
        warnings.append("the instrument is not said: a standard uncertainty of 0.010 mm is taken")
    aims, verdicts = _moved(opened, after, piece, dimension)
    return MadeResult(saved, piece, how, stage, tuple(warnings), aims, verdicts, slips)


def _moved(
    opened: Opened, after: Opened, piece: Address, dimension: Dimension
) -> tuple[tuple[AimChange, ...], tuple[VerdictChange, ...]]:  # fmt: skip
    """Aims and verdicts that are not what they were; no aims where somebody has changed the design meanwhile."""
    verdicts = tuple(
        VerdictChange(found.code, found.subject, moved.before, moved.after, found.margin)
        for moved in verdicts_moved(opened.found, after.found)
        for found in (after.found.finding(moved.at),)
    )
    place = after.build.pieces[piece.seat].place
    if not place or dimension.of_kind.thread or after.system is not opened.system:
        return (), verdicts
    before, now = State(opened.build, opened.values), State(after.build, after.values)
    at = opened.system.at(Address(piece.part, place, dim=piece.dim))
    return tuple(AimChange(*change) for change in aims_moved(before, now, at)), verdicts


def _slip(before: Values, was: Build, reading: Reading, dimension: Dimension) -> Sequence[str]:
    """Plain warnings where a reading looks like a slip; never a question, never a refusal."""
    if dimension.of_kind.thread:
        return ()
    aim, expected, reach = _expected(before, was, reading.piece)
    if math.isnan(expected) or not expected:
        return ()
    read_as, out = reading.middle, reading.middle - expected
    for ratio, words in SLIPS:
        if abs(read_as / expected / ratio - 1) < FAR and abs(ratio - 1) > FAR:
            return (f"{read_as:.3f} is {words} the {expected:.3f} expected: a slip of the decimal point or the unit?",)
    if abs(out) > _far(expected, reach):
        return (
            f"{read_as:.3f} is {abs(out):.3f} {'over' if out > 0 else 'under'} the {expected:.3f} expected: a slip?",
        )
    return () if aim is None else _beside_aim(aim, read_as)


def _expected(before: Values, was: Build, piece: Address) -> tuple[Aimed | None, float, float]:
    """What was aimed at; what a reading is expected to be (nan where nothing is known), and its reach."""
    seat = was.pieces[piece.seat]
    aim = next((a for a in reversed(was.aimed) if a.piece == piece), None)
    if aim is not None:
        return aim, aim.target, 0.0
    at = before.system.index.get(Address(piece.part, seat.place, dim=piece.dim)) if seat.place else None
    return None, math.nan if at is None else float(before.best[at]), 0.0 if at is None else before.spread(at)[1]


def _far(expected: float, reach: float) -> float:
    return max(FAR * abs(expected), 3 * reach, 0.2)


def slip_ends(before: Values, was: Build, text: str) -> tuple[float, float] | None:
    """Readings outside these ends (mm, rad) look like a slip; None where nothing is expected.

    For a face that has no connection and must ask by itself.
    """
    piece, dimension = _piece_and_dimension(was, text)
    if dimension.of_kind.thread:
        return None
    _, expected, reach = _expected(before, was, piece)
    if math.isnan(expected) or not expected:
        return None
    return expected - _far(expected, reach), expected + _far(expected, reach)


def _disagrees(was: Build, new: Reading, dimension: Dimension) -> Sequence[str]:
    """A check reading against the one it checks: said where they differ by more than both instruments explain."""
    old = last_made(was).get(new.piece)
    if new.stage != "check" or old is None or dimension.of_kind.thread:
        return ()
    one, two = (corrected(was, reading) for reading in (new, old))
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
