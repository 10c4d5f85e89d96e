"""A picture as clean standalone SVG: viewBox in mm, black on white, a class on everything for a page's own theme.

Colours and widths are presentation attributes, so a page's style sheet overrides them by class and no inline style is
needed under a strict content security policy. Classes: a stroke's look (``outline``, ``thin``, ``fail`` ...), its fill
(``fill-tint`` ...), ``label``, ``figure``, ``strong``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from html import escape
from itertools import groupby
from typing import Literal

from asmade.show.strokes.kinds import FILLS, LOOKS, Arc, Circle, Label, Line, Point, Polyline, Stroke
from asmade.show.strokes.layout import Picture, label_bounds, lay_out, resolved
from asmade.show.strokes.text_width import DESCENT

TEXT_FACE = "system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif"
FIGURE_FACE = "ui-monospace, 'DejaVu Sans Mono', Menlo, monospace"


def svg(
    strokes: Iterable[Stroke] | Picture,
    *,
    width_px: float = 720.0,
    title: str = "",
    hairlines: Literal["screen", "paper"] = "screen",
    most_px_per_mm: float = math.inf,
) -> str:
    """SVG text of strokes laid out for ``width_px``.

    title: what is seen, read aloud in place of the picture. hairlines: on a ``screen`` lines keep their width however
    the picture is stretched; for ``paper`` they have it in mm at the size drawn (printing programs want that).
    """
    picture = strokes if isinstance(strokes, Picture) else lay_out(strokes, width_px, most_px_per_mm=most_px_per_mm)
    return _Writer(picture, fixed=hairlines == "screen").whole(title)


def fragment(strokes: Iterable[Stroke], scale: float) -> str:
    """Strokes as they stand inside a picture of ``scale`` px to the mm: for a page that moves some of them as one."""
    return "\n".join(_Writer(Picture(tuple(resolved(strokes, scale)), scale, 0.0, 0.0, 0.0, 0.0), fixed=True).strokes())


class _Writer:
    """Writes one picture; y is turned down, everything else stays in mm."""

    def __init__(self, picture: Picture, *, fixed: bool) -> None:
        self.picture = picture
        self.scale = picture.scale
        self.fixed = fixed
        self.places = max(2, min(6, 2 + math.ceil(math.log10(max(self.scale, 1e-6)))))

    def whole(self, title: str) -> str:
        p = self.picture
        width, height = p.width_px / p.scale, p.height_px / p.scale
        view = " ".join(self.n(each) for each in (p.left, -p.top, width, height))
        known = f' role="img" aria-label="{escape(title)}"' if title else ' role="img" aria-hidden="true"'
        size = f'width="{p.width_px:g}" height="{p.height_px:.0f}"'
        lines = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" {size}{known} class="drawing">']
        if title:
            lines.append(f"<title>{escape(title)}</title>")
        lines += self.strokes()
        lines.append("</svg>\n")
        return "\n".join(lines)

    def strokes(self) -> list[str]:
        lines = []
        for head, group in groupby(self.picture.strokes, key=self.group):
            lines.append(f"<g {head}>" if head else "<g>")
            lines += [self.one(stroke) for stroke in group]
            lines.append("</g>")
        return lines

    def n(self, value: float) -> str:
        text = f"{value:.{self.places}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text in ("-0", "") else text

    def px(self, value: float) -> str:
        """A width in px: as it is where lines are held to it, else in mm at the size drawn."""
        return f"{value:g}" if self.fixed else self.n(value / self.scale)

    def group(self, stroke: Line | Polyline | Circle | Arc | Label) -> str:
        """Attributes that strokes of one kind share, so that they stand once."""
        if isinstance(stroke, Label):
            names = [
                "label",
                *(["figure"] if stroke.figure else []),
                *(["strong"] if stroke.strong else []),
                f"on-{stroke.look}",
            ]
            face = FIGURE_FACE if stroke.figure else TEXT_FACE
            weight = ' font-weight="600"' if stroke.strong else ""
            return (
                f'class="{" ".join(names)}" font-family="{face}" font-size="{self.n(stroke.size_px / self.scale)}"'
                f'{weight} fill="#000"'
            )
        pen = LOOKS[stroke.look]
        fill = getattr(stroke, "fill", "")
        dash = f' stroke-dasharray="{" ".join(self.px(each) for each in pen.dash_px)}"' if pen.dash_px else ""
        filled = f" fill-{fill}" if fill else ""
        return (
            f'class="{stroke.look}{filled}" stroke="{pen.ink}" stroke-width="{self.px(pen.width_px)}"{dash} '
            f'fill="{FILLS[fill]}" stroke-linejoin="round"'
        )

    def one(self, stroke: Line | Polyline | Circle | Arc | Label) -> str:
        held = ' vector-effect="non-scaling-stroke"' if self.fixed else ""  # it is not inherited from a group
        n = self.n
        match stroke:
            case Line(x1=x1, y1=y1, x2=x2, y2=y2):
                return f'<line x1="{n(x1)}" y1="{n(-y1)}" x2="{n(x2)}" y2="{n(-y2)}"{held}/>'
            case Circle(x=x, y=y, radius=r):
                return f'<circle cx="{n(x)}" cy="{n(-y)}" r="{n(r)}"{held}/>'
            case Arc(x=x, y=y, radius=r, start_rad=start, end_rad=end):
                (ax, ay), (bx, by) = ((x + r * math.cos(a), -(y + r * math.sin(a))) for a in (start, end))
                large = int(end - start > math.pi)
                return f'<path d="M{n(ax)} {n(ay)}A{n(r)} {n(r)} 0 {large} 0 {n(bx)} {n(by)}"{held}/>'
            case Polyline():
                rings = [self.ring(stroke.points, closed=stroke.closed)]
                rings += [self.ring(ring, closed=True) for ring in stroke.openings]
                odd = ' fill-rule="evenodd"' if stroke.openings else ""
                return f'<path d="{"".join(rings)}"{odd}{held}/>'
            case Label():
                return self.label(stroke)

    def ring(self, points: tuple[Point, ...], *, closed: bool) -> str:
        inner = "L".join(f"{self.n(x)} {self.n(-y)}" for x, y in points)
        return f"M{inner}{'Z' if closed else ''}"

    def label(self, label: Label) -> str:
        x0, y0, x1, y1 = label_bounds(label, self.scale)
        foot = DESCENT * label.size_px / self.scale
        if label.turned:
            x = x1 - foot
            y = {"start": y0, "middle": (y0 + y1) / 2, "end": y1}[label.anchor]
            turn = f' transform="rotate(-90 {self.n(x)} {self.n(-y)})"'
        else:
            x = {"start": x0, "middle": (x0 + x1) / 2, "end": x1}[label.anchor]
            y = y0 + foot
            turn = ""
        anchor = "" if label.anchor == "start" else f' text-anchor="{label.anchor}"'
        ground = ""
        if label.paper:
            pad = 1.5 / self.scale
            size = f'width="{self.n(x1 - x0 + 2 * pad)}" height="{self.n(y1 - y0)}"'
            ground = f'<rect class="fill-paper" x="{self.n(x0 - pad)}" y="{self.n(-y1)}" {size} fill="#fff"/>'
        return f'{ground}<text x="{self.n(x)}" y="{self.n(-y)}"{anchor}{turn}>{escape(label.text, quote=False)}</text>'
