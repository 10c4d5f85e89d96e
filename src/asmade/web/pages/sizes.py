"""Sizes: the choice of all working sizes at once, looked at before it is kept."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Refused
from asmade.verbs import choose
from asmade.web.desk import AtDesk, Desk, Fields, Form

router = APIRouter()
LINKS: Final = ((14, "Sizes", "/sizes"),)
SECONDS: Final = ("5", "15", "30", "60", "120", "300")
STATUS: Final = {
    "proven": "Proven: no better set of the listed candidates under the stated weights. It says nothing of the engine.",
    "best_found": "The best found in the time given.",
    "nothing_found": "Nothing was found in the time given. Give it more.",
    "conflict": "Not all can hold. Nothing was chosen.",
}


@router.get("/sizes")
def sizes(request: Request, desk: AtDesk) -> Response:
    """What is chosen and locked, the choice at work, the last answer."""
    return _sizes(request, desk)


def _sizes(
    request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None, form: Fields | None = None
) -> Response:  # fmt: skip
    look = desk.look()
    chosen = sorted(look.build.chosen.values(), key=lambda c: (not c.locked, str(c.of)))
    run = desk.runs.last
    return desk.page(
        request, "sizes.html", status=status, chosen=chosen, run=run, refused=refused, form=form or Fields(),
        STATUS=STATUS, SECONDS=SECONDS, moved_on=run is not None and run.opened.last != look.opened.last,
    )  # fmt: skip


@router.post("/sizes/run")
def start(request: Request, desk: AtDesk, form: Form) -> Response:
    """Start a choice."""
    try:
        seconds = form["seconds"] or "15"
        if seconds not in SECONDS:
            raise Refused("time limit", got=seconds, reason="it is none of the list",
                          way_out=f"one of {', '.join(SECONDS)} seconds")  # fmt: skip
        desk.runs.start(
            desk.look().opened, seconds=float(seconds), lock=_locks(form["lock"]),
            loosen=tuple(form.every.get("loosen", ())), alternatives_for=form["others"],
        )  # fmt: skip
    except AsmadeError as fault:
        return _sizes(request, desk, status=422, refused=fault, form=form)
    return desk.go("/sizes")


@router.post("/sizes/stop")
def stop(desk: AtDesk, form: Form) -> Response:  # noqa: ARG001  # its token is looked at
    """Stop the choice at work; the best found so far is kept."""
    run = desk.runs.last
    if run is not None:
        run.stop.set()
        run.ended.wait(5)
    return desk.go("/sizes")


@router.post("/sizes/apply")
def apply(request: Request, desk: AtDesk, form: Form) -> Response:
    """Write the answer into the book, as it was shown."""
    run = desk.runs.last
    try:
        if run is None or run.name != form["run"] or run.result is None or run.applied:
            raise Refused("choice", got=form["run"], reason="it is not here any more", way_out="run the choice again")
        saved = choose.apply(run.opened, run.result.choice, lock=run.lock, loosen=run.loosen)
        run.applied = True
    except AsmadeError as fault:
        return _sizes(request, desk, status=422, refused=fault, form=form)
    if saved is None:
        return desk.go("/sizes", "The book says all of this already; there was nothing to save.")
    return desk.go("/sizes", f"Saved as entries {saved.entries[0]} to {saved.entries[-1]}.")


def _locks(text: str) -> dict[str, str]:
    """One a line: ``wheel.bore = 15.9 mm``, or the address alone to lock it as it is chosen."""
    found = {}
    for line in filter(None, map(str.strip, text.splitlines())):
        address, _, size = line.partition("=")
        found[address.strip()] = size.strip()
    return found
