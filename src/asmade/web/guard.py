"""The guard before every page: who may ask, from where, how much at once; and what a browser may do with an answer."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import urlsplit

from asmade.web.devices import COOKIE as DEVICE

if TYPE_CHECKING:
    from asmade.web.devices import Devices

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BYTES: Final = 64 * 1024  # of what is sent to a page: a form of words and figures
UPLOADS: Final = {"/record/photo": 42 * 2**20, "/import": 11 * 2**20}
"""Pages that files are sent to, and how much at once: photographs, a list; what is in them is looked at there."""
LONGEST_ADDRESS: Final = 4096
READING: Final = frozenset({"GET", "HEAD"})
HOSTS: Final = ("127.0.0.1", "localhost")
LOOPBACK: Final = frozenset({"127.0.0.1", "::1"})
UNPAIRED: Final = ("/pair", "/static/")
"""All that a device sees before it is paired: the page that asks for the code, and its looks."""
DESK_ALONE: Final = ("/pairing", "/new", "/import", "/books", "/guide/begin")
"""What names files of the desk's machine, or lets devices in: from that machine only."""
HEADERS: Final = {
    b"content-security-policy": (
        b"default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
        b"worker-src 'self'; "
        b"manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"same-origin",
    b"cross-origin-opener-policy": b"same-origin",
    b"cross-origin-resource-policy": b"same-origin",
    b"permissions-policy": b"camera=(), microphone=(), geolocation=()",
}


class Guard:
    """Refuses a wrong Host (a page elsewhere that points its own name here), a wrong Origin, and too much at once."""

    def __init__(
        self, app: App, *, hosts: tuple[str, ...] = HOSTS, near: tuple[str, ...] = (), devices: Devices | None = None
    ) -> None:
        """Stand before ``app``; ``hosts`` are the names this machine answers to itself.

        With ``devices`` the home network may ask too, by the names ``near``: paired devices only.
        """
        self.app = app
        self.hosts = hosts
        self.near = near
        self.devices = devices

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return  # nothing here speaks over a web socket
        heard = {name: value.decode("latin-1") for name, value in scope["headers"]}
        scope["at_the_desk"] = self._at_the_desk(scope)
        told = list(HEADERS.items())
        if scope.get("scheme") == "http" and not scope["at_the_desk"]:  # browsers heed this over https only
            told = [(k, v) for k, v in told if k != b"cross-origin-opener-policy"]
        refusal = self._refusal(scope, heard) or self._stranger(scope, heard)
        if refusal:
            await _say(send, *refusal, told)
            return

        async def answer(message: Message) -> None:
            if message["type"] == "http.response.start":
                named = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [*message["headers"], *((k, v) for k, v in told if k not in named)]
            await send(message)

        await self.app(scope, receive, answer)

    def _at_the_desk(self, scope: Scope) -> bool:
        """Whether the machine that asks is the one that serves."""
        return self.devices is None or (scope.get("client") or ("",))[0] in LOOPBACK

    def _stranger(self, scope: Scope, heard: dict[bytes, str]) -> tuple[int, str] | None:
        """Refuse a device that is not paired, and what a paired one may not do; a page leads to the pairing."""
        if scope["at_the_desk"] or self.devices is None:
            return None
        path = scope["path"]
        if _below(path, DESK_ALONE):
            return 403, "That is done at the desk, not from a phone."
        if _below(path, UNPAIRED):
            return None
        scope["device"] = found = self.devices.known(_cookie(heard.get(b"cookie", ""), DEVICE))
        if found is not None:
            return None
        if scope["method"] in READING and "text/html" in heard.get(b"accept", ""):
            return 303, "/pair"
        return 403, "This device is not paired. Open /pair on it and type the code that the desk shows."

    def _refusal(self, scope: Scope, heard: dict[bytes, str]) -> tuple[int, str] | None:
        host = heard.get(b"host", "")
        names = self.hosts if scope["at_the_desk"] else self.near
        if _name(host) not in names:
            return 400, f"This machine does not answer to that name. Open it as {' or '.join(names)}."
        if len(scope.get("raw_path") or b"") + len(scope.get("query_string") or b"") > LONGEST_ADDRESS:
            return 414, "That address is too long."
        if scope["method"] in READING:
            return None
        origin = heard.get(b"origin")
        if origin is not None and origin.partition("://")[2] != host:
            return 403, "That form was sent from another page. Nothing was saved."
        if heard.get(b"sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return 403, "That form was sent from another page. Nothing was saved."
        size = heard.get(b"content-length", "")
        if not size.isdigit():
            return 411, "The length of what is sent must be stated. Nothing was saved."
        most = UPLOADS.get(scope["path"], MOST_BYTES)
        if int(size) > most:
            words = f"{most // 2**20} MB" if most >= 2**20 else f"{most // 1024} KB"
            return 413, f"That is more than {words} at once. Nothing was saved."
        return None


def _name(host: str) -> str:
    """The name in a Host header, without its port; empty where it cannot be read."""
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""


def _below(path: str, places: tuple[str, ...]) -> bool:
    return any(path == each or path.startswith(each.rstrip("/") + "/") for each in places)


def _cookie(header: str, name: str) -> str:
    """One cookie of a header; empty where there is none, or where it cannot be read."""
    try:
        found = SimpleCookie(header).get(name)
    except CookieError:
        return ""
    return found.value if found else ""


async def _say(send: Send, status: int, words: str, told: Iterable[tuple[bytes, bytes]]) -> None:
    body = words.encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    if status == 303:
        headers.append((b"location", words.encode()))
    await send({"type": "http.response.start", "status": status, "headers": [*headers, *told]})
    await send({"type": "http.response.body", "body": body})
