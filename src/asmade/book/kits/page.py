"""The page of all kits, ``docs/kits.md``: every part, dimension and relation in words. A test holds it to the kits.

Written anew by ``python -m asmade.book.kits.page > docs/kits.md``.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Mapping
from typing import Any, Final

from asmade.book.kinds import KINDS
from asmade.book.kits import RELATIONS, Kit, Template, dims_of, kits

HEAD: Final = """\
# Kits: what the trade knows of the running gear

`asmade new` composes these kits into a book for an arrangement of wheels: every part with its dimensions, still to be
filled in from the drawing, and every relation that binds them. This page is generated from the kit files.

Words in *italics* are put in for the arrangement: *which* is leading, driving, trailing or intermediate; *rod* is the
coupling rod of a section and *rod_words* its name; *fore* and *aft* are the pins at its two ends; *behind* is the rod
that carries it; *truck* is pony truck, bogie or trailing truck; *driven* is the driven axle. Limits are defaults that a
builder may overrule in his book."""
KIND_WORDS: Final = {
    "formula": "Computed", "fit": "Fits (hole less shaft)", "chain": "Chains", "play": "Plays",
    "same": "Equal on purpose", "wall": "Metal and room that must be left",
    "binding": "Coupled wheels that turn", "gap": "Room between moving parts",
    "piston_room": "Room for the piston", "valve_gear": "The gear",
    "valve_event": "Valve events", "joint": "What cannot be undone",
}  # fmt: skip


def page() -> str:
    """The whole page as Markdown."""
    return "\n".join([HEAD, *(line for kit in kits() for line in _kit(kit))]).rstrip("\n") + "\n"


def _kit(kit: Kit) -> Iterator[str]:
    yield from ("", f"## {kit.title}", "", kit.words)
    if kit.when:
        yield from ("", "Only with " + " and ".join(f"{key} = {value}" for key, value in kit.when.items()) + ".")
    yield from ("", "| part | places | dimension | kind | made by | kept |", "| --- | --- | --- | --- | --- | --- |")
    for part in kit.parts:
        for path, dim in dims_of(part.fields.get("dim", {})):
            yield _dimension(part, ".".join(path), dim)
    for name, figure in kit.figures.items():
        yield from ("", f"Figure of the engine: {name} ({figure['kind']}).")
    for kind in RELATIONS:
        found = [relation for relation in kit.relations if relation.kind == kind]
        if found:
            yield from ("", f"### {kit.title}: {KIND_WORDS[kind].lower()}", "")
            yield from (_relation(relation) for relation in found)


def _dimension(part: Template, name: str, dim: Mapping[str, Any]) -> str:
    kind = KINDS[dim["kind"]]
    each = f" (each of: {dim['each']})" if "each" in dim else ""
    note = f"; {dim['note']}" if "note" in dim else ""
    cells = (_italic(part.name), part.places, f"{name}{each}{note}", kind.name,
             dim.get("process", kind.process), dim.get("keep", kind.keep))  # fmt: skip
    return f"| {' | '.join(cells)} |"


def _relation(relation: Template) -> str:
    fields = relation.fields
    where = relation.places or fields.get("over", "") or "engine"
    said = [f"- **{_italic(relation.name)}** ({where}). {_italic(relation.words)}"]
    if total := _sum(relation):
        said.append(f"`{total}`")
    if limits := _limits(fields):
        said.append(f"Limits: {limits}.")
    if "to_suit" in fields:
        suits = fields["to_suit"]
        said.append("Made last, to suit: " + (f"the {suits}." if suits in ("hole", "shaft") else f"`{suits}`."))
    said += _joint(fields) if relation.kind == "joint" else []
    if "source" in fields:
        said.append(f"({fields['source']})")
    return " ".join(said)


def _sum(relation: Template) -> str:
    fields = relation.fields
    match relation.kind:
        case "formula":
            return f"{fields['gives']} = {fields['is']}"
        case "fit":
            return f"{fields['hole']} - {fields['shaft']}"
        case "same":
            return " = ".join(fields["of"]) if "of" in fields else f"all {fields['of_each']}"
        case "play":
            return str(fields["each_way"])
        case "joint":
            return str(fields["fit"])
        case "binding":
            return f"least slack each way over the turn, boxes {fields['boxes']}"
        case "gap":
            return "least gap of any two bodies over the turn"
        case "piston_room":
            return f"{fields['front']}, {fields['back']}, {fields['rod']}, {fields['crank']}"
        case "valve_gear":
            return "; ".join(f"{name} = {text}" for name, text in fields["sizes"].items())
        case "valve_event":
            return _event(fields)
        case _:
            against = "".join(f" - {play}" for play in fields.get("against", ()))
            return f"{fields['is']}{against}"


def _event(fields: Mapping[str, Any]) -> str:
    between = f", between the {fields['between']}" if "between" in fields else ""
    at = f" at {', '.join(f'{each:+g}' for each in fields['at'])}" if "at" in fields else ""
    return f"{fields['what']}{at}{between}"


def _limits(fields: Mapping[str, Any]) -> str:
    said = [f'"{fields["want"]}"'] if "want" in fields else []
    said += [f"within {fields['within']}"] if "within" in fields else []
    said += [f"{key} {fields[key]}" for key in ("least", "most") if key in fields]
    return ", ".join(said)


def _joint(fields: Mapping[str, Any]) -> list[str]:
    said = [f"By {fields['by']}."]
    for key, words in (("after", "Only after"), ("fixes", "Fixes"), ("disturbs", "Disturbs"),
                       ("measure_after", "To be measured after it")):  # fmt: skip
        if fields.get(key):
            said.append(f"{words}: {', '.join(f'`{each}`' for each in fields[key])}.")
    return [*said, *([f"Caution: {fields['caution']}."] if "caution" in fields else [])]


def _italic(text: str) -> str:
    return re.sub(r"<([a-z_]+)>", r"*\1*", text)


if __name__ == "__main__":
    sys.stdout.write(page())
