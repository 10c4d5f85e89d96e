"""./start and ./test on machines that are not as they should be: one clear line, and the way out."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import urllib.request

import pytest


@pytest.fixture
def checkout(root, tmp_path):
    """A checkout with a space in its path, without an environment."""
    folder = tmp_path / "my engine"
    (folder / "tools").mkdir(parents=True)
    for name in (
        "start",
        "test",
        "pyproject.toml",
        "requirements.txt",
        "requirements-dev.txt",
        "tools/set-up.sh",
        "tools/browser.sh",
    ):
        shutil.copy(root / name, folder / name)
    return folder


def run(checkout, *command, **environment):
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PIP_") and name != "PYTHON"}
    return subprocess.run(
        command, cwd=checkout.parent, env=clean | environment, capture_output=True, text=True, check=False, timeout=60
    )


def one_line(done):
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    return done.stderr.strip()


def pretend(folder, name, script):
    file = folder / name
    file.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    file.chmod(0o755)
    return str(file)


def installed(checkout):
    """Pretend that .venv has been made: its commands are those of the Python that runs the tests."""
    scripts = checkout / ".venv" / "bin"
    scripts.mkdir(parents=True)
    (scripts / "python").symlink_to(sys.executable)
    pretend(scripts, "asmade", f'exec "{sys.executable}" -m asmade "$@"')


REMEMBER = 'key_of requirements.txt >"$venv/requirements.txt.installed"'


def ask(checkout, *lines):
    """Exit code of some lines of shell, after the part that ./start and ./test share."""
    script = "\n".join(("set -eu", 'here=$1 me=start; . "$here/tools/set-up.sh"', *lines))
    return run(checkout, "sh", "-c", script, "sh", str(checkout)).returncode


@pytest.mark.parametrize("me", ["start", "test"])
def test_python_too_old(checkout, tmp_path, me):
    old = pretend(tmp_path, "python", 'case "$2" in *print*) echo 3.9 ;; *) exit 1 ;; esac')
    said = one_line(run(checkout, str(checkout / me), PYTHON=old))
    assert said.startswith(f"{me}: needs Python 3.11 or newer ({old} is 3.9); ")
    assert f"PYTHON=/path/to/python3.12 ./{me}" in said
    assert not (checkout / ".venv").exists()


def test_no_python(checkout, tmp_path):
    said = one_line(run(checkout, str(checkout / "start"), PYTHON=str(tmp_path / "nothing")))
    assert "none found" in said


def test_python_that_cannot_make_environments(checkout, tmp_path):
    bare = pretend(tmp_path, "python", 'case "$2" in *print*) echo 3.12 ;; *ensurepip*) exit 1 ;; esac')
    assert "python3-venv" in one_line(run(checkout, str(checkout / "start"), PYTHON=bare))


def test_registry_out_of_reach(checkout):
    done = run(
        checkout,
        str(checkout / "start"),
        PYTHON=sys.executable,
        PIP_CONFIG_FILE=os.devnull,
        PIP_INDEX_URL="http://127.0.0.1:9/",
        PIP_RETRIES="0",
    )
    said = one_line(done)
    assert said.startswith("start: the package registry is out of reach; ")
    assert "PIP_FIND_LINKS" in said
    assert (checkout / ".venv" / "install.log").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["missing.asmade"], "there is no book missing.asmade"),
        (["one.asmade", "two.asmade"], "one book at most"),
        (["--fast"], "has no option --fast"),
    ],
)
def test_start_names_what_is_wrong_before_it_installs(checkout, arguments, words):
    assert words in one_line(run(checkout, str(checkout / "start"), *arguments))
    assert not (checkout / ".venv").exists()


def test_what_is_installed_is_remembered_until_something_changes(checkout, tmp_path):
    """Set up once; again when a pin changes, when the checkout is moved, or when Python is another."""
    installed(checkout)

    def is_set_up(folder):
        return ask(folder, "is_set_up requirements.txt") == 0

    assert not is_set_up(checkout)
    assert ask(checkout, REMEMBER) == 0
    assert is_set_up(checkout)
    with (checkout / "requirements.txt").open("a", encoding="utf-8") as pins:
        pins.write("# changed\n")
    assert not is_set_up(checkout)
    assert ask(checkout, REMEMBER) == 0
    moved = tmp_path / "moved"
    checkout.rename(moved)
    assert not is_set_up(moved)


def test_start_makes_the_demo_once_and_shows_its_board(checkout):
    installed(checkout)
    assert ask(checkout, REMEMBER) == 0
    first = run(checkout, str(checkout / "start"), "--terminal")
    assert first.stderr == ""
    assert first.returncode in (0, 1)
    book = checkout / "harrowgill.asmade"
    assert "Making the demo book" in first.stdout
    assert "Harrowgill No. 3" in first.stdout
    assert f'next "{book}"' in first.stdout
    again = run(checkout, str(checkout / "start"), "--terminal")
    assert again.stdout == first.stdout.partition("\n")[2]
    own = checkout.parent / "own.asmade"
    shutil.copy(book, own)
    assert "Harrowgill No. 3" in run(checkout, str(checkout / "start"), "--terminal", own.name).stdout


def test_start_opens_the_whole_tool_in_the_browser(checkout):
    """It ends at the pages; only this process is ended, by its own number."""
    installed(checkout)
    assert ask(checkout, REMEMBER) == 0
    begun = subprocess.Popen(
        [str(checkout / "start"), "--no-browser"], cwd=checkout.parent, stdout=subprocess.PIPE, text=True, bufsize=1,
        env=os.environ | {"PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    try:
        said = [begun.stdout.readline(), begun.stdout.readline()]
        address = re.search(r"http://127\.0\.0\.1:[0-9]+/", said[1])[0]
        assert "Making the demo book" in said[0]
        assert "this machine only" in said[1]
        with urllib.request.urlopen(f"{address}components") as answer:  # noqa: S310  # its own address
            assert "Harrowgill No. 3" in answer.read().decode()
    finally:
        begun.terminate()
        begun.communicate(timeout=30)
