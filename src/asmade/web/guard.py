"""The guard before every page: who may ask, from where, how much at once; and what a browser may do with an answer."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Final
from urllib.parse import urlsplit

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
HEADERS: Final = {
    b"content-security-policy": (
        b"default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
        b"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"same-origin",
    b"cross-origin-opener-policy": b"same-origin",
    b"cross-origin-resource-policy": b"same-origin",
    b"permissions-policy": b"camera=(), microphone=(), geolocation=()",
}


class Guard:
    """Refuses a wrong Host (a page elsewhere that points its own name here), a wrong Origin, and too much at once."""

    def __init__(self, app: App, *, hosts: tuple[str, ...] = HOSTS) -> None:
        """Stand before ``app``; ``hosts`` are the names this machine answers to."""
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return  # nothing here speaks over a web socket
        heard = {name: value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._refusal(scope, heard)
        if refusal:
            await _say(send, *refusal)
            return

        async def answer(message: Message) -> None:
            if message["type"] == "http.response.start":
                named = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [*message["headers"], *((k, v) for k, v in HEADERS.items() if k not in named)]
            await send(message)

        await self.app(scope, receive, answer)

    def _refusal(self, scope: Scope, heard: dict[bytes, str]) -> tuple[int, str] | None:
        host = heard.get(b"host", "")
        if _name(host) not in self.hosts:
            return 400, f"This machine does not answer to that name. Open it as {' or '.join(self.hosts)}."
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


async def _say(send: Send, status: int, words: str) -> None:
    body = words.encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": [*headers, *HEADERS.items()]})
    await send({"type": "http.response.body", "body": body})
