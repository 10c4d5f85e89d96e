"""The contract of layers can fail: an import upwards, and a ring within a room, are found in a copy of the tree."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    ("module", "line", "words"),
    [
        ("measure/lengths.py", "import asmade.reckon.values", "asmade.measure is not allowed to import asmade.reckon"),
        ("cli/app.py", "import asmade.web", "asmade.cli is not allowed to import asmade.web"),
        ("measure/errors.py", "import asmade.measure.lengths", "no ring among the parts of a room BROKEN"),
    ],
)
def test_a_wrong_import_is_found(root, tmp_path, module, line, words):
    shutil.copy(root / "pyproject.toml", tmp_path)
    shutil.copytree(root / "src", tmp_path / "src", ignore=shutil.ignore_patterns("__pycache__", "data"))
    with (tmp_path / "src" / "asmade" / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")
    done = subprocess.run(
        [sys.executable, "-c", "import sys; from importlinter.cli import lint_imports_command as go; sys.exit(go())"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(tmp_path / "src"), "COLUMNS": "200", "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 1
    assert words in " ".join(done.stdout.split())
