"""Starting the pages: on this machine alone or on the home network too, on a port that is free."""

from __future__ import annotations

import io
import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from asmade.measure.errors import OutOfRange, Refused
from asmade.web.devices import Devices, usual_file
from asmade.web.home_network import OPENS, HomeNetwork, home_address

if TYPE_CHECKING:
    from asmade.verbs.store import Path_

HERE: Final = "127.0.0.1"
USUAL_PORT: Final = 8640
TRIES: Final = 20
NO_DISPLAY: Final = "open it in a browser of this machine"


def serve(
    book: Path_, *, port: int = 0, browser: bool = True, lan: bool = False, certificate: str = "", key: str = "",
    say: Callable[[str], None] = print,
) -> None:  # fmt: skip
    """Serve the pages of ``book`` until stopped; ``port`` 0 takes the usual one, or the next that is free.

    With ``lan`` paired devices of the home network reach it too; over https where a ``certificate`` and its ``key``
    are named (PEM files), which only then is also how this machine is asked.
    """
    import uvicorn  # noqa: PLC0415  # only a server needs it

    from asmade.verbs.store import read  # noqa: PLC0415
    from asmade.web.app import create_app  # noqa: PLC0415

    read(book)  # a book that cannot be read is refused before anything is started
    if bool(certificate) != bool(key):
        raise Refused("certificate", got=certificate or key, reason="a certificate and its key go together",
                      way_out="name both: --certificate FILE --key FILE")  # fmt: skip
    near = home_address() if lan else ""
    sockets = bound_both(port, near)
    at = sockets[0].getsockname()[1]
    home = HomeNetwork(near, at, Devices(usual_file()), secure=bool(certificate)) if lan else None
    scheme = "https" if certificate else "http"
    address = f"{scheme}://{HERE}:{at}/"
    say(f"asmade is at {address}  ({'this machine; ' if lan else 'this machine only; '}Ctrl-C ends it)")
    if home is not None:
        say(invitation(home))
    if browser:
        if can_show():
            threading.Timer(0.5, webbrowser.open, (address,)).start()
        else:
            say(f"No display is found: {NO_DISPLAY}.")
    config = uvicorn.Config(
        create_app(book, home=home), log_level="warning", access_log=False, server_header=False, proxy_headers=False,
        ssl_certfile=certificate or None, ssl_keyfile=key or None,
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=sockets)


def invitation(home: HomeNetwork) -> str:
    """What the terminal says of the home network: what it opens, the QR code, the address, the code."""
    import segno  # noqa: PLC0415  # only where a code is shown

    code = home.devices.new_code()
    drawn = io.StringIO()
    segno.make(f"{home.url}/pair?code={code.text}", micro=False).terminal(out=drawn, compact=True)
    lines = (
        "", "Open to the home network. " + OPENS[0], *OPENS[1:], "", drawn.getvalue().rstrip("\n"), "",
        f"On the phone: {home.url}/pair   code {code.text[:4]}-{code.text[4:]}, good once until {code.until:%H:%M}",
        f"Further codes, and the devices that are paired: http{'s' if home.secure else ''}://{HERE}:{home.port}/pairing",
    )  # fmt: skip
    return "\n".join(lines)


def can_show() -> bool:
    """Whether a browser could be shown here: there is a display (on systems that say so)."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def bound(port: int) -> socket.socket:
    """A socket of this machine alone, at ``port`` or (0) at the first free one from the usual."""
    return bound_both(port)[0]


def bound_both(port: int, near: str = "") -> list[socket.socket]:
    """Sockets of this machine and, if ``near`` is an address of it, of its network, at one and the same port."""
    if not 0 <= port <= 65535:
        raise OutOfRange("port", got=port, allowed="1 to 65535, or 0 for the usual")
    for at in [port] if port else range(USUAL_PORT, USUAL_PORT + TRIES):
        made: list[socket.socket] = []
        try:
            for host in filter(None, (HERE, near)):
                made.append(socket.socket(socket.AF_INET, socket.SOCK_STREAM))
                made[-1].setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                made[-1].bind((host, at))
                made[-1].listen()  # only now is it ours alone
        except OSError:
            for each in made:
                each.close()
        else:
            return made
    raise Refused("port", got=port or f"{USUAL_PORT} to {USUAL_PORT + TRIES - 1}", reason="it is taken",
                  way_out="name another with --port, or end the asmade that has it")  # fmt: skip
