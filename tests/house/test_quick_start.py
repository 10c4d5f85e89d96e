"""Help and small commands answer at once: nothing heavy is imported for them. Ratios in one run, no absolute times."""

from __future__ import annotations

import subprocess
import sys
import time

import pytest

HEAVY = (
    "numpy",
    "scipy",
    "highspy",
    "shapely",
    "openpyxl",
    "tomlkit",
    "rich",
    "pydantic",
    "fastapi",
    "asmade.reckon.system",
)
TIMES = 15  # bare Python is about 20 ms, so 0.3 s; help measured at 4 to 5


def seconds(*command):
    begin = time.perf_counter()
    subprocess.run([sys.executable, *command], check=True, stdout=subprocess.DEVNULL, timeout=60)
    return time.perf_counter() - begin


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["made", "--help"]], ids=" ".join)
def test_small_commands_answer_at_once(arguments):
    """The least of each, turn about: whatever else the machine does only adds, so a busy one is given more turns."""
    bare = command = float("inf")
    for turn in range(40):
        bare = min(bare, seconds("-c", "pass"))
        command = min(command, seconds("-m", "asmade", *arguments))
        if turn >= 4 and command <= TIMES * bare:
            break
    assert command <= TIMES * bare


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["made", "--help"]], ids=" ".join)
def test_small_commands_import_nothing_heavy(arguments):
    asks = "import sys; from asmade.cli.app import run; run(sys.argv[1:]); print([m for m in %r if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", asks % (HEAVY,), *arguments], check=True, capture_output=True, text=True, timeout=60
    )
    assert done.stdout.splitlines()[-1] == "[]"
