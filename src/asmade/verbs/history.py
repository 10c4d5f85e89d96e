"""history and withdraw: what was entered, and taking an entry back without losing it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown
from asmade.verbs.store import Path_, Saved, read, save


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
    opened = read(path)
    gone = {
        e.body["entry"]: str(e.body.get("why", "")) or "no reason given"
        for e in opened.entries
        if e.kind == "withdrawn"
    }
    lines = [
        Line(e.number, e.kind, e.at, e.by, words_of(e.kind, e.body), gone.get(e.number, ""), e.body)
        for e in opened.entries
    ]
    if about:
        lines = [line for line in lines if about in line.words]
    return tuple(lines[-last:] if last else lines)


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
            ends = f"{body.get('low')} to {body.get('high')}"
            return f"{body.get('piece')}.{body.get('dim')} aimed at {body.get('target')} ({ends})"
        case "made":
            figure = body.get("reading") or body.get("repeats") or body.get("spots")
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
        case "shop":
            return f"shop: {', '.join(body.get('set', {})) or 'removed ' + ', '.join(body.get('remove', ()))}"
        case _:
            return ", ".join(f"{key} {value}" for key, value in body.items())


def withdraw(path: Path_, number: int, *, why: str = "", what_if: bool = False) -> Saved:
    """Withdraw an entry: it no longer counts, and stays in the history. A withdrawal can be withdrawn too."""
    opened = read(path)
    entry = next((e for e in opened.entries if e.number == number), None)
    if entry is None:
        raise Unknown("entry", got=number, way_out=f"entries run from 1 to {opened.last}: see asmade history")
    if any(e.kind == "withdrawn" and e.body["entry"] == number for e in opened.entries):
        raise Refused("withdraw", got=number, reason="it has been withdrawn already", way_out="see asmade history")
    if entry.kind == "withdrawn":
        original = next(e for e in opened.entries if e.number == entry.body["entry"])
        return save(opened, [Draft(original.kind, original.body, original.at, original.by)], what_if=what_if)
    return save(opened, [Draft("withdrawn", {"entry": number, "why": why})], what_if=what_if)
