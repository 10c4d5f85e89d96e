"""What each page is, in a few words, from one file; and the documents, rendered to be read on a page."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final

from markupsafe import Markup

from asmade.measure.errors import Unknown, near

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

GLOSSARY: Final = "glossary"
TABLE: Final = '<div class="scroll" tabindex="0" role="region" aria-label="Table"><table>'
FRAMES: Final = (
    ("<pre>", '<pre tabindex="0">'),
    ("<table>", TABLE),
    ("</table>", "</table></div>"),
)
"""What may be wider than a phone scrolls in a frame of its own, by the keyboard too."""


@dataclass(frozen=True, slots=True)
class What:
    """What one page is; ``more`` names a document that says more."""

    name: str
    words: str
    more: str = ""


@cache
def texts() -> Mapping[str, What]:
    """Every text by the path it belongs to; ``*`` at its end stands for whatever follows."""
    found = tomllib.loads(files("asmade.web").joinpath("texts", "help.toml").read_text(encoding="utf-8"))
    return {path: What(**table) for path, table in found.items()}


def what_is(path: str) -> What | None:
    """The text of a page: its own, else that of the section it lies in."""
    found = texts()
    if path in found:
        return found[path]
    while path.count("/") > 1:
        path = path.rpartition("/")[0]
        if f"{path}/*" in found:
            return found[f"{path}/*"]
    return None


def folder() -> Path:
    """Where the documents are: inside the package once it is installed, beside the source before."""
    inside = Path(str(files("asmade.web").joinpath("docs")))
    return inside if inside.is_dir() else Path(__file__).resolve().parents[3] / "docs"


@cache
def documents() -> Mapping[str, str]:
    """Title of every document by its name (``quick-sums``), in their order of name; empty if they are not there."""
    found = {}
    for file in sorted(folder().glob("*.md")):
        with file.open(encoding="utf-8") as lines:
            found[file.stem.lower()] = next((x.lstrip("# ").strip() for x in lines if x.startswith("# ")), file.stem)
    return found


@cache
def document(name: str) -> Markup:
    """One document as a page has it: no styles, no scripts, links only to other documents here."""
    if name not in documents():
        raise Unknown("document", got=name, near=near(name, documents()), way_out="see help")
    file = next(each for each in folder().glob("*.md") if each.stem.lower() == name)
    reader = _reader()
    tokens = reader.parse(file.read_text(encoding="utf-8"))
    seen: dict[str, int] = {}
    for at, token in enumerate(tokens):
        _plain(token)
        if token.type == "heading_open":
            token.attrSet("id", _anchor(tokens[at + 1].content, seen))
        if token.type == "inline":
            _links(token.children or [])
        if token.type == "th_open" and not tokens[at + 1].content.strip():
            token.tag = tokens[at + 2].tag = "td"
    text = reader.renderer.render(tokens, reader.options, {})
    for plain, framed in FRAMES:  # what is written as text is escaped: these are marks
        text = text.replace(plain, framed)
    for number in range(1, text.count(TABLE) + 1):  # each is a region with a name of its own
        text = text.replace(TABLE, TABLE.replace("Table", f"Table {number}"), 1)
    return Markup(text)  # noqa: S704  # our own files, no HTML in them


@cache
def _reader() -> MarkdownIt:
    from markdown_it import MarkdownIt  # noqa: PLC0415  # only where a document is read

    return MarkdownIt("commonmark", {"html": False}).enable("table")


def _plain(token: Token) -> None:
    """Figures line up by a class: the pages allow no style of an element's own."""
    style = token.attrs.pop("style", "")
    if "right" in str(style):
        token.attrSet("class", "num")


def _links(children: list[Token]) -> None:
    """Links to other documents stay links; a link to elsewhere becomes its words, with the address where it is one."""
    outside: list[str] = []
    for at, child in enumerate(children):
        if child.type == "link_open":
            target = str(child.attrs.get("href", ""))
            found = re.fullmatch(r"([\w-]+)\.md(#.*)?", target)
            if found and found[1].lower() in documents():
                child.attrSet("href", f"/help/{found[1].lower()}{found[2] or ''}")
                if children[at + 1].content == target:
                    children[at + 1].content = documents()[found[1].lower()]
            elif not target.startswith("#"):
                child.tag, child.attrs = "span", {}
                outside.append("span")
                continue
            outside.append("a")
        elif child.type == "link_close":
            child.tag = outside.pop()
        elif child.type == "image":
            child.attrs = {}


def _anchor(text: str, seen: dict[str, int]) -> str:
    """The name of a heading, as links to it are written: small letters and hyphens."""
    name = re.sub(r"[^\w\- ]", "", text.lower()).strip().replace(" ", "-") or "part"
    seen[name] = seen.get(name, 0) + 1
    return name if seen[name] == 1 else f"{name}-{seen[name] - 1}"
