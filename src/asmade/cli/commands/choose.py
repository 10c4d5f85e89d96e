"""asmade choose."""

from __future__ import annotations

import signal
from types import FrameType

import click

from asmade.cli import options


@click.command(short_help="Choose working sizes for the whole book at once.")
@options.book
@click.option("--lock", multiple=True, metavar="ADDRESS[=SIZE]", help="Fix a size first (as chosen, or to SIZE).")
@click.option("--loosen", multiple=True, metavar="ADDRESS", help="Let a locked size go.")
@click.option("--alternatives", default="", metavar="ADDRESS", help="What else a size could be, at what cost.")
@click.option(
    "--count", default=5, type=click.IntRange(min=1), show_default=True, metavar="N", help="How many alternatives."
)
@click.option("--seconds", default=30.0, show_default=True, metavar="S", help="Time limit; the best found is kept.")
@click.option("--all", "every", is_flag=True, help="List every size, not only those that leave the drawing.")
@options.what_if
@options.as_json
def command(  # a choice has so much to say
    book: str, *, lock: tuple[str, ...], loosen: tuple[str, ...], alternatives: str, count: int, seconds: float,
    every: bool, what_if: bool, as_json: bool,
) -> int:  # fmt: skip
    """Decide the working sizes of BOOK from the stock and tools at hand, so that no fit or clearance is lost.

    Ctrl-C keeps the best found. A conflict is explained with the least that would have to give; it writes nothing.
    Proven means: no better set of the listed candidates under the stated weights. It says nothing of the engine.
    """
    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs import choose, plain  # noqa: PLC0415

    stopped: list[int] = []

    def stop(number: int, _: FrameType | None) -> None:
        if stopped:
            raise KeyboardInterrupt
        stopped.append(number)

    before = signal.signal(signal.SIGINT, stop)
    progress = tables.console(err=True)
    try:
        with progress.status("choosing ...") as status:
            result = choose.choose(
                book, lock=dict(_pair(text) for text in lock), loosen=loosen,
                alternatives_for=alternatives, count=count, time_limit_s=seconds, what_if=what_if,
                stop=lambda: bool(stopped),
                on_progress=lambda p: status.update(
                    f"choosing ... {p.seconds:.0f} s, {p.words}; could improve by "
                    f"{'?' if p.could_improve_by is None else format(p.could_improve_by, '.1%')}"
                ),
            )  # fmt: skip
    finally:
        signal.signal(signal.SIGINT, before)
    if as_json:
        options.say_json(plain.choose(result))
    else:
        from asmade.cli import tables_choice  # noqa: PLC0415

        tables_choice.choice(tables.console(), result, every=every, what_if=what_if)
    return 1 if result.choice.status in ("conflict", "nothing_found") else 0


def _pair(text: str) -> tuple[str, str]:
    address, _, size = text.partition("=")
    return address.strip(), size.strip()
