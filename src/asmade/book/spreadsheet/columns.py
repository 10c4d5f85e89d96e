"""The columns of a dimension list: what each means, and under what headings it is known."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from asmade.book.kinds import KEEPS, KINDS


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, what it holds, other headings it goes by; ``read`` False = written, never read."""

    name: str
    words: str
    known_as: tuple[str, ...] = ()
    needed: bool = False
    read: bool = True


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading found in a sheet: where it stands, which column it is, and the unit it states for bare figures."""

    at: int
    column: Column
    unit: str = ""


COLUMNS: Final = (
    Column("part", "The thing on the drawing, such as wheel; wheel@2L for a figure drawn apart for one place.",
           ("part name", "component", "component name"), needed=True),
    Column("dimension", "Which size of it, such as bore or seat.diameter. Left empty: the row speaks of the part.",
           ("dim", "dimension name", "size name", "feature", "measurement", "name of dimension"), needed=True),
    Column("drawn", "The figure as the drawing has it: 1 3/16, 0.375, No. 40, 1/4 x 40, 12.5 mm. Empty: not known.",
           ("as drawn", "drawn size", "drawing", "drawing size", "size", "size on drawing", "size drawn", "figure",
            "drawing figure"), needed=True),
    Column("unit", "Unit of a bare figure where it is not the drawing's: mm or inch.", ("units", "drawn unit")),
    Column("kind", f"One of: {', '.join(KINDS)}. May be left empty where the dimension is named so, or in the book.",
           ("kind of dimension", "dimension kind", "type")),
    Column("process", "How it is made: turned, bored, reamed, milled, stock as is ... Empty: what the kind assumes.",
           ("how made", "made how", "method", "operation", "machining")),
    Column("quantity", "How many of a new part there are. Without places: 1 stands at engine, more at p1, p2 ...",
           ("qty", "number off", "no off", "off", "how many", "count", "number required", "no required", "quant")),
    Column("places", "Where the pieces of a new part sit: 1L 1R 2L 2R. As many as the quantity.",
           ("place", "where", "positions")),
    Column("reference", "Sheet or view of the drawing. A second row with another reference: stated there too.",
           ("ref", "sheet", "sheet no", "sheet number", "drawing reference", "drawing no", "drawing number", "view",
            "drawing ref", "drg no")),
    Column("material", "Of the part: bright mild steel, gunmetal ...", ("matl", "metal", "mat")),
    Column("note", "Anything worth knowing.", ("notes", "remark", "remarks", "comment", "comments")),
    Column("keep", f"How near to the drawing the choice of sizes stays: {', '.join(KEEPS)}.", ("kept", "how near")),
    Column("tool", "The tool that must cut it, as the shop names it.", ("cutter", "tooling")),
    Column("exact", "The drawn figure in mm (degrees for an angle). Not read back.",
           ("exact mm or degrees",), read=False),
    Column("chosen", "The working size in mm (degrees). Not read back.", ("chosen mm or degrees",), read=False),
    Column("best", "The best known size in mm (degrees). Not read back.", ("best mm or degrees",), read=False),
    Column("known from", "What the best known size rests on. Not read back.", (), read=False),
    Column("made", "The last reading that counts, in mm (degrees). Not read back.",
           ("made mm or degrees",), read=False),
)  # fmt: skip
BY_NAME: Final = {column.name: column for column in COLUMNS}
NEEDED: Final = tuple(column.name for column in COLUMNS if column.needed)
READ: Final = tuple(column.name for column in COLUMNS if column.read)
HEADINGS: Final = {
    column.name: f"{column.name} (mm or degrees)" if column.name in ("exact", "chosen", "best", "made") else column.name
    for column in COLUMNS
}
"""What is written above each column."""

UNIT_WORDS: Final = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "in": "inch", "inch": "inch", "inches": "inch", '"': "inch", "imperial": "inch", "metric": "mm",
}  # fmt: skip
_SPELLINGS: Final = {word: column for column in COLUMNS for word in (column.name, *column.known_as)}


def plain_heading(text: str) -> str:
    """A heading without capitals, punctuation and needless spaces."""
    return " ".join(re.sub(r"[^\w\"]+|_", " ", text.replace("\ufeff", "").casefold()).split())


def find_column(text: str) -> tuple[Column, str] | None:
    """The column a heading names, with the unit it states (``drawn (mm)``); None for a heading not known here."""
    words = plain_heading(text)
    if column := _SPELLINGS.get(words):
        return column, ""
    stem, _, last = words.rpartition(" ")
    stem = stem.removesuffix(" in") if last != "in" else stem
    column = _SPELLINGS.get(stem)
    if column is not None and column.name == "drawn" and last in UNIT_WORDS:
        return column, UNIT_WORDS[last]
    return None
