"""Making and joining as plain data: routes, set-ups, lists, last look, record, in the shapes of ``--json``."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import Field

from asmade.verbs import plain, plain_joining
from asmade.web.api_shapes import JSON_ONLY, Asked, LongText, Text
from asmade.web.desk import AtDesk

router = APIRouter(tags=["work"])


class Choice(Asked):
    """Sizes to be chosen all at once; nothing is saved unless ``apply``."""

    lock: Annotated[dict[Text, Text], Field(max_length=100)] = Field(default_factory=dict)
    loosen: Annotated[list[Text], Field(max_length=100)] = Field(default_factory=list)
    alternatives: Text = ""
    apply: bool = False


class OperationDone(Asked):
    """An operation done to a piece; ``key`` makes one sent twice be saved once."""

    piece: Text
    operation: Text
    at: Text = ""
    by: Text = ""
    note: LongText = ""
    what_if: bool = False
    key: Annotated[str, Field(max_length=64)] = ""


class Join(Asked):
    """A joint made; ``despite`` is the written reason where the last look says stop."""

    joint: Text
    despite: LongText = ""
    at: Text = ""
    by: Text = ""
    note: LongText = ""
    what_if: bool = False


class Undo(Asked):
    """A joint undone, and how."""

    joint: Text
    how: LongText
    at: Text = ""
    by: Text = ""
    note: LongText = ""
    what_if: bool = False


@router.post("/choose", dependencies=JSON_ONLY)
def choose(desk: AtDesk, asked: Choice) -> dict[str, Any]:
    """Choose all sizes: ``asmade choose``."""
    from asmade.verbs import choose as verb  # noqa: PLC0415

    return plain.choose(
        verb.choose(
            desk.book.path,
            lock=asked.lock,
            loosen=asked.loosen,
            alternatives_for=asked.alternatives,
            time_limit_s=15.0,
            what_if=not asked.apply,
        )
    )


@router.get("/pair/{fit}")
def pair(desk: AtDesk, fit: str, forbid: Annotated[str, Field(max_length=400)] = "") -> dict[str, Any]:
    """Which piece to which: ``asmade pair``; ``forbid`` parted by commas."""
    from asmade.verbs import pair as verb  # noqa: PLC0415

    kept = [each.strip() for each in forbid.split(",") if each.strip()]
    return plain.pair(verb.pair(desk.book.path, fit, forbid=kept))


@router.get("/route/{piece}")
def route(desk: AtDesk, piece: str) -> dict[str, Any]:
    """How a piece is made: ``asmade route``."""
    from asmade.verbs import route as verb  # noqa: PLC0415

    return verb.route_data(verb.route(desk.book.path, piece))


@router.get("/setups")
def setups(desk: AtDesk) -> dict[str, Any]:
    """Set-ups of all pieces together: ``asmade setups``."""
    from asmade.verbs import route as verb  # noqa: PLC0415

    return verb.setups_data(desk.look().set_ups)


@router.get("/progress")
def progress(desk: AtDesk) -> dict[str, Any]:
    """How far every piece is: ``asmade done`` without an operation."""
    from asmade.verbs import progress as verb  # noqa: PLC0415

    look = desk.look()
    return verb.progress_data(look.once("progress", lambda: verb.progress_of(look.build, look.values)))


@router.post("/done", dependencies=JSON_ONLY)
def done(desk: AtDesk, asked: OperationDone) -> dict[str, Any]:
    """Enter that an operation is done: ``asmade done``."""
    from asmade.verbs import done as verb  # noqa: PLC0415

    return plain_joining.done(
        verb.done(desk.book.path, asked.piece, asked.operation, at=asked.at, by=asked.by, note=asked.note,
                  what_if=asked.what_if, key=asked.key)
    )  # fmt: skip


@router.get("/lists/{which}")
def lists(desk: AtDesk, which: Literal["cutting", "buying"]) -> dict[str, Any]:
    """The cutting or the buying list: ``asmade cutlist`` and ``asmade buy``."""
    from asmade.verbs import cutlist as verb  # noqa: PLC0415

    found = desk.look().lists
    return verb.plain(found) if which == "cutting" else verb.plain_buy(found)


@router.get("/joints")
def joints(desk: AtDesk) -> dict[str, Any]:
    """Every joint that cannot be undone, and how it stands: ``asmade last-look``."""
    from asmade.verbs import last_look as verb  # noqa: PLC0415

    return plain_joining.every_joint(verb.every_joint(desk.book.path))


@router.get("/last-look/{joint}")
def last_look(desk: AtDesk, joint: str, temperature: Annotated[str, Field(max_length=40)] = "") -> dict[str, Any]:
    """Before it cannot be undone: ``asmade last-look JOINT``."""
    from asmade.verbs import last_look as verb  # noqa: PLC0415

    return plain_joining.last_look(verb.last_look_of(desk.look().build, joint, temperature=temperature))


@router.post("/joined", dependencies=JSON_ONLY)
def joined(desk: AtDesk, asked: Join) -> dict[str, Any]:
    """Enter that a joint is made: ``asmade joined``; refused where the last look says stop."""
    from asmade.verbs import joined as verb  # noqa: PLC0415

    return plain_joining.joined(
        verb.joined(desk.book.path, asked.joint, despite=asked.despite, at=asked.at, by=asked.by, note=asked.note,
                    what_if=asked.what_if)
    )  # fmt: skip


@router.post("/undone", dependencies=JSON_ONLY)
def undone(desk: AtDesk, asked: Undo) -> dict[str, Any]:
    """Enter that a joint was undone: ``asmade undone``."""
    from asmade.verbs import joined as verb  # noqa: PLC0415

    return plain_joining.undone(
        verb.undone(desk.book.path, asked.joint, how=asked.how, at=asked.at, by=asked.by, note=asked.note,
                    what_if=asked.what_if)
    )  # fmt: skip


@router.get("/waiting")
def waiting(desk: AtDesk) -> dict[str, Any]:
    """Joints that wait for their cure now, with what may not be done yet and until when."""
    from asmade.verbs import waiting as verb  # noqa: PLC0415

    return {"waiting": [plain_joining.waiting(w) for w in verb.waiting(desk.look().build)]}


@router.get("/record")
def record(desk: AtDesk) -> dict[str, Any]:
    """The build record: ``asmade record``."""
    return plain_joining.record(desk.look().record)
