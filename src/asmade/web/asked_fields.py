"""What a quick sum asks for: its fields, in the words of the bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Field:
    """One thing asked for: its name, its label, a hint how it is written, what stands there at first.

    ``says`` is what its sum calls it where it refuses it, if that is neither its name nor its label.
    """

    name: str
    label: str
    hint: str = ""
    first: str = ""
    of: tuple[str, ...] = ()
    says: str = ""


@dataclass(frozen=True, slots=True)
class Sum:
    """One quick sum: which function of `asmade.verbs.sums`, and what it asks for.

    ``bundled`` takes one `Asked`; ``needs`` are given to it even if nothing was said; ``machines`` are the kinds of
    machine of the book's shop that it may take its speeds, dials or gears from.
    """

    name: str
    title: str
    words: str
    module: str
    main: tuple[Field, ...]
    more: tuple[Field, ...]
    example: Mapping[str, str]
    bundled: bool = False
    needs: tuple[str, ...] = ()
    machines: tuple[str, ...] = ()

    @property
    def fields(self) -> tuple[Field, ...]:
        """All fields, those asked for first."""
        return (*self.main, *self.more)

    @property
    def names(self) -> frozenset[str]:
        """Names of its fields."""
        return frozenset(f.name for f in self.fields)

    def filled(self, given: Mapping[str, str]) -> dict[str, str]:
        """What is given, and what stands there at first where nothing is."""
        return {f.name: given.get(f.name, "") or f.first for f in self.fields}
