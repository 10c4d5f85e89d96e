"""The family of refusals. Each names the thing, the value, what is allowed, the source, and the way out."""

from __future__ import annotations

from collections.abc import Iterable


def near(word: str, names: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """The names most like ``word``, best first, capitals aside: for "did you mean"."""
    from difflib import get_close_matches  # noqa: PLC0415  # only wanted when something has already gone wrong

    lowered = {name.lower(): name for name in reversed(tuple(names))}
    return tuple(lowered[found] for found in get_close_matches(word.lower(), list(lowered), most, 0.5))


SHOWN = 120
"""Signs of a refused text that a message repeats: enough to find it by."""


def shown(got: object) -> str:
    """What was refused, as a message repeats it: in quotes, and cut where it would bury the reason."""
    text = repr(got)
    return text if len(text) <= SHOWN else f"{text[: SHOWN - 25]} ... {text[-20:]}"


class AsmadeError(Exception):
    """Base of everything asmade refuses on purpose; its text is fit to be shown to the builder as it stands."""

    code = "refused"

    def __init__(self, message: str, *, way_out: str = "") -> None:
        """Keep ``message`` (what is wrong) and ``way_out`` (what to do) apart for faces that show them apart."""
        self.message = message
        self.way_out = way_out
        super().__init__(f"{message}\n  -> {way_out}" if way_out else message)


class Refused(AsmadeError):
    """A text or a table that cannot be read without guessing."""

    code = "unreadable"

    def __init__(self, thing: str, *, got: object, reason: str, way_out: str = "") -> None:
        """Refuse ``got`` as a ``thing`` because of ``reason``; ``way_out`` is the nearest accepted spelling."""
        self.thing = thing
        self.got = got
        self.reason = reason
        super().__init__(f"{thing}: cannot read {shown(got)}: {reason}", way_out=way_out)


class OutOfRange(AsmadeError):
    """A value outside the range in which a formula, table or rule is valid."""

    code = "out_of_range"

    def __init__(self, thing: str, *, got: object, allowed: str, source: str = "", way_out: str = "") -> None:
        """Refuse value ``got`` of ``thing``: ``allowed`` states the limits, ``source`` who set them."""
        self.thing = thing
        self.got = got
        self.allowed = allowed
        self.source = source
        cited = f" ({source})" if source else ""
        super().__init__(f"{thing}: {got} is not within {allowed}{cited}", way_out=way_out)


class Unknown(AsmadeError):
    """A name that is not there: a part, a thread, a process, a place."""

    code = "unknown"

    def __init__(self, thing: str, *, got: object, near: tuple[str, ...] = (), way_out: str = "") -> None:
        """Refuse the name ``got`` of a ``thing``; ``near`` are the closest names that do exist."""
        self.thing = thing
        self.got = got
        self.near = near
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        super().__init__(f"{thing}: there is no {shown(got)}{hint}", way_out=way_out)


class Contradiction(AsmadeError):
    """Two statements that cannot both hold."""

    code = "contradiction"


class Damaged(AsmadeError):
    """A file that is damaged, foreign, of a newer format, or cannot be written; it has been left untouched."""

    code = "file"
