"""What may be entered: kinds of entries, and what is stored of one, exactly or not at all."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from asmade.measure.errors import OutOfRange, Refused, Unknown

if TYPE_CHECKING:
    from asmade.book.ledger_schema import Fields

KINDS: Final = frozenset(
    {
        "drawn",  # a figure on the drawing
        "chosen",  # a working size
        "aimed",  # a size that went to the bench
        "made",  # a reading
        "moved",  # a piece to another place
        "scrapped",  # a piece
        "done",  # a step of the work
        "joined",  # a joint that cannot be undone
        "undone",  # a joint taken apart after all
        "note",
        "attachment",  # names data kept by `Ledger.attach`
        "design",  # parts, places, relations
        "shop",  # machines, tools, stock, instruments
        "withdrawn",  # an entry that no longer counts
    }
)
BODY_LIMIT: Final = 16 * 2**20  # bytes of JSON text: an entry is a record, a file is an attachment
_DEPTH_LIMIT: Final = 40  # levels of a body
_AT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing entered: what kind, when, what it says, by whom.

    ``number`` is 0 until written; numbers ascend by one and are never reused. ``kind`` is one of `KINDS`. ``at`` is
    the local time of entering in ISO 8601 with seconds and offset. ``body`` is JSON: strings, whole and finite
    numbers, true, false, null, lists, mappings with text keys; a withdrawn entry's is
    ``{"entry": n, "why": "..."}``. ``by`` says who or what wrote it. ``key`` is the client's own name for this
    entry, unique in the book, so that sending it twice saves it once.
    """

    number: int
    kind: str
    at: str
    body: Mapping[str, Any]
    by: str = ""
    key: str = ""


class Prepared(NamedTuple):
    """An entry ready to be stored; ``wanted`` is the number it came with, 0 for none."""

    wanted: int
    fields: Fields


def prepare(entry: Entry) -> Prepared:
    """Return what is stored of ``entry``; raise ``Refused`` if it cannot be kept exactly."""
    if entry.kind not in KINDS:
        raise Unknown("kind of entry", got=entry.kind, way_out=f"one of {', '.join(sorted(KINDS))}")
    if not _AT.fullmatch(entry.at) or not _is_time(entry.at):
        raise Refused(
            "the time of an entry",
            got=entry.at,
            reason="it is not a local time with seconds and offset",
            way_out="2026-03-14T19:05:00+01:00",
        )
    for what, text in (("who wrote an entry", entry.by), ("the key of an entry", entry.key)):
        if not text.isprintable():
            raise Refused(what, got=text, reason="it holds control characters")
    if not isinstance(entry.body, Mapping):
        raise Refused("the body of an entry", got=entry.body, reason="it is not a mapping")
    body = json_text(_plain(entry.body, "body", 0))
    if len(body) > BODY_LIMIT:
        raise OutOfRange(
            "the body of an entry, characters",
            got=len(body),
            allowed=f"up to {BODY_LIMIT}",
            way_out="attach it as a file",
        )
    return Prepared(entry.number, (entry.kind, entry.at, body, entry.by, entry.key or None))


def _is_time(text: str) -> bool:
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def _plain(value: object, where: str, depth: int) -> object:
    """Return ``value`` as JSON reads it back; refuse what JSON would change without a word (a NaN, a number as key)."""
    if depth > _DEPTH_LIMIT:
        raise Refused(where, got="...", reason=f"it is nested more than {_DEPTH_LIMIT} levels deep")
    match value:
        case None | bool():
            return value
        case str():
            return _text(value, where)
        case int():
            if abs(value) >= 2**63:
                raise Refused(
                    where, got=value, reason="it is a whole number beyond 64 bits", way_out="write it as text"
                )
            return int(value)
        case float():
            if not math.isfinite(value):
                raise Refused(
                    where, got=value, reason="it is not a finite number", way_out="leave it out or write null"
                )
            return float(value)
        case Mapping():
            for key in value:
                if not isinstance(key, str):
                    raise Refused(where, got=key, reason="a name in it is not text")
            return {_text(key, where): _plain(held, f"{where}.{key}", depth + 1) for key, held in value.items()}
        case list() | tuple():
            return [_plain(held, f"{where}[{place}]", depth + 1) for place, held in enumerate(value)]
        case _:
            raise Refused(
                where,
                got=value,
                reason=f"a {type(value).__name__} cannot be written as JSON",
                way_out="write it as text",
            )


def _text(text: str, where: str) -> str:
    try:
        text.encode()
    except UnicodeEncodeError:
        raise Refused(where, got=text, reason="it holds half a character (a lone surrogate)") from None
    return str(text)


def json_text(body: object, *, sort: bool = False) -> str:
    """Return ``body`` as JSON without spaces or NaN, its names in the order written, which an export gives back.

    ``sort`` puts the names in order, so that equal bodies are equal texts.
    """
    return json.dumps(body, sort_keys=sort, allow_nan=False, ensure_ascii=False, separators=(",", ":"))


def same_body(one: str, other: str) -> bool:
    """Tell whether two bodies, as stored, say the same, in whatever order."""
    return one == other or json_text(json.loads(one), sort=True) == json_text(json.loads(other), sort=True)
