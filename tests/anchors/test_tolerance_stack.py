"""Linear stacks and the one-way clutch: shared rows of tolerance_stack.csv, source in each row."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from asmade.reckon.findings import look
from asmade.reckon.values import compute

ROWS = list(csv.DictReader((Path(__file__).parent / "tolerance_stack.csv").read_text(encoding="utf-8").splitlines()))


def inputs(row):
    return dict(pair.split("=", 1) for pair in row["inputs"].split(";"))


def stack(fold_text, terms):
    """A chain of parts whose stated tolerances are the row's; "worst case = sum |t|, RSS = sqrt(sum t^2)"."""
    parts, names = [], []
    for at, term in enumerate(terms.split("|")):
        sign, rest = term.split("*")
        size, tolerance = rest.split("+-")
        parts.append(f'[part.p{at}]\nplaces = ["engine"]\n[part.p{at}.dim]\n'
                     f'size = {{ kind = "length", drawn = "{size} +/-{tolerance}", process = "sawn" }}')  # fmt: skip
        names.append(f"{'-' if sign.startswith('-') else '+'} p{at}.size")
    return fold_text(
        "\n".join(parts) + f'\n[[chain]]\nname = "gap"\nis = "{" ".join(names).lstrip("+ ")}"\nleast = "0 mm"'
    )


@pytest.mark.parametrize("row", [r for r in ROWS if "terms" in r["inputs"]], ids=lambda r: r["id"])
def test_linear_stacks(row, fold_text):
    build = stack(fold_text, inputs(row)["terms"])
    values = compute(build)
    found = look(values)
    finding = next(iter(found))
    got = {
        "nominal gap": finding.value,
        "worst-case half range": (finding.worst_high - finding.worst_low) / 2,
        # the book takes a stated tolerance for 1.96 standard deviations where the shop's own scatter is wider ("sawn")
        "RSS half range": 1.959963984540054 * float(found.spread[0]),
    }[row["quantity"]]
    assert got == pytest.approx(float(row["value"]), abs=float(row["tolerance"])), row["source"]


CLUTCH = """
[part.clutch]
places = ["engine"]
[part.clutch.dim]
hub = {{ kind = "length", drawn = "{a}", process = "sawn" }}
roller = {{ kind = "length", drawn = "{c}", process = "sawn" }}
ring = {{ kind = "length", drawn = "{e}", process = "sawn" }}
[[wall]]
name = "contact angle"
is = "acos((clutch.hub + clutch.roller) / (clutch.ring - clutch.roller))"
least = "0 deg"
"""


@pytest.mark.parametrize("row", [r for r in ROWS if r["category"] == "one-way clutch"], ids=lambda r: r["id"])
def test_one_way_clutch(row, fold_text):
    given = inputs(row)
    sizes = {k: given[f"{k}_mm"] + (f" +/-{given[f'tol_{k}']}" if f"tol_{k}" in given else "") for k in "ace"}
    found = look(compute(fold_text(CLUTCH.format(**sizes))))
    finding = next(iter(found))
    rates = {str(a): rate for a, rate in found.requirements[0].linear(
        lambda a: float(found.values.of(a))).terms.items()}  # fmt: skip
    half = {k: float(given.get(f"tol_{k}", 0)) for k in "ace"}
    linear = [rates["clutch@engine.hub"] * half["a"], rates["clutch@engine.roller"] * half["c"],
              rates["clutch@engine.ring"] * half["e"]]  # fmt: skip
    got = {
        "contact angle": math.degrees(finding.value),
        "d(phi)/dc": math.degrees(rates["clutch@engine.roller"]),
        "worst-case variation (linearised)": math.degrees(math.fsum(map(abs, linear))),
        "RSS variation (linearised)": math.degrees(math.sqrt(math.fsum(x * x for x in linear))),
    }[row["quantity"]]
    assert got == pytest.approx(float(row["value"]), abs=float(row["tolerance"])), row["source"]


def test_the_clutchs_worst_case_is_that_of_its_corners(fold_text):
    """Corner values worked here from the formula in the row's source."""
    row = next(r for r in ROWS if r["id"] == "clutch-1-wo")
    given = {k: float(v) for k, v in inputs(row).items()}
    finding = next(iter(look(compute(fold_text(CLUTCH.format(**{
        k: f"{given[f'{k}_mm']} +/-{given[f'tol_{k}']}" for k in "ace"
    }))))))  # fmt: skip
    angles = [
        math.acos((given["a_mm"] + i * given["tol_a"] + given["c_mm"] + j * given["tol_c"])
                  / (given["e_mm"] + k * given["tol_e"] - given["c_mm"] - j * given["tol_c"]))
        for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)
    ]  # fmt: skip
    assert finding.worst_low == pytest.approx(min(angles), abs=1e-9)
    assert finding.worst_high == pytest.approx(max(angles), abs=1e-9)
