"""remove: take a mistaken part, dimension, relation or figure out of a book; it stays in the history.

A design entry says so, and to withdraw that entry puts everything back in its place. What other statements rest on
is not taken from under them: they are named, and go with it where that is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from asmade.book.address import read_address
from asmade.book.model import Build
from asmade.book.tables import JOURNAL, SINGLE
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, Contradiction, Refused, Unknown, near
from asmade.verbs.store import Opened, Path_, Saved, read, save

MOST_NAMED: Final = 6


@dataclass(frozen=True, slots=True)
class Removed:
    """What was taken out (``part.wheel``, ``part.wheel.dim.bore``, ``fit.wheel on axle``, ``figure.NAME``)."""

    paths: tuple[str, ...]
    saved: Saved


def remove(
    path: Path_, names: Sequence[str], *, with_what_needs_it: bool = False, what_if: bool = False
) -> Removed:  # fmt: skip
    """Take out what is named: a part, ``wheel.bore``, a relation by its name, a figure, or ``fit.NAME`` where unclear.

    Relations that speak of it are named in the refusal, or go with it (``with_what_needs_it``). Pieces of it that have
    readings, aims or choices are refused: withdraw these entries first.
    """
    opened = read(path)
    build = opened.build
    if not names:
        raise Refused("remove", got="", reason="nothing is named", way_out="name a part, wheel.bore, or a relation")
    paths = tuple(dict.fromkeys(_path(build, name) for name in names))
    needing = tuple(_needing(build, paths))
    if needing and not with_what_needs_it:
        raise Contradiction(
            f"{', '.join(names)}: {_listed(needing)} speak{'s' if len(needing) == 1 else ''} of it",
            way_out="change these first, or remove them with it: --with-what-needs-it",
        )
    paths = (*needing, *paths)  # relations first: what they speak of is still there then
    _refuse_recorded(opened, paths)
    draft = Draft("design", {"set": {}, "remove": list(paths)})
    try:
        return Removed(paths, save(opened, [draft], what_if=what_if))
    except AsmadeError as fault:
        raise Refused("remove", got=", ".join(names), reason=fault.message,
                      way_out=fault.way_out or "remove what rests on it first") from fault  # fmt: skip


def plain(result: Removed) -> dict[str, Any]:
    """What was taken out, for ``--json``."""
    return {"removed": list(result.paths), "entries": list(result.saved.entries), "what_if": result.saved.what_if}


def _relations(build: Build) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Kind and row of every relation, as written."""
    for kind, rows in build.tables.items():
        if kind not in SINGLE and kind not in JOURNAL and isinstance(rows, list):
            yield from ((kind, row) for row in rows)


def _path(build: Build, name: str) -> str:
    """The path of what a builder names; refuses what is not there, or could be two things."""
    text = " ".join(name.split())
    parts, figures = build.design.parts, build.design.figures
    found = [
        f"{kind}.{row['name']}" for kind, row in _relations(build) if text in (row["name"], f"{kind}.{row['name']}")
    ]
    word = text.removeprefix("part.").removeprefix("figure.")
    found += [f"part.{word}"] if word in parts and not text.startswith("figure.") else []
    found += [f"figure.{word}"] if word in figures and not text.startswith("part.") else []
    if not found:
        found += _dimension(build, word.replace(".dim.", ".", 1) if text.startswith("part.") else word)
    if not found:
        known = (*parts, *figures, *(row["name"] for _, row in _relations(build)))
        raise Unknown("part, dimension, relation or figure", got=name, near=near(text, known),
                      way_out="see asmade show BOOK, or export the book as text")  # fmt: skip
    if len(found) > 1:
        raise Refused("remove", got=name, reason=f"it could be {' or '.join(found)}", way_out=f"write {found[0]!r}")
    return found[0]


def _dimension(build: Build, text: str) -> list[str]:
    try:
        address = read_address(text)
    except Refused:
        return []
    part = build.design.parts.get(address.part)
    if part is None or address.dim not in part.dims:
        return []
    if address.place or address.mark:
        raise Refused("remove", got=text, reason="a dimension is one of the part, at all its places",
                      way_out=f"write {part.name}.{address.dim}")  # fmt: skip
    return [f"part.{part.name}.dim.{address.dim}"]


def _needing(build: Build, paths: Sequence[str]) -> Iterator[str]:
    """Relations that speak of what goes, and those that speak of these, in the order of the book."""
    gone = list(paths)
    found: list[str] = []
    while True:
        patterns = [pattern for path in gone for pattern in _spoken(build, path)]
        more = [
            f"{kind}.{row['name']}"
            for kind, row in _relations(build)
            if f"{kind}.{row['name']}" not in {*paths, *found}
            and any(pattern.search(text) for pattern in patterns for text in _texts(row))
        ]
        if not more:
            yield from found
            return
        found += more
        gone = more


def _spoken(build: Build, path: str) -> Iterator[re.Pattern[str]]:
    """How a relation's text speaks of a thing."""
    kind, _, rest = path.partition(".")
    place = r"(?:@[\w{}]+)?"
    if kind == "part":
        name, _, dim = rest.partition(".dim.")
        if dim:
            stem = dim.removesuffix(".callout")
            yield re.compile(rf"(?<![\w.@#]){re.escape(name)}{place}\.{re.escape(stem)}(?![\w])")
        else:
            yield re.compile(rf"(?<![\w.@#]){re.escape(name)}(?=[@.])")
    elif kind == "figure":
        yield re.compile(rf"(?<![\w.@#]){re.escape(rest)}(?![\w@.#])")
    else:  # by its name, whole; a quantity by what the formula gives
        yield re.compile(rf"^{re.escape(rest)}{place}$")
        gives = next(
            (str(row.get("gives", "")) for k, row in _relations(build) if (k, row["name"]) == (kind, rest)), ""
        )
        bare = gives.partition("@")[0]
        if bare and "." not in bare:
            yield re.compile(rf"(?<![\w.@#]){re.escape(bare)}(?![\w.#])")


def _texts(row: Mapping[str, Any]) -> Iterable[str]:
    """Every text of a relation but its own name and what it says of itself."""
    for key, value in row.items():
        if key in ("name", "note", "source", "reference", "places", "gives"):
            continue
        yield from (str(each) for each in (value if isinstance(value, list | tuple) else (value,)))


def _refuse_recorded(opened: Opened, paths: Sequence[str]) -> None:
    """Readings, aims and choices of what goes would speak of nothing: they are named by their entries."""
    gone = [path.removeprefix("part.").replace(".dim.", ".", 1) for path in paths if path.startswith("part.")]
    build = opened.build
    spoken = [(chosen.entry, chosen.of) for chosen in build.chosen.values()]
    spoken += [(aim.entry, aim.piece) for aim in build.aimed] + [(r.entry, r.piece) for r in build.readings]
    entries = {n for n, of in spoken if any(name in (of.part, f"{of.part}.{of.dim}") for name in gone)}
    pieces = [seat for seat in sorted(build.named) if seat.partition("#")[0] in gone]
    if entries:
        raise Contradiction(
            f"{gone[0]}: entries {_listed(tuple(map(str, sorted(entries))))} speak of it (readings, aims, choices)",
            way_out="withdraw them first: asmade withdraw BOOK ENTRY",
        )
    if pieces:
        raise Contradiction(
            f"{gone[0]}: its pieces {_listed(tuple(pieces))} are on record",
            way_out="withdraw the entries that speak of them: see asmade history BOOK",
        )


def _listed(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
