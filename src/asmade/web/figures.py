"""Figures and verdicts as the pages write them. No sums: only rounding to what a bench can tell apart, and units."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Final
from urllib.parse import quote, urlencode

from markupsafe import Markup

from asmade.measure.show import show_inch, show_thou, show_to

if TYPE_CHECKING:
    from asmade.reckon.aims import Aim
    from asmade.reckon.requirement import Finding

SHAPES: Final = {
    "holds": "holds",
    "close": "close",
    "fails": "fails",
    "not known": "unknown",
    "no limits": "none",
}
"""The class that gives a verdict its shape and colour; its word always stands beside."""
APPROACH: Final = {
    "from above": "Metal comes off towards the smaller figure.",
    "from below": "Metal comes off towards the larger figure.",
    "either": "It may be met from either side.",
}


def figure(value: float | None, unit: str = "mm", places: int = 3) -> str:
    """A length in mm, an angle in degrees, or another quantity with its unit; empty where there is none."""
    if value is None or not math.isfinite(value):
        return ""
    if unit not in ("mm", "", "rad", "deg"):
        return f"{show_to(value, '0.1')} %" if unit == "%" else f"{value:.4g} {unit}"
    step = "1" if places == 0 else f"0.{'0' * (places - 1)}1"
    return f"{show_to(math.degrees(value), step)}°" if unit in ("rad", "deg") else show_to(value, step)


def inch(value: float | None) -> str:
    """A length given in mm, in inches."""
    return "" if value is None or not math.isfinite(value) else show_inch(value)


def thou(value: float | None) -> str:
    """A length given in mm, in thousandths of an inch."""
    return "" if value is None or not math.isfinite(value) else show_thou(value)


def limits(low: float | None, high: float | None, unit: str = "mm") -> str:
    """``0.030 to 0.100``, ``at least 0.500``, ``at most 0.200``."""
    one, two = figure(low, unit), figure(high, unit)
    if one and two:
        return f"{one} to {two}"
    return f"at least {one}" if one else f"at most {two}" if two else "no limits"


def per_cent(chance: float | None) -> str:
    """A chance in whole per cent, never rounded to certainty."""
    if chance is None or not math.isfinite(chance):
        return ""
    if chance >= 0.995:
        return "over 99 %"
    return "under 1 %" if 0 < chance < 0.005 else f"{show_to(100 * chance, '1')} %"


def verdict(word: str) -> Markup:
    """A verdict by word and shape; its colour only echoes them."""
    return Markup('<span class="v {}">{}</span>').format(SHAPES.get(word, "unknown"), word)


def finding_path(found: Finding) -> str:
    """Where a finding is opened to its working."""
    return "/finding?" + urlencode({"code": found.code, "subject": found.subject})


def size_path(address: object, of: str = "size") -> str:
    """Where a size is opened: at the desk (``size``) or at the bench (``bench/size``)."""
    return f"/{of}/{quote(str(address), safe='@.')}"


def part_path(name: str) -> str:
    """Where a part is opened."""
    return f"/parts/{quote(name, safe='')}"


def aim_short(found: Aim | None) -> str:
    """An aim in a few words for a table."""
    if found is None or found.state == "made":
        return ""
    if found.target is None:
        return {"empty": "nothing fits", "not known": "not known"}.get(found.state, found.state)
    unit = "rad" if found.angle else "mm"
    return f"{figure(found.target, unit)} ({figure(found.low, unit) or '…'} to {figure(found.high, unit) or '…'})"


def breakable(text: object) -> Markup:
    """An address or a name that may be broken behind its marks, where a line is short."""
    return Markup("<wbr>").join(re.split(r"(?<=[_.@#])", str(text)))


def when(text: str) -> str:
    """``2026-11-25T14:10:05+00:00`` as ``2026-11-25 14:10``."""
    return text[:16].replace("T", " ")


FILTERS: Final = {
    "figure": figure, "inch": inch, "thou": thou, "per_cent": per_cent, "verdict": verdict, "when": when,
    "finding_path": finding_path, "size_path": size_path, "part_path": part_path, "aim_short": aim_short,
    "breakable": breakable,
}  # fmt: skip
