"""The pins cover what pyproject.toml asks for, exactly, each file by its hash, and name no address."""

from __future__ import annotations

import re
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

FILES = ("requirements.txt", "requirements-dev.txt")
LINE = re.compile(r"(?:#.*|[a-z0-9-]+==[0-9][0-9a-z.]*(?: ; [^\\]*)? \\|    --hash=sha256:[0-9a-f]{64}(?: \\)?)")


def pins(text):
    return dict(re.findall(r"^([a-z0-9-]+)==([^\s\\;]+)", text, re.MULTILINE))


@pytest.fixture(scope="module")
def project(root):
    return tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("file", FILES)
def test_only_exact_versions_and_hashes(root, file):
    text = (root / file).read_text(encoding="utf-8")
    assert [line for line in text.splitlines() if not LINE.fullmatch(line)] == []
    blocks = re.split(r"\n(?=[a-z])", text)[1:]
    assert len(blocks) == len(pins(text)) > 5
    assert [block for block in blocks if "--hash=sha256:" not in block] == []


@pytest.mark.parametrize("file", FILES)
def test_everything_asked_for_is_pinned_within_what_is_allowed(root, project, file):
    pinned = pins((root / file).read_text(encoding="utf-8"))
    wanted = [*project["project"]["dependencies"], *project["build-system"]["requires"]]
    if file == "requirements-dev.txt":
        wanted += project["project"]["optional-dependencies"]["dev"]
    for line in wanted:
        asked = Requirement(line)
        name = canonicalize_name(asked.name)
        assert name in pinned, f"{name}: run tools/pins.sh"
        assert asked.specifier.contains(pinned[name]), f"{name}=={pinned[name]}: run tools/pins.sh"


def test_what_start_installs_is_part_of_what_test_installs(root):
    runs, checks = (pins((root / file).read_text(encoding="utf-8")) for file in FILES)
    assert runs.items() <= checks.items()
