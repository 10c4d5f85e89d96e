"""Starting the pages: on this machine alone, on a port that is free."""

from __future__ import annotations

import socket
import threading
import webbrowser
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from asmade.measure.errors import OutOfRange, Refused

if TYPE_CHECKING:
    from asmade.verbs.store import Path_

HERE: Final = "127.0.0.1"
USUAL_PORT: Final = 8640
TRIES: Final = 20


def serve(book: Path_, *, port: int = 0, browser: bool = True, say: Callable[[str], None] = print) -> None:
    """Serve the pages of ``book`` until stopped; ``port`` 0 takes the usual one, or the next that is free."""
    import uvicorn  # noqa: PLC0415  # only a server needs it

    from asmade.verbs.store import read  # noqa: PLC0415
    from asmade.web.app import create_app  # noqa: PLC0415

    read(book)  # a book that cannot be read is refused before anything is started
    listening = bound(port)
    address = f"http://{HERE}:{listening.getsockname()[1]}/"
    say(f"asmade is at {address}  (this machine only; Ctrl-C ends it)")
    if browser:
        threading.Timer(0.5, webbrowser.open, (address,)).start()
    config = uvicorn.Config(create_app(book), log_level="warning", access_log=False, server_header=False)
    uvicorn.Server(config).run(sockets=[listening])


def bound(port: int) -> socket.socket:
    """A socket of this machine alone, at ``port`` or (0) at the first free one from the usual."""
    if not 0 <= port <= 65535:
        raise OutOfRange("port", got=port, allowed="1 to 65535, or 0 for the usual")
    for at in [port] if port else range(USUAL_PORT, USUAL_PORT + TRIES):
        made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            made.bind((HERE, at))
            made.listen()  # only now is it ours alone
        except OSError:
            made.close()
        else:
            return made
    raise Refused("port", got=port or f"{USUAL_PORT} to {USUAL_PORT + TRIES - 1}", reason="it is taken",
                  way_out="name another with --port, or end the asmade that has it")  # fmt: skip
