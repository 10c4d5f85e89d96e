"""history and withdraw: what was entered, and taking an entry back without losing it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from asmade.book.fold import withdrawn
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, Refused, Unknown
from asmade.verbs.store import Opened, Path_, Saved, read, save, trial


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of the book."""

    number: int
    kind: str
    at: str
    by: str
    words: str
    withdrawn: str
    body: Mapping[str, Any]


def history(path: Path_, *, about: str = "", last: int = 0) -> tuple[Line, ...]:
    """All entries in their order, withdrawn ones marked; ``about`` keeps what speaks of it, ``last`` the newest."""
    return history_of(read(path), about=about, last=last)


def history_of(opened: Opened, *, about: str = "", last: int = 0) -> tuple[Line, ...]:
    """The same of a book that was read."""
    gone = {number: str(e.body.get("why", "")) or "no reason given" for number, e in withdrawn(opened.entries).items()}
    lines = [
        Line(e.number, e.kind, e.at, e.by, words_of(e.kind, e.body), gone.get(e.number, ""), e.body)
        for e in opened.entries
    ]
    if about:
        lines = [line for line in lines if about in line.words]
    return tuple(lines[-last:] if last else lines)


def speaking_of(lines: Iterable[Line], *names: str) -> tuple[Line, ...]:
    """Lines that speak of parts (``wheel``: of its pieces and sizes too) or of sizes (``wheel@1L.bore``) by name."""
    own = re.compile(rf"(?<![\w@#.])(?:{'|'.join(map(re.escape, names))})(?!\w)")
    return tuple(line for line in lines if own.search(line.words))


def words_of(kind: str, body: Mapping[str, Any]) -> str:
    """One entry in a line of plain words."""
    match kind:
        case "design":
            inside = body.get("set", {})
            parts = list(inside.get("part", {}))
            relations = sum(len(v) for v in inside.values() if isinstance(v, list))
            removed = body.get("remove", ())
            text = f"{len(parts)} part{'s' if len(parts) != 1 else ''}, {relations} relations" if not removed else ""
            if len(parts) == 1:
                text = f"part {parts[0]}"
            return f"{text}{' removed ' + ', '.join(removed) if removed else ''}".strip()
        case "drawn":
            return f"{body.get('of')} drawn {body.get('drawn')!r}"
        case "chosen":
            locked = ", locked" if body.get("locked") else ""
            return f"{body.get('of')} chosen {body.get('size')}{locked}: {body.get('why', '')}"
        case "aimed":
            ends = f"{body.get('low') or '...'} to {body.get('high') or '...'}"
            return f"{body.get('piece')}.{body.get('dim')} aimed at {body.get('target')} ({ends})"
        case "made":
            figure = body.get("reading") or ", ".join(map(str, body.get("repeats") or body.get("spots") or ()))
            if "goes" in body:
                figure = f"goes {body['goes']}, stops {body['stops']}"
            by = f" by {body['instrument']}" if body.get("instrument") else ""
            return f"{body.get('piece')}.{body.get('dim')} made {figure}{by} ({body.get('stage', 'finished')})"
        case "moved" | "piece":
            seat = body.get("piece") or f"{body.get('part')}#{body.get('mark')}"
            return f"{seat} moved to {body.get('place') or 'the spares'}"
        case "scrapped":
            return f"{body.get('piece')} scrapped: {body.get('why', '')}"
        case "withdrawn":
            return f"entry {body.get('entry')} withdrawn: {body.get('why', '')}"
        case "joined":
            despite = f", despite: {body['despite']}" if body.get("despite") else ""
            return f"{body.get('joint')} joined{despite}{_said(body, 'note')}"
        case "undone":
            return f"{body.get('joint')} undone: {body.get('how', '')}{_said(body, 'note')}"
        case "done":
            return f"{body.get('piece')}: {body.get('operation')} done{_said(body, 'note')}"
        case "note":
            about = body.get("about", "")
            return f"{about}: {body.get('text', '')}" if about not in ("", "book") else str(body.get("text", ""))
        case "attachment":
            return f"{body.get('about', 'book')}: photograph {body.get('name', '')}"
        case "shop":
            return f"shop: {', '.join(body.get('set', {})) or 'removed ' + ', '.join(body.get('remove', ()))}"
        case _:
            return ", ".join(f"{key} {value}" for key, value in body.items())


def _said(body: Mapping[str, Any], key: str) -> str:
    return f" ({body[key]})" if body.get(key) else ""


def withdraw(path: Path_, number: int, *, why: str = "", what_if: bool = False) -> Saved:
    """Withdraw an entry: it no longer counts, and stays in the history.

    A withdrawal can be withdrawn too: then the entry it named counts again, in its old place.
    """
    opened = read(path)
    if not any(e.number == number for e in opened.entries):
        raise Unknown("entry", got=number, way_out=f"entries run from 1 to {opened.last}: see asmade history")
    by = withdrawn(opened.entries).get(number)
    if by is not None:
        raise Refused("withdraw", got=number, reason=f"it has been withdrawn already, by entry {by.number}",
                      way_out=f"to have it count again, withdraw entry {by.number}")  # fmt: skip
    drafts = [Draft("withdrawn", {"entry": number, "why": why})]
    try:
        trial(opened, drafts)
    except AsmadeError as fault:
        raise Refused("withdraw", got=number, reason=f"without it the book would not stand: {fault.message}",
                      way_out="withdraw first what rests on it, or correct it with a new entry") from fault  # fmt: skip
    return save(opened, drafts, what_if=what_if)
