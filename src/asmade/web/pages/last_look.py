"""Last look: before a step that cannot be undone; the joints, what rests on each, the list to tick, made and undone."""

from __future__ import annotations

import re
import secrets
from contextlib import suppress
from typing import TYPE_CHECKING, Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.book.address import Address, read_address
from asmade.measure.errors import AsmadeError, Contradiction, Refused
from asmade.reckon.joining import standing
from asmade.verbs import joined as joining
from asmade.verbs import last_look
from asmade.web import taken
from asmade.web.desk import AtDesk, Desk, Fields, Form
from asmade.web.pages.bench import curing

if TYPE_CHECKING:
    from asmade.verbs.joined import JoinedResult
    from asmade.verbs.last_look import JointState, LastLook
    from asmade.web.seen import Look

router = APIRouter()
ADDRESS: Final = re.compile(r"[a-z][a-z0-9_]*@[A-Za-z0-9]+\.[a-z0-9_.]+")
LINKS: Final = ((51, "Last look", "/last-look"),)
WHAT: Final = {
    "handled": "not to be handled", "machined": "not to be machined", "loaded": "not to be loaded",
    "worked": "can be moved for",
}  # fmt: skip


def look_path(joint: str) -> str:
    """Where the last look at one joint is."""
    return f"/last-look/{quote(joint, safe='@')}"


@router.get("/last-look")
def every(request: Request, desk: AtDesk) -> Response:
    """All joints in an order in which they can be made, with what stands against each."""
    look = desk.look()
    found: tuple[JointState, ...] = look.once("joints", lambda: last_look.every_joint_of(look.build, look.values))
    return desk.page(request, "last_look_list.html", joints=found, curing=curing(look), look_path=look_path)


@router.get("/last-look/{joint:path}")
def one(request: Request, desk: AtDesk, joint: str, temperature: str = "") -> Response:
    """The last look at one joint."""
    return _one(request, desk, joint, Fields({"temperature": temperature}))


def _one(
    request: Request, desk: Desk, joint: str, form: Fields, *, status: int = 200, refused: AsmadeError | None = None,
    at: str = "",
) -> Response:  # fmt: skip
    look = desk.look()
    ticked = form.every.get("tick", []) if hasattr(form, "every") else []
    temperature = "" if refused is not None and at == "temperature" else form["temperature"]
    try:
        found = _looked(desk, joint, temperature)
    except AsmadeError as fault:
        if not temperature or refused is not None:
            raise
        return _one(request, desk, joint, form, status=422, refused=fault, at="temperature")
    stands = standing(look.build).get(found.joint)
    undoing = None
    if stands is not None and stands.joined:
        undoing = joining.undone(desk.book.path, found.joint, how="as read first", what_if=True)
    waits = next((w for w in curing(look) if w.joint == found.joint), None)
    return desk.page(
        request, "last_look.html", status=status, look=found, stands=stands, undoing=undoing, waits=waits, form=form,
        ticked=ticked, refused=refused, at=at, key=secrets.token_urlsafe(12), look_path=look_path, WHAT=WHAT,
        temperature=form["temperature"], address_in=lambda words: _address_in(look, words),
    )  # fmt: skip


def _address_in(look: Look, words: str) -> Address | None:
    """The first size that some words name."""
    for found in ADDRESS.findall(words):
        with suppress(AsmadeError):
            address = read_address(found.rstrip("."))
            if address in look.values.system.index:
                return address
    return None


def _looked(desk: Desk, joint: str, temperature: str) -> LastLook:
    look = desk.look()
    return look.once(
        f"last look {joint} {temperature[:20]}",
        lambda: last_look.last_look_of(look.build, joint, temperature=temperature, values=look.values),
    )


@router.post("/last-look/joined")
def joined(request: Request, desk: AtDesk, form: Form) -> Response:
    """Enter that the joint was made: all is ticked, and where the verdict is stop a reason is written."""
    name = form["joint"]
    try:
        key = taken.checked(form["key"])
        if taken.entry_of(desk, key):
            return desk.go(f"/joined/{key}")
        found = _looked(desk, name, form["temperature"])
        missing = [tick for tick in found.ticks if tick not in form.every.get("tick", [])]
        if missing:
            raise Refused("list to tick", got=f"{len(missing)} not ticked", reason=f"not seen to yet: {missing[0]}",
                          way_out="tick each thing with the pieces in hand")  # fmt: skip
        result = joining.joined(
            desk.book.path, name, despite=form["despite"], temperature=form["temperature"], note=form["note"], key=key
        )
    except joining.Stopped as fault:
        words = Refused("joint", got=fault.reasons[0].words, reason="the last look says stop",
                        way_out="put it right, or write the reason why all the same")  # fmt: skip
        return _one(request, desk, name, form, status=422, refused=words, at="despite")
    except AsmadeError as fault:
        where = "temperature" if "temperature" in str(fault.message) else "ticks"
        return _one(request, desk, name, form, status=422, refused=fault, at=where)
    desk.results.put(result, key)
    return desk.go(f"/joined/{key}")


@router.get("/joined/{key}")
def made(request: Request, desk: AtDesk, key: str) -> Response:
    """Until when it must wait, what is out of reach now, what to measure at once."""
    kept = desk.results.get(key)
    if not isinstance(kept, joining.JoinedResult):
        number = taken.entry_of(desk, key)
        if not number:
            raise Refused("joint", got=key[:20], reason="it is not here any more", way_out="see the history")
        name = next(str(e.body.get("joint", "")) for e in desk.look().opened.entries if e.number == number)
        return desk.go(look_path(name))
    result: JoinedResult = kept
    return desk.page(request, "last_look_made.html", result=result, look_path=look_path, WHAT=WHAT)


@router.post("/last-look/undone")
def undone(request: Request, desk: AtDesk, form: Form) -> Response:
    """Enter that a joint was undone, and how."""
    try:
        result = joining.undone(desk.book.path, form["joint"], how=form["how"], note=form["note"])
    except (Refused, Contradiction) as fault:
        return _one(request, desk, form["joint"], form, status=422, refused=fault, at="how")
    again = ", ".join(map(str, result.measure))
    more = f" Measure again before it is joined again: {again}." if again else ""
    return desk.go(look_path(result.joint), f"Undone: {result.how} (entry {result.saved.entries[0]}).{more}")
