"""Taking values out of a table (TOML or JSON) without guessing: wrong types and unknown keys are refused by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from asmade.measure.errors import Refused, Unknown, near


class Taker:
    """Takes known keys from one table and refuses what is left over."""

    def __init__(self, table: object, where: str) -> None:
        """Start on ``table``; ``where`` names it in messages (``part.wheel``)."""
        if not isinstance(table, Mapping):
            raise Refused(
                where, got=table, reason="it should be a table", way_out=f"write [{where}] and its keys below"
            )
        self.table: Mapping[str, Any] = table
        self.where = where
        self.taken: set[str] = set()

    def _take(self, key: str) -> Any:
        self.taken.add(key)
        return self.table.get(key)

    def _refuse(self, key: str, value: object, what: str) -> Refused:
        return Refused(f"{self.where}.{key}", got=value, reason=f"it should be {what}")

    def text(self, key: str, default: str = "", *, among: Iterable[str] | None = None, needed: bool = False) -> str:
        """Take a text; a number written without quotes is taken as its text."""
        value = self._take(key)
        if value is None:
            if needed:
                raise Refused(
                    self.where, got=dict(self.table), reason=f"{key} is missing", way_out=f'add {key} = "..."'
                )
            return default
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise self._refuse(key, value, "a text in quotes")
        found = str(value).strip()
        if among is not None and found:
            allowed = tuple(among)
            if found not in allowed:
                raise Unknown(
                    f"{self.where}.{key}", got=found, near=near(found, allowed), way_out=f"one of: {', '.join(allowed)}"
                )
        return found

    def flag(self, key: str) -> bool:
        """Take a true or false; not said is false."""
        value = self._take(key)
        if value is None:
            return False
        if not isinstance(value, bool):
            raise self._refuse(key, value, "true or false")
        return value

    def number(self, key: str, *, least: float | None = None) -> float | None:
        """Take a number; not said is None."""
        value = self._take(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or value != value:  # noqa: PLR0124  # NaN
            raise self._refuse(key, value, "a number")
        if least is not None and value < least:
            raise self._refuse(key, value, f"{least} or more")
        return float(value)

    def texts(self, key: str) -> tuple[str, ...]:
        """Take a list of texts; not said is empty."""
        value = self._take(key)
        if value is None:
            return ()
        if not isinstance(value, list | tuple) or not all(isinstance(each, str) for each in value):
            raise self._refuse(key, value, 'a list of texts such as ["L", "R"]')
        return tuple(each.strip() for each in value)

    def rows(self, key: str) -> tuple[Mapping[str, Any], ...]:
        """Take a list of tables; not said is empty."""
        value = self._take(key)
        if value is None:
            return ()
        if not isinstance(value, list | tuple) or not all(isinstance(each, Mapping) for each in value):
            raise self._refuse(key, value, "a list of tables")
        return tuple(value)

    def inner(self, key: str) -> Mapping[str, Any]:
        """Take a table; not said is empty."""
        value = self._take(key)
        if value is None:
            return {}
        if not isinstance(value, Mapping):
            raise self._refuse(key, value, "a table")
        return value

    def done(self) -> None:
        """Refuse keys nobody took."""
        for key in self.table:
            if key not in self.taken:
                raise Unknown(
                    self.where,
                    got=key,
                    near=near(key, self.taken),
                    way_out=f"known here: {', '.join(sorted(self.taken))}",
                )
