"""Job sheets on paper: a piece (A4, A5, or the pocket card A6), or a set-up with all its pieces."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, Final
from urllib.parse import quote

from asmade.measure.show import show_thou
from asmade.show.papers.typeset import paper_of, qr, typeset, width_of_text
from asmade.show.sketches import sketch_svg
from asmade.verbs.sheet import STANDING, Heading, SetUpSheet, Sheet, SizeLine
from asmade.verbs.sheet_text import cut_lines
from asmade.verbs.sketch import SketchResult
from asmade.work.recipes.bench import plain_name
from asmade.work.recipes.model import Operation, SetUp

MOST_MATES: Final = 4
CLOSER: Final = {"a5": 1.4}
"""How much a sketch is made smaller on a small paper: figures of 12 px come to 2.3 mm. Common practice, no source."""


def sheets_pdf(sheets: Iterable[Sheet], *, paper: str = "a5", at: str = "") -> bytes:
    """The PDF of job sheets, each on pages of its own.

    ``at``: address of the pages (``http://192.168.1.20:8640``); each sheet then has a QR code that opens the piece's
    page.
    """
    paper = paper_of(paper)
    pictures: dict[str, str] = {}
    set_: list[dict[str, Any]] = []
    heading: Heading | None = None
    for number, sheet in enumerate(sheets):
        heading = sheet.heading
        said = _sheet(sheet)
        if at:
            said["qr"] = f"qr-{number}.svg"
            pictures[said["qr"]] = qr(f"{at.rstrip('/')}/parts/{quote(sheet.part)}?place={quote(sheet.place)}")
        if sheet.sketch is not None and paper != "a6":
            said["sketch"] = f"sketch-{number}.svg"
            pictures[said["sketch"]] = _drawn(sheet.sketch, paper)
        set_.append(said)
    return typeset("sheet", _head(heading, paper) | {"sheets": set_}, pictures)


def _drawn(result: SketchResult, paper: str) -> str:
    """A sketch for a paper, laid out a little wider than it is set on A5, so that views stand side by side."""
    return sketch_svg(result, width_mm=width_of_text(paper) * CLOSER.get(paper, 1.0), paper=True)


def set_ups_pdf(sheets: Iterable[SetUpSheet], *, paper: str = "a5") -> bytes:
    """The PDF of sheets by set-up: what is held is said once, then every piece with its operations."""
    paper = paper_of(paper)
    found = tuple(sheets)
    said = [
        {
            "number": s.number, "of": s.of, "count": len(s.pieces),
            **_set_up(s.set_up, tuple(op for _, ops in s.pieces for op in ops)),
            "pieces": _alike(s),
        }
        for s in found
    ]  # fmt: skip
    return typeset("set_up", _head(found[0].heading if found else None, paper) | {"sheets": said})


def _alike(sheet: SetUpSheet) -> list[dict[str, Any]]:
    """Pieces of a set-up whose operations read the same stand together, with a box to tick for each of them."""
    groups: list[dict[str, Any]] = []
    for piece, ops in sheet.pieces:
        said = [_operation(op) for op in ops]
        same = next((g for g in groups if g["operations"] == said), None)
        if same is None:
            groups.append({"pieces": [piece], "operations": said})
        else:
            same["pieces"].append(piece)
    return groups


def _head(heading: Heading | None, paper: str) -> dict[str, Any]:
    return {
        "paper": paper, "standing": STANDING,
        "build": heading.title if heading else "", "heading": heading.words if heading else "",
        "state": f"entry {heading.entry}" + (f", {heading.date}" if heading.date else "") if heading else "",
    }  # fmt: skip


def _sheet(sheet: Sheet) -> dict[str, Any]:
    return {
        "title": plain_name(sheet.part), "where": f"place {sheet.place}, piece {sheet.mark}" if sheet.mark
        else f"place {sheet.place}", "material": sheet.material or "not said",
        "reference": sheet.reference or "not said", "stock": sheet.stock, "lacks": list(sheet.lacks),
        "warnings": list(sheet.warnings), "sizes": [_size(s) for s in sheet.sizes],
        "set_ups": [
            _set_up(setup, ops) | {"operations": [_operation(op) for op in ops]} for setup, ops in sheet.set_ups
        ],
        "readings": list(sheet.readings),
    }  # fmt: skip


def _size(size: SizeLine) -> dict[str, Any]:
    aim = size.aim
    low, high = (aim.low, aim.high) if aim else (None, None)
    target = size.best if aim is None or aim.target is None else aim.target
    unit = "°" if size.angle else ""
    if low is not None and high is not None:
        thou = f"{show_thou(low)} – {show_thou(high)}"
    elif low is not None:
        thou = f"{show_thou(low)} or more"
    elif high is not None:
        thou = f"{show_thou(high)} or less"
    else:
        thou = "" if target is None or size.angle else show_thou(target)
    limits = f"{_three(low)} – {_three(high)}" if aim and not (low is None and high is None) else ""
    return {
        "shown": size.shown, "callout": size.callout, "made": size.made, "state": size.state, "low": _three(low),
        "high": _three(high), "aim": _three(target) + unit, "thou": thou, "limits": limits,
        "mates": [
            {"name": name, "value": _three(value), "how": how} for name, value, how in (aim.mates if aim else ())
        ][:MOST_MATES],
        "more": max(0, len(aim.mates) - MOST_MATES) if aim else 0,
        "warnings": [*aim.warnings, *aim.conflict, *aim.cure] if aim else [],
    }  # fmt: skip


def _three(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.3f}"


def _set_up(setup: SetUp, ops: tuple[Operation, ...]) -> dict[str, Any]:
    return {
        "name": setup.name, "machine": setup.machine, "held": setup.held, "datum": setup.datum,
        "words": list(setup.words), "dials": list(dict.fromkeys(op.dial for op in ops if op.dial)),
        "cautions": list(dict.fromkeys(c.text for op in ops for c in op.cautions)),
    }  # fmt: skip


def _operation(op: Operation) -> dict[str, Any]:
    figures = (f"{op.tool}" if op.tool else "", op.speed_words, f"feed {op.feed_words}" if op.feed_words else "")
    return {
        "words": op.words, "figures": "; ".join(filter(None, figures)),
        "cuts": [{"words": words, "measure": measure} for words, measure in cut_lines(op)], "left": op.left,
        "check": op.check + (f" ({op.instrument})" if op.check and op.instrument else ""),
        "warnings": list(op.warnings), "note": op.note, "done": op.done[:10],
    }  # fmt: skip
