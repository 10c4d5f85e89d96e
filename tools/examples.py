"""The examples in the documents: fenced blocks marked ``console``, run as a reader would and compared.

    ```console
    $ asmade check harrowgill.asmade
    what it prints; trailing spaces do not matter
    ...
    ```

A line ``...`` alone stands for any lines. A command without printed output must only succeed. A long command may run
on over lines ending in a backslash. The blocks of one document are run in order in one folder, so that one can build
on the one before. Only ``asmade`` is run: what a reader types besides it stands in a block marked ``sh``.

python tools/examples.py README.md docs/*.md            run and compare (tests/house does, too)
python tools/examples.py --write README.md docs/*.md    put the present output in place of what differs, to be read
                                                        before it is kept; output with ``...`` is left alone
"""

from __future__ import annotations

import argparse
import difflib
import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

WIDTH = 100  # columns of the terminal that the documents show
COLOURING = ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE")
SUCCESS = (0, 1)  # 1 says that something fails its limits, which is an answer
ELLIPSIS = "..."
FENCE = re.compile(r"^```(?P<mark>\w*)[ \t]*$")


@dataclass(frozen=True, slots=True)
class Example:
    """One command of a document and the output printed below it, with the lines of the file it stands on (from 0)."""

    command: str
    line: int
    start: int  # printed output: lines start to end of the file, end excluded
    printed: tuple[str, ...]

    @property
    def end(self) -> int:
        """First line after the printed output."""
        return self.start + len(self.printed)


def examples(text: str) -> tuple[Example, ...]:
    """Every command in the ``console`` blocks of a document, in order; refuses a block that does not begin with one."""
    found: list[Example] = []
    for first, block in _blocks(text):
        at = 0
        while at < len(block):
            if not block[at].startswith("$ "):
                raise ValueError(f"line {first + at + 1}: a console block begins with a command, '$ asmade ...'")
            begin, command = at, block[at][2:]
            while command.endswith("\\") and at + 1 < len(block):
                at += 1
                command = command[:-1].rstrip() + " " + block[at].strip()
            at += 1
            output = at
            while at < len(block) and not block[at].startswith("$ "):
                at += 1
            if shlex.split(command)[:1] != ["asmade"]:
                raise ValueError(f"line {first + begin + 1}: only asmade is run; put {command!r} in a block marked sh")
            found.append(Example(command, first + begin, first + output, tuple(block[output:at])))
    return tuple(found)


def _blocks(text: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and lines of each ``console`` block."""
    lines = text.splitlines()
    at = 0
    while at < len(lines):
        fence = FENCE.match(lines[at])
        at += 1
        if not fence:
            continue
        first = at
        while at < len(lines) and lines[at].rstrip() != "```":
            at += 1
        if fence["mark"] == "console":
            yield first, lines[first:at]
        at += 1


def run(example: Example, folder: Path) -> tuple[int, tuple[str, ...]]:
    """Exit code and lines of output of one command, run in ``folder`` on a terminal without colours."""
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in ("FORCE_COLOR", "CLICOLOR_FORCE", "TTY_COMPATIBLE")
    }
    environment |= {"COLUMNS": str(WIDTH), "NO_COLOR": "1", "TERM": "dumb", "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        [sys.executable, "-m", "asmade", *shlex.split(example.command)[1:]],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
        timeout=120,
    )
    return done.returncode, tuple(line.rstrip() for line in done.stdout.rstrip().splitlines())


def matches(printed: Sequence[str], came: Sequence[str]) -> bool:
    """Whether output is as printed: line by line without trailing spaces, ``...`` standing for any lines."""
    wanted = [".*\n" if line.strip() == ELLIPSIS else re.escape(line.rstrip() + "\n") for line in printed]
    pattern = "".join("(?:.*\n)*" if line == ".*\n" else line for line in wanted)
    return re.fullmatch(pattern, "".join(f"{line.rstrip()}\n" for line in came)) is not None


def fault(example: Example, code: int, came: tuple[str, ...]) -> str:
    """What is wrong with an example after it was run; empty if nothing is."""
    printed = _without_last_blanks(example.printed)
    if any(line.startswith("Traceback ") for line in came) or (not printed and code not in SUCCESS):
        return "\n".join((f"$ {example.command}: exit code {code}", *came))
    if printed and not matches(printed, came):
        shown = difflib.unified_diff(printed, came, "as printed", "as it comes", lineterm="", n=2)
        return "\n".join((f"line {example.line + 1}: $ {example.command}", *shown))
    return ""


def _without_last_blanks(lines: Sequence[str]) -> tuple[str, ...]:
    kept = [line.rstrip() for line in lines]
    while kept and not kept[-1]:
        kept.pop()
    return tuple(kept)


def faults(document: Path) -> tuple[str, ...]:
    """Run the examples of a document in order in a folder of their own; what is wrong with each."""
    return tuple(text for example, code, came in _runs(document) if (text := fault(example, code, came)))


def rewritten(document: Path) -> str:
    """Text of a document with the present output where it differs; blocks with ``...`` stay as they are."""
    text = document.read_text(encoding="utf-8")
    lines = text.splitlines()
    for example, code, came in reversed(list(_runs(document))):
        if fault(example, code, came) and ELLIPSIS not in (line.strip() for line in example.printed):
            lines[example.start : example.end] = came
    return "\n".join((*lines, ""))


def _runs(document: Path) -> Iterator[tuple[Example, int, tuple[str, ...]]]:
    with tempfile.TemporaryDirectory(prefix="asmade-examples-") as folder:
        for example in examples(document.read_text(encoding="utf-8")):
            yield (example, *run(example, Path(folder)))


def main() -> int:
    """Run the examples of the documents named; 1 if one does not come out as printed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("documents", nargs="+", type=Path)
    parser.add_argument("--write", action="store_true", help="put the present output in place of what differs")
    chosen = parser.parse_args()
    wrong = 0
    for document in chosen.documents:
        if chosen.write:
            text = rewritten(document)
            if text != document.read_text(encoding="utf-8"):
                document.write_text(text, encoding="utf-8")
                print(f"{document} written: read it before you keep it")
            continue
        for text in faults(document):
            wrong += 1
            print(f"{document}, {text}\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
