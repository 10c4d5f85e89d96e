"""Start-up of the quick sums: whole processes, against a bare python and python with click, in the same run. JSON."""

from __future__ import annotations

import json
import os
import resource
import statistics
import subprocess
import sys
import time

TIMES = 9
SUMS = {
    "fit": ["reckon", "fit", "25 H7/g6"],
    "thread": ["reckon", "thread", "2 BA"],
    "tap": ["reckon", "tap", "2 BA"],
    "drill": ["reckon", "drill", "#40"],
    "press": ["reckon", "press"],
    "bond": ["reckon", "bond"],
    "length": ["reckon", "length", "1 3/16 in"],
    "help": ["reckon"],
}


def took(command: list[str]) -> tuple[float, float]:
    """Median wall and processor time of a process in seconds."""
    walls, processors = [], []
    for _ in range(TIMES):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=os.environ)
        walls.append(time.perf_counter() - start)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        processors.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return statistics.median(walls), statistics.median(processors)


def main() -> None:
    bare = took([sys.executable, "-c", "pass"])
    click = took([sys.executable, "-c", "import click"])
    found: dict[str, dict[str, float]] = {}
    for name, words in SUMS.items():
        for form, more in (("table", []), ("json", ["--json"])):
            if name == "help" and more:
                continue
            wall, processor = took([sys.executable, "-m", "asmade", *words, *more])
            found[f"{name}, {form}"] = {
                "wall_s": round(wall, 3),
                "processor_s": round(processor, 3),
                "over_bare_python": round(processor / bare[1], 1),
                "over_python_with_click": round(processor / click[1], 1),
            }
    print(
        json.dumps(
            {
                "bare_python_s": [round(v, 3) for v in bare],
                "python_with_click_s": [round(v, 3) for v in click],
                "quick_sums": found,
                "slowest_wall_s": max(one["wall_s"] for one in found.values()),
            },
            indent=1,
        )
    )


if __name__ == "__main__":
    main()
