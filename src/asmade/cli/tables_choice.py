"""The choice of sizes in a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.markup import escape

from asmade.cli import tables

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from asmade.reckon.choice import Choice
    from asmade.verbs.choose import ChooseResult

STATUS = {
    "proven": "proven: no better set of the listed candidates under the stated weights",
    "best_found": "the best found; it could be better by at most",
    "nothing_found": "nothing was found in the time given",
    "conflict": "not all can hold",
}


def choice(to: Console, result: ChooseResult, *, every: bool, what_if: bool) -> None:
    """What was decided and why, what it moves, what to buy; or what stands in the way."""
    found = result.choice
    gap = f" {found.could_improve_by:.1%}" if found.status == "best_found" else ""
    to.print(f"[bold]{STATUS[found.status]}{gap}[/]  ({found.seconds:.1f} s)")
    if found.status == "conflict":
        conflict(to, found)
        return
    to.print(escape(found.words))
    if result.alternatives:
        others(to, result)
        return
    shown = [c for c in found.changes if every or c.moved or c.buy]
    made = tables.table(
        f"{len(found.changes)} sizes decided, {sum(c.moved for c in found.changes)} leave the drawing",
        "size", "drawn", "exact mm", "chosen", "change", "why", right=(2, 3, 4), whole=(0,),
    )  # fmt: skip
    for c in shown:
        change = "" if c.exact_mm is None else f"{c.chosen_mm - c.exact_mm + 0.0:+.3f}"
        exact = "" if c.exact_mm is None else f"{c.exact_mm:.4f}"
        made.add_row(escape(str(c.dimension)), escape(c.drawn), exact, escape(c.size.removesuffix(" mm")), change,
                     escape(c.why))  # fmt: skip
    to.print(made)
    moved = [m for m in found.moved if m.verdict_before != m.verdict_after]
    if moved:
        made = tables.table("Verdicts that moved", "what", "was", "margin", "is now", "margin", right=(2, 4))
        for m in moved:
            made.add_row(escape(m.subject), tables.verdict(m.verdict_before), tables.mm(m.before),
                         tables.verdict(m.verdict_after), tables.mm(m.after))  # fmt: skip
        to.print(made)
    if found.buys:
        to.print(f"[bold]To buy[/]: {escape(', '.join(found.buys))}")
    if found.left_out:
        to.print(escape(left_out(found.left_out)))
    threads(to, result)
    if result.saved and result.saved.entries:
        to.print(f"saved as entries {result.saved.entries[0]} to {result.saved.entries[-1]}")
    elif what_if:
        to.print("what if: nothing saved")
    else:
        to.print("the book says all of this already; nothing to save")


def conflict(to: Console, found: Choice, most: int = 15) -> None:
    """What cannot all hold, and the least that would have to give: all of it together, the largest first."""
    why, _, _ = found.words.partition(" The least that must give:")
    to.print(escape(why))
    gives = sorted(found.relaxations, key=lambda r: -abs(r.by_mm))
    if gives:
        to.print("The least that must give, all of it together:" if len(gives) > 1 else "The least that must give:")
    for r in gives[:most]:
        to.print(f"  -> {escape(r.words or r.name)}")
    if len(gives) > most:
        to.print(f"  and {len(gives) - most} more: with so many, see asmade check BOOK --drawing first")


def left_out(subjects: Sequence[str], most: int = 12) -> str:
    """Requirements that could not be looked at, each name once however many places it stands at."""
    names = list(dict.fromkeys(subject.partition("@")[0] for subject in subjects))
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return (
        f"Left out: {len(subjects)} requirements in which a size is not known, so nothing is said of them: "
        f"{', '.join(names[:most])}{more}. See asmade check BOOK, and asmade check BOOK --drawing."
    )


def others(to: Console, result: ChooseResult) -> None:
    """Alternatives for one size."""
    made = tables.table("Alternatives", "size", "why", "costs more", "what else moves", right=(2,))
    for a in result.alternatives:
        cost = f"{a.extra_cost:.3f}" if a.possible else "cannot be had"
        moves = ", ".join(f"{n} {was:g} -> {now:g}" for n, (was, now) in list(a.moves.items())[:5])
        made.add_row(escape(a.size), escape(a.why), cost, escape(moves))
    to.print(made)
    to.print("Cost is in millimetres off the drawing: what mates counts most, what is free least. Buying a bar or "
             "tool, setting up one more, and figures that are not round count as millimetres too.")  # fmt: skip


def threads(to: Console, result: ChooseResult) -> None:
    """Threads for which there is no tap or die, and what is there that could stand for them."""
    if not result.threads:
        return
    made = tables.table("No tap or die for these; never changed unasked", "thread", "of", "no", "instead", "against it",
                        whole=(0,))  # fmt: skip
    for thread in result.threads:
        of = ", ".join(thread.dimensions[:3]) + (" ..." if len(thread.dimensions) > 3 else "")
        first = (escape(thread.thread), escape(of), ", ".join(thread.lacks))
        if not thread.offers:
            made.add_row(*first, "nothing near", "")
        for offer in thread.offers:
            made.add_row(*first, escape(offer.thread), escape(offer.words))
            first = ("", "", "")
    to.print(made)
    to.print("To take one: asmade choose BOOK --lock PART.THREAD=M4, for screw and hole alike.")
