"""By what means a joint is made: the words found, every operation known to the cautions, the cautions that matter."""

from __future__ import annotations

import pytest

from asmade.standards.tables import load
from asmade.work.cautions import operations
from asmade.work.joining_means import cautions_of, means_of


@pytest.mark.parametrize(
    ("by", "name", "sets"),
    [
        ("retaining adhesive", "bonded", "cures"), ("press", "pressed", "at once"), ("taper pin", "pinned", "at once"),
        ("Silver solder", "soldered", "cools"), ("soft solder", "soft-soldered", "cools"),
        ("shrunk on", "shrunk", "cools"), ("1/16 rivets", "riveted", "at once"), ("key", "keyed", "at once"),
        ("", "not said", "not known"), ("string", "not said", "not known"),
    ],
)  # fmt: skip
def test_the_means_a_joint_speaks_of(by, name, sets):
    found = means_of(by)
    assert (found.name, found.sets) == (name, sets)
    assert found.trial
    assert found.ticks


def test_every_operation_has_its_cautions():
    """A name that the table of cautions does not know would drop its cautions without a word."""
    wanted = {
        str(each)
        for row in load("joining_means", "asmade.work").rows
        for column in ("operations", "undoing")
        for each in row[column]
    }
    assert wanted - set(operations()) == set()
    assert "quartering" in operations()


@pytest.mark.parametrize(
    ("by", "material", "undoing", "words"),
    [
        ("retaining adhesive", "steel", False, ("skin", "flame")),
        ("retaining adhesive", "steel", True, ("fumes",)),
        ("press", "cast iron", False, ("bursts",)),
        ("silver solder", "brass", False, ("cadmium", "Acid into water")),
        ("rivets", "brass", False, ("clamp",)),
    ],
)
def test_cautions_that_must_not_be_missing(by, material, undoing, words):
    text = " ".join(c.text for c in cautions_of(means_of(by), (material,), undoing=undoing))
    for word in words:
        assert word in text


def test_the_caution_of_every_page_comes_last_and_once():
    names = [c.name for c in cautions_of(means_of("press"), ("cast iron", "silver steel"), also=("quartering",))]
    assert names[-1] == "makers and local rules"
    assert len(names) == len(set(names))
