"""An invented book of any size for benchmarks: stacks of parts with fits, chains and readings."""

from __future__ import annotations

import random

from asmade.book.fold import fold
from asmade.book.model import Build
from asmade.book.text import Draft


def tables(stacks: int, seed: int = 1) -> dict:
    """Each stack has 10 parts of 10 sizes: 9 fits (shaft to suit), chains along and across it, walls."""
    rng = random.Random(seed)
    parts, fits, chains, walls = {}, [], [], []
    for s in range(stacks):
        for p in range(10):
            name = f"part_{s}_{p}"
            dims = {}
            for d in range(6):
                kind = ("length", "thickness", "width")[d % 3]
                dims[f"size_{d}"] = {"kind": kind, "drawn": f"{rng.randint(8, 60) / 32:.5f}", "process": "faced"}
            dims["hole"] = {"kind": "bore", "drawn": "0.375", "process": "bored"}
            dims["pin"] = {"kind": "shaft", "drawn": "0.375", "process": "turned"}
            dims["hole_at"] = {"kind": "centres", "drawn": f"{rng.randint(40, 90) / 32:.5f}"}
            dims["depth"] = {"kind": "depth", "drawn": "0.25", "process": "drilled"}
            parts[name] = {"places": ["engine"], "material": "bright mild steel", "dim": dims}
        for p in range(9):
            fits.append({
                "name": f"fit {s} {p}", "hole": f"part_{s}_{p}.hole", "shaft": f"part_{s}_{p + 1}.pin",
                "least": "0.02 mm", "most": "0.08 mm", "to_suit": "shaft",
            })  # fmt: skip
        for k in range(36):
            chosen = rng.sample(range(10), 4)
            text = " - ".join(f"part_{s}_{c}.size_{rng.randint(0, 5)}" for c in chosen)
            chains.append({"name": f"chain {s} {k}", "is": text, "least": "-100 mm", "most": "100 mm"})
        for p in range(5):
            walls.append({
                "name": f"wall {s} {p}", "least": "1 mm",
                "is": f"part_{s}_{p}.hole_at - 0.5 * part_{s}_{p}.hole - 0.5 * part_{s}_{p}.pin",
            })  # fmt: skip
    return {
        "book": {"title": "synthetic", "drawing_unit": "inch"}, "part": parts, "fit": fits, "chain": chains,
        "wall": walls, "shop": {"instrument": {"mic": {"unit": "mm", "zero": 0.003, "reads_to": 0.002}}},
    }  # fmt: skip


def drafts(stacks: int, read_share: float = 0.3, seed: int = 1) -> list[Draft]:
    """The book's entries, a share of its holes and sizes read."""
    rng = random.Random(seed)
    whole = tables(stacks, seed)
    shop = whole.pop("shop")
    found = [Draft("design", {"set": whole}), Draft("shop", {"set": shop})]
    for name, part in whole["part"].items():
        for dim, table in part["dim"].items():
            if rng.random() < read_share:
                mm = 25.4 * float(table["drawn"]) + rng.gauss(0, 0.02)
                found.append(Draft("made", {
                    "piece": f"{name}#engine", "dim": dim, "reading": f"{mm:.3f}", "instrument": "mic", "unit": "mm",
                }))  # fmt: skip
    return found


def build(stacks: int, read_share: float = 0.3, seed: int = 1) -> Build:
    """The book folded."""
    from dataclasses import replace

    return fold([replace(d, number=k) for k, d in enumerate(drafts(stacks, read_share, seed), start=1)])
