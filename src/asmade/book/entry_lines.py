"""The entries of a ledger as lines of JSON, both ways: from them the very same book is made again.

Everything is in them (withdrawn entries, numbers, times, keys) but the data of attachments.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any, Final

from asmade.book.ledger_entry import Entry, json_text
from asmade.measure.errors import Refused

FORMAT: Final = 1


def write_entries(entries: Sequence[Entry], attachments: int) -> bytes:
    """Write entries one a line behind a line that says how many; ``attachments`` is how many have data in the book."""
    head = {"asmade": "entries", "format": FORMAT, "entries": len(entries), "attachments": attachments}
    lines = [json_text(head)]
    for e in entries:
        row = {"number": e.number, "kind": e.kind, "at": e.at, "by": e.by, "key": e.key, "body": e.body}
        lines.append(json_text({k: v for k, v in row.items() if v != "" or k in ("kind", "at")}))
    return ("\n".join(lines) + "\n").encode()


def read_entries(data: bytes) -> tuple[tuple[Entry, ...], tuple[str, ...]]:
    """Read entries and what to tell of them; raises `Refused` with the line, or if the file is not whole."""
    try:
        lines = data.decode("utf-8-sig").split("\n")
    except UnicodeDecodeError as fault:
        raise Refused("entries", got=fault.object[fault.start : fault.end], reason="it is not UTF-8") from fault
    rows = [(number, _json_line(number, line)) for number, line in enumerate(lines, start=1) if line.strip()]
    head = rows[0][1] if rows else {}
    if head.get("asmade") != "entries":
        raise Refused(
            "entries", got=lines[0][:60], reason="the first line does not say that these are entries of a book",
            way_out="take a file that asmade export --entries has written",
        )  # fmt: skip
    if head.get("format") != FORMAT:
        raise Refused("entries", got=head.get("format"), reason=f"this asmade reads format {FORMAT}")
    entries = tuple(_entry(number, row) for number, row in rows[1:])
    if len(entries) != head.get("entries"):
        raise Refused(
            "entries", got=len(entries), reason=f"the first line says {head.get('entries')}: cut short or changed",
            way_out="take a whole copy",
        )  # fmt: skip
    missing = head.get("attachments", 0)
    notes = (f"the data of {missing} attachments is not in the file: it stays in the old book",) if missing else ()
    return entries, notes


def _json_line(number: int, line: str) -> dict[str, Any]:
    try:
        found = json.loads(line)
    except (ValueError, RecursionError) as fault:
        raise Refused(f"line {number}", got=line[:60], reason=f"it is no JSON: {fault}") from fault
    if not isinstance(found, dict):
        raise Refused(f"line {number}", got=line[:60], reason="it is no entry", way_out='a line is {"number": 1, ...}')
    return found


def _entry(line: int, row: Mapping[str, Any]) -> Entry:
    texts = {key: row.get(key, "") for key in ("kind", "at", "by", "key")}
    number, body = row.get("number"), row.get("body")
    wrong = [key for key, value in texts.items() if not isinstance(value, str)]
    if isinstance(number, bool) or not isinstance(number, int) or number != line - 1:
        wrong.insert(0, f"number (it should be {line - 1})")
    if not isinstance(body, dict):
        wrong.append("body")
    if wrong or not isinstance(number, int) or not isinstance(body, dict):
        raise Refused(
            f"line {line}", got=dict(row), reason=f"wrong here: {', '.join(wrong)}", way_out="take a whole copy"
        )
    return Entry(number, texts["kind"], texts["at"], body, texts["by"], texts["key"])
