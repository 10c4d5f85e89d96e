"""Record: the build as it stands, for the next ten years and the next owner; notes and photographs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.verbs.done import BOOK, note
from asmade.verbs.photographs import photograph
from asmade.verbs.record import Record
from asmade.web.desk import AtDesk, Desk, Fields, FormWithFiles

if TYPE_CHECKING:
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((37, "Record", "/record"),)
SHOWN_INLINE: Final = frozenset({"image/jpeg", "image/png", "image/webp"})
OPEN: Final = 40  # findings on the page of the record


@router.get("/record")
def record(request: Request, desk: AtDesk) -> Response:
    """Where it was left, how far each part is, joints, notes, photographs, what is open."""
    return _record(request, desk)


def _record(
    request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None, at: str = "",
    form: Fields | None = None,
) -> Response:  # fmt: skip
    look = desk.look()
    found = look.record
    joints = look.build.design.of_kind("joint")
    return desk.page(
        request, "record.html", status=status, r=found, refused=refused, at=at, form=form or Fields(), OPEN=OPEN,
        INLINE=_types(look), topics=(BOOK, *look.build.design.parts, *(relation.name for relation in joints)),
        every_note=_notes(found),
    )  # fmt: skip


def _types(look: Look) -> dict[str, bool]:
    """Photographs by digest: whether a browser shows them on a page."""
    return {
        str(remark.body.get("digest", "")): remark.body.get("media_type") in SHOWN_INLINE
        for remark in look.build.remarks if remark.kind == "attachment"
    }  # fmt: skip


def _notes(found: Record) -> tuple[object, ...]:
    """Every note and photograph, the newest first."""
    every = [*found.notes, *(n for p in found.parts for n in p.notes), *(n for j in found.joints for n in j.notes)]
    return tuple(sorted(dict.fromkeys(every), key=lambda n: n.at, reverse=True))


@router.get("/record/all")
def whole(request: Request, desk: AtDesk) -> Response:
    """Every part on one page, to be read from end to end or printed."""
    look = desk.look()
    return desk.page(request, "record_parts.html", r=look.record, parts=look.record.parts, one=False,
                     INLINE=_types(look))  # fmt: skip


@router.get("/record/part/{name}")
def one_part(request: Request, desk: AtDesk, name: str) -> Response:
    """One part as drawn, chosen, made, with instruments, dates, notes and photographs."""
    look = desk.look()
    found = look.record
    parts = tuple(p for p in found.parts if p.name == name)
    if not parts:
        raise Unknown("part", got=name, near=near(name, [p.name for p in found.parts]), way_out="see the record")
    return desk.page(request, "record_parts.html", r=found, parts=parts, one=True, INLINE=_types(look))


@router.post("/record/photo")
def add(request: Request, desk: AtDesk, form: FormWithFiles) -> Response:
    """Enter a note with its photographs; they are kept in the book itself."""
    at = "about"
    try:
        sent = tuple((each.name or "photograph", each.data) for each in form.files if each.data or each.name)
        if any(not data for _, data in sent):
            at = "photos"
            raise Refused("photograph", got=sent[0][0], reason="it is empty", way_out="choose it again")
        result = note(desk.book.path, form["about"] or BOOK, form["text"], sent=sent)
    except AsmadeError as fault:
        thing = str(getattr(fault, "thing", ""))
        at = "text" if thing == "note" else "photos" if "photo" in thing or "bytes" in thing else at
        return _record(request, desk, status=422, refused=fault, at=at, form=form)
    count = len(result.photos)
    kept = f" with {count} photograph{'s' if count != 1 else ''}" if count else ""
    return desk.go("/record#notes", f"Kept{kept}, about {result.about}.")


@router.get("/photos/{digest}")
def photo(desk: AtDesk, digest: str) -> Response:
    """A photograph of the book, by its digest; what no browser shows safely is put by as a file."""
    if len(digest) != 64 or not all(sign in "0123456789abcdef" for sign in digest):
        raise Unknown("photograph", got=digest[:80], way_out="see the record")
    name, media_type, data = photograph(desk.book.path, digest)
    how = "inline" if media_type in SHOWN_INLINE else "attachment"
    head = {
        "content-disposition": f"{how}; filename*=UTF-8''{quote(name, safe='')}", "x-content-type-options": "nosniff",
        "cache-control": "private, max-age=31536000, immutable",
    }  # fmt: skip
    return Response(data, media_type=media_type, headers=head)
