"""done and note: what was done to a piece, and anything worth remembering, with its photographs."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from asmade.book.address import Address, read_address
from asmade.book.ledger import Ledger
from asmade.book.model import Build, Piece
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, Contradiction, Damaged, OutOfRange, Refused, Unknown, near
from asmade.reckon.values import compute
from asmade.verbs.history import withdraw
from asmade.verbs.joined import read_moment
from asmade.verbs.store import Opened, Path_, Saved, read, save, trial
from asmade.work.recipes.bench import plain_name
from asmade.work.recipes.model import Operation
from asmade.work.routes import Route, RoutePlanner

BOOK: Final = "book"
"""What a note is about that belongs to no part and no joint."""
PHOTO_LIMIT: Final = 20 * 2**20
"""Bytes of one photograph or scan: a book stays small enough to be copied."""
HEIF_BRANDS: Final = (b"heic", b"heix", b"mif1", b"msf1")


@dataclass(frozen=True, slots=True)
class DoneResult:
    """The entry, the piece, and all that has been done to it so far.

    ``route`` is the piece's route as it stands now (None where none can be planned), ``planned`` whether the operation
    is one of it, ``near`` those that read like it, ``skipped`` what comes before it and is not entered, ``next`` what
    is next.
    """

    saved: Saved
    piece: Piece
    operation: str
    at: str
    done: tuple[tuple[str, str], ...]
    route: Route | None = None
    planned: bool = False
    near: tuple[str, ...] = ()
    skipped: tuple[str, ...] = ()

    @property
    def next(self) -> Operation | None:
        """The next operation of the route."""
        return None if self.route is None else self.route.next


@dataclass(frozen=True, slots=True)
class Photo:
    """A file kept in the book: its name, type, size, and the digest by which the book finds it."""

    name: str
    media_type: str
    size: int
    digest: str


@dataclass(frozen=True, slots=True)
class NoteResult:
    """The entries, what they are about, the text, and the photographs kept with it."""

    saved: Saved
    about: str
    text: str
    at: str
    photos: tuple[Photo, ...]


def done(
    path: Path_, piece: str, operation: str, *, at: str = "", by: str = "", note: str = "", what_if: bool = False,
    key: str = "",
) -> DoneResult:  # fmt: skip
    """Enter that an operation has been done to a piece (``wheel#W3``, or ``wheel@2R``: whichever sits there).

    An operation of the piece's route is entered by its key ("bore reamed", small or capital letters); any other words
    are kept as they are, with what of the route reads like them.
    """
    opened = read(path)
    found = _piece(opened.build, piece)
    words = " ".join(operation.split())
    if not words:
        raise Refused("operation", got=operation, reason="it is empty", way_out='say what was done: "back faced"')
    before = route_of(opened.build, found)
    planned = None if before is None else _of_route(before, words)
    words = planned.key if planned else words
    told = done_to(opened.build, found.seat)
    sent = any(key and e.key == key for e in opened.entries)
    if not sent and any(words.lower() == name.lower() for name, _ in told):
        when = next(at for name, at in told if name.lower() == words.lower())
        raise Contradiction(f"{found.seat}: {words!r} was done on {when[:10]} already",
                            way_out="say which it is, such as 'second cut', or withdraw the first entry")  # fmt: skip
    if found.scrapped:
        raise Refused("piece", got=piece, reason="it is scrap", way_out="withdraw that entry if it was a slip")
    when = read_moment(at)
    body = {"piece": found.seat, "operation": words} | ({"note": note.strip()} if note.strip() else {})
    saved = save(opened, [Draft("done", body, when, by)], what_if=what_if, key=key)
    close = () if planned or before is None else near(words, [op.key for op in before.operations])
    skipped = () if planned is None or before is None else _skipped(before, planned)
    return DoneResult(saved, found, words, when, done_to(saved.build, found.seat), route_of(saved.build, found),
                      planned=planned is not None, near=tuple(close), skipped=skipped)  # fmt: skip


def undo(path: Path_, piece: str, operation: str, *, why: str = "", what_if: bool = False) -> Saved:
    """Withdraw the entry by which an operation was done to a piece; it stays in the history."""
    opened = read(path)
    found = _piece(opened.build, piece)
    words = " ".join(operation.split()).lower()
    hits = [
        r for r in opened.build.remarks
        if r.kind == "done" and r.body.get("piece") == found.seat and str(r.body.get("operation", "")).lower() == words
    ]  # fmt: skip
    if not hits:
        entered = [name for name, _ in done_to(opened.build, found.seat)]
        raise Unknown(f"operation done to {found.seat}", got=operation, near=near(operation, entered),
                      way_out=f"entered are: {', '.join(entered) or 'none'}")  # fmt: skip
    return withdraw(path, hits[-1].entry, why=why, what_if=what_if)


def route_of(build: Build, piece: Piece) -> Route | None:
    """The route of a piece with what is done of it; None where none can be planned, or where it sits nowhere."""
    if not piece.place:
        return None
    try:
        return RoutePlanner(build, compute(build)).plan(piece.part, piece.place)
    except AsmadeError:
        return None


def _of_route(route: Route, words: str) -> Operation | None:
    """The operation that words name: its key as written, or as it reads in plain words."""
    wanted = words.lower()
    for op in route.operations:
        if wanted in (op.key.lower(), plain_name(op.key).lower()):
            return op
    return None


def _skipped(route: Route, op: Operation) -> tuple[str, ...]:
    """What the operation needs, directly or through others, that nobody has entered or measured."""
    makers = {thing: one for one in route.operations for thing in one.makes}
    found: dict[str, None] = {}
    edge = [*op.needs]
    seen: set[str] = set()
    while edge:
        need = edge.pop()
        if need in seen:
            continue
        seen.add(need)
        one = makers.get(need)
        if one is None or one.key == op.key:
            continue
        if not one.is_done:
            found[one.key] = None
        edge += one.needs
    return tuple(one.key for one in route.operations if one.key in found)


def done_to(build: Build, seat: str) -> tuple[tuple[str, str], ...]:
    """What has been done to a piece: operation and when, in the order of entering."""
    return tuple(
        (str(r.body.get("operation", "")), r.at)
        for r in build.remarks
        if r.kind == "done" and r.body.get("piece") == seat
    )


def _piece(build: Build, text: str) -> Piece:
    address = read_address(text)
    part = build.design.parts.get(address.part)
    if part is None:
        raise Unknown("part", got=address.part, near=near(address.part, build.design.parts))
    if address.dim:
        raise Refused("piece", got=text, reason="a dimension is made, a piece is worked on", way_out=address.seat)
    if not address.mark and not address.place:
        if len(part.places) != 1:
            raise Refused("piece", got=text, reason=f"{part.name} sits at {', '.join(part.places)}: which piece?",
                          way_out=f"write {part.name}@{part.places[0]}, or its mark")  # fmt: skip
        address = Address(part.name, part.places[0])
    if address.place and address.place not in part.places:
        raise Unknown(f"place of {part.name}", got=address.place, near=near(address.place, part.places),
                      way_out=f"it sits at {', '.join(part.places)}")  # fmt: skip
    found = build.pieces.get(build.piece_at(address).seat)
    if found is None:
        own = [seat for seat, each in build.pieces.items() if each.part == part.name]
        raise Unknown("piece", got=text, near=near(address.seat, own), way_out=f"pieces are: {', '.join(own)}")
    return found


def note(
    path: Path_, about: str, text: str = "", *, photos: tuple[str, ...] = (),
    sent: tuple[tuple[str, bytes], ...] = (), at: str = "", by: str = "", what_if: bool = False, key: str = "",
) -> NoteResult:  # fmt: skip
    """Enter a note about a part, a piece, a size, a relation or joint by its name, or the ``book`` as a whole.

    Photographs (JPEG, PNG, WebP, HEIF, or a scan as PDF; told by what is in them, not by their name) are kept in the
    book itself, each up to `PHOTO_LIMIT` bytes. ``sent`` are such files by name and content, not from this disk.
    """
    opened = read(path)
    target = about_of(opened.build, about)
    words = text.strip()
    if not words and not photos and not sent:
        raise Refused("note", got=text, reason="it is empty", way_out="say what is worth remembering, or add --photo")
    files = [*(_read_photo(each) for each in photos), *(_photo(name, data) for name, data in sent)]
    when = read_moment(at)
    drafts = [Draft("note", {"about": target, "text": words}, when, by)] if words else []
    drafts += [Draft("attachment", _attached(target, photo), when, by) for photo, _ in files]
    saved = save(opened, drafts, what_if=True) if what_if else _keep(opened, drafts, files, key)
    return NoteResult(saved, target, words, when, tuple(photo for photo, _ in files))


def _keep(opened: Opened, drafts: list[Draft], files: list[tuple[Photo, bytes]], key: str) -> Saved:
    """The data first, then the entries that name it: an entry never names what is not there."""
    trial(opened, drafts)
    if files:
        with Ledger.open(opened.path) as ledger:
            for photo, data in files:
                ledger.attach(photo.name, data, photo.media_type)
    return save(opened, drafts, key=key)


def _attached(about: str, photo: Photo) -> dict[str, Any]:
    return {
        "about": about,
        "name": photo.name,
        "media_type": photo.media_type,
        "bytes": photo.size,
        "digest": photo.digest,
    }


def about_of(build: Build, text: str) -> str:
    """What a note is about, checked to exist: an address, the name of a relation (with or without place), the book."""
    said = text.strip()
    names = {r.name: r.places for r in build.design.relations}
    stem, _, place = said.partition("@")
    if stem in names and (not place or place in names[stem]):
        return said
    if said == BOOK and BOOK not in build.design.parts:
        return BOOK
    if stem in names:
        raise Unknown(f"place of {stem!r}", got=place, near=near(place, names[stem]),
                      way_out=f"it stands at {', '.join(names[stem])}")  # fmt: skip
    try:
        address = read_address(said)
    except Refused as fault:
        close = near(said, names)
        raise Unknown("part, relation or joint", got=text, near=close, way_out=fault.way_out) from fault
    part = build.design.parts.get(address.part)
    if part is None:
        if address.part in build.design.figures and not (address.place or address.mark or address.dim):
            return said
        raise Unknown("part, figure or relation", got=text,
                      near=near(address.part, {*build.design.parts, *build.design.figures, *names}),
                      way_out='or "book" for the build as a whole')  # fmt: skip
    if address.place and address.place not in part.places:
        raise Unknown(f"place of {part.name}", got=address.place, near=near(address.place, part.places),
                      way_out=f"it sits at {', '.join(part.places)}")  # fmt: skip
    if address.mark and address.seat not in build.pieces:
        own = [seat for seat, each in build.pieces.items() if each.part == part.name]
        raise Unknown("piece", got=address.seat, near=near(address.seat, own), way_out=f"pieces are: {', '.join(own)}")
    if address.dim and address.dim not in part.dims:
        raise Unknown(f"dimension of {part.name}", got=address.dim, near=near(address.dim, part.dims),
                      way_out=f"one of: {', '.join(part.dims)}")  # fmt: skip
    return str(address)


def _read_photo(name: str) -> tuple[Photo, bytes]:
    path = Path(name)
    if path.exists() and not path.is_file():
        raise Damaged(f"{name}: is not a plain file", way_out="name a photograph")
    try:
        size = path.stat().st_size
        if size > PHOTO_LIMIT:
            raise OutOfRange(f"{path.name}, bytes", got=size, allowed=f"up to {PHOTO_LIMIT}",
                             way_out="make it smaller, or keep it elsewhere and note where")  # fmt: skip
        data = path.read_bytes()
    except OSError as fault:
        raise Damaged(
            f"{name}: cannot be read: {fault.strerror or fault}", way_out="check its name and folder"
        ) from fault
    return _photo(path.name, data)


def _photo(name: str, data: bytes) -> tuple[Photo, bytes]:
    from hashlib import sha256  # noqa: PLC0415  # only photographs need it

    if len(data) > PHOTO_LIMIT:
        raise OutOfRange(f"{name}, bytes", got=len(data), allowed=f"up to {PHOTO_LIMIT}",
                         way_out="make it smaller, or keep it elsewhere and note where")  # fmt: skip
    called = "".join(sign if sign.isprintable() else "_" for sign in name)
    return Photo(called, media_type_of(data, called), len(data), sha256(data).hexdigest()), data


def media_type_of(data: bytes, name: str) -> str:
    """Type of a picture by its first bytes; refuses anything else, whatever its name says.

    Source: the signatures that ISO 10918-1 (JPEG), ISO 15948 (PNG), RFC 9649 (WebP), ISO 23008-12 (HEIF) and
    ISO 32000-1 (PDF) give, from memory.
    """
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    if data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS:
        return "image/heif"
    if data.startswith(b"%PDF-"):
        return "application/pdf"
    raise Refused("photo", got=name, reason="by what is in it, it is none of: JPEG, PNG, WebP, HEIF, PDF",
                  way_out="save it as JPEG or PNG")  # fmt: skip
