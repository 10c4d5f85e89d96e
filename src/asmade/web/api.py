"""The same answers as plain data, in the very shapes of ``--json`` (docs/json.md); described at /api/openapi.json."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Request
from pydantic import Field

from asmade.measure.errors import Refused
from asmade.verbs import aim as aims
from asmade.verbs import drawn as drawing_in
from asmade.verbs import history as past
from asmade.verbs import made as readings
from asmade.verbs import parts as every_part
from asmade.verbs import plain
from asmade.verbs.check import check_values
from asmade.web import api_motion, api_work
from asmade.web.api_shapes import JSON_ONLY, REFUSALS, Asked, LongText, Text
from asmade.web.asked import SUMS, answer
from asmade.web.desk import AtDesk

router = APIRouter(prefix="/api", responses=REFUSALS)
book = APIRouter(tags=["book"])


class Reading(Asked):
    """A reading: figures, or a plug that goes and one that stops; ``key`` makes one sent twice be saved once."""

    address: Text
    readings: Annotated[list[Text], Field(max_length=50)] = Field(default_factory=list)
    goes: Text = ""
    stops: Text = ""
    spots: bool = False
    instrument: Text = ""
    tool: Text = ""
    stage: Text = "finished"
    note: LongText = ""
    what_if: bool = False
    key: Annotated[str, Field(max_length=64)] = ""


class DrawnSize(Asked):
    """A size as the drawing has it."""

    address: Text
    size: Text
    kind: Text = ""
    process: Text = ""
    reference: Text = ""
    what_if: bool = False


class ToBench(Asked):
    """A size that goes to the bench."""

    address: Text
    instrument: Text = ""
    what_if: bool = False


class Withdrawal(Asked):
    """An entry to be taken back, and why."""

    entry: int
    why: LongText = ""
    what_if: bool = False


@book.get("/board")
def board(desk: AtDesk) -> dict[str, Any]:
    """The board: ``asmade show``."""
    return plain.board(desk.look().board)


@book.get("/check")
def check(desk: AtDesk, about: str = "") -> dict[str, Any]:
    """All findings, worst first: ``asmade check``."""
    look = desk.look()
    return plain.check(check_values(look.values, look.findings, about=about))


@book.get("/drawing")
def drawing(desk: AtDesk) -> dict[str, Any]:
    """The drawing check: ``asmade check --drawing``."""
    return plain.drawing(desk.look().drawing)


@book.get("/parts")
def parts(desk: AtDesk) -> dict[str, Any]:
    """Every part at a glance."""
    return every_part.plain(desk.look().parts)


@book.get("/parts/{name}")
def part(desk: AtDesk, name: str) -> dict[str, Any]:
    """One part: ``asmade show PART``."""
    return plain.part(desk.look().part(name))


@book.get("/sizes/{address:path}")
def size(desk: AtDesk, address: str) -> dict[str, Any]:
    """One size: ``asmade show ADDRESS``."""
    row, found = desk.look().size(address)
    return plain.size(row) | {"findings": [plain.finding(f) for f in found]}


@book.get("/aim/{address:path}")
def aim(desk: AtDesk, address: str, instrument: str = "") -> dict[str, Any]:
    """What a size may be made to now: ``asmade aim``."""
    return plain.aim(desk.look().aim(address, instrument))


@book.post("/aim", dependencies=JSON_ONLY)
def to_bench(desk: AtDesk, asked: ToBench) -> dict[str, Any]:
    """Write an aim down: ``asmade aim --to-bench``."""
    result = aims.aim(desk.book.path, asked.address, instrument=asked.instrument, to_bench=True, what_if=asked.what_if)
    return plain.aim_result(result)


@book.get("/next")
def upnext(desk: AtDesk) -> dict[str, Any]:
    """What can be made now: ``asmade next``."""
    return plain.upnext(desk.look().next)


@book.get("/history")
def history(desk: AtDesk, about: str = "", last: int = 0) -> dict[str, Any]:
    """All entries: ``asmade history``."""
    return plain.history(past.history(desk.book.path, about=about, last=last))


@book.get("/shop")
def shop(desk: AtDesk) -> dict[str, Any]:
    """The shop and what it has learned: ``asmade shop``."""
    return plain.shop(desk.look().shop)


@book.post("/made", dependencies=JSON_ONLY)
def made(desk: AtDesk, asked: Reading) -> dict[str, Any]:
    """Enter a reading: ``asmade made``."""
    result = readings.made(
        desk.book.path, asked.address, asked.readings, goes=asked.goes, stops=asked.stops, spots=asked.spots,
        instrument=asked.instrument, tool=asked.tool, stage=asked.stage, note=asked.note, what_if=asked.what_if,
        key=asked.key,
    )  # fmt: skip
    return plain.made(result)


@book.post("/drawn", dependencies=JSON_ONLY)
def drawn(desk: AtDesk, asked: DrawnSize) -> dict[str, Any]:
    """Enter a size as drawn: ``asmade drawn``."""
    result = drawing_in.drawn(
        desk.book.path, asked.address, asked.size, kind=asked.kind, process=asked.process, reference=asked.reference,
        what_if=asked.what_if,
    )  # fmt: skip
    return plain.drawn(result)


@book.post("/withdraw", dependencies=JSON_ONLY)
def withdraw(desk: AtDesk, asked: Withdrawal) -> dict[str, Any]:
    """Take an entry back: ``asmade withdraw``."""
    return plain.saved(past.withdraw(desk.book.path, asked.entry, why=asked.why, what_if=asked.what_if))


@book.get("/reckon/{name}", tags=["quick sums"])
def reckon(request: Request, desk: AtDesk, name: str) -> dict[str, Any]:
    """A quick sum: ``asmade reckon NAME``; its fields are those of the page of that name."""
    names = SUMS[name].names if name in SUMS else frozenset[str]()
    given = dict(request.query_params.items())
    unknown = sorted(given.keys() - names)
    if name in SUMS and unknown:
        raise Refused(f"quick sum {name}", got=", ".join(unknown), reason="it asks for no such thing",
                      way_out=f"it asks for: {', '.join(sorted(names))}")  # fmt: skip
    return answer(name, given, str(desk.book.path)).plain()


for part_of_it in (book, api_motion.router, api_work.router):
    router.include_router(part_of_it)
