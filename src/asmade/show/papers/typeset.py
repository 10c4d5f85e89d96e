"""Setting plain data on paper: a template of this room, its data as JSON, its pictures as SVG; out comes a PDF.

The faces come with the packages (Source Sans Pro, DejaVu Sans Mono), none from the machine, and the PDF carries no
time of its own: the same data give the same bytes anywhere.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from asmade.measure.errors import Unknown, near
from asmade.show.strokes.svg import TEXT_FACE

TEXT: Final = "Source Sans Pro"
FIGURES: Final = "DejaVu Sans Mono"
PAPERS: Final = {"a4": (210.0, 297.0), "a5": (148.0, 210.0), "a6": (105.0, 148.0)}
"""Papers by name (ISO 216), upright, mm."""
MARGINS: Final = {"a4": 14.0, "a5": 10.0, "a6": 6.0}


def paper_of(name: str) -> str:
    """A paper by its name; ``Unknown`` where it is none of ours."""
    wanted = name.strip().casefold()
    if wanted not in PAPERS:
        raise Unknown("paper", got=name, near=near(wanted, PAPERS), way_out="a4, a5, or a6 for the pocket")
    return wanted


def width_of_text(paper: str) -> float:
    """Width between the margins of a paper, mm."""
    return PAPERS[paper][0] - 2 * MARGINS[paper]


@cache
def _faces() -> Any:
    import typst  # noqa: PLC0415  # only what is printed needs faces

    with as_file(files("font_source_sans_pro").joinpath("files")) as folder:
        return typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])


def typeset(template: str, data: Mapping[str, Any], pictures: Mapping[str, str | bytes] | None = None) -> bytes:
    """The PDF of ``template`` (a file of this room's templates, without its ending) with ``data``.

    ``pictures``: SVG text (its text takes the paper's face) or the bytes of a photograph, by the name under which the
    data speak of them.
    """
    import typst  # noqa: PLC0415

    room = files("asmade.show.papers").joinpath("templates")
    held = {each.name: each.read_bytes() for each in room.iterdir() if each.name.endswith(".typ")}
    paper = str(data["paper"])
    said = {**data, "page": {"width": PAPERS[paper][0], "height": PAPERS[paper][1], "margin": MARGINS[paper]}}
    held["main.typ"] = held.pop(f"{template}.typ")
    held["data.json"] = json.dumps(said, ensure_ascii=False).encode()
    for name, picture in (pictures or {}).items():
        held[name] = picture.replace(TEXT_FACE, f"'{TEXT}'").encode() if isinstance(picture, str) else picture
    if not any(isinstance(picture, bytes) for picture in (pictures or {}).values()):
        return typst.compile(held, format="pdf", font_paths=_faces(), ignore_system_fonts=True)
    with TemporaryDirectory(prefix="asmade-") as folder:  # photographs are read from a folder only
        for name, content in held.items():
            Path(folder, name).write_bytes(content)
        main = str(Path(folder, "main.typ"))
        return typst.compile(main, root=folder, format="pdf", font_paths=_faces(), ignore_system_fonts=True)


def qr(text: str) -> str:
    """A QR code of ``text`` as SVG (ISO/IEC 18004, error correction M), with its quiet zone."""
    import segno  # noqa: PLC0415

    return segno.make(text, error="m", micro=False).svg_inline(border=4, dark="#000", light="#fff")
