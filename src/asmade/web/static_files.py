"""Scripts and styles: under a name that changes with what is in them, so that a phone may keep them for good."""

from __future__ import annotations

import hashlib
import re
from functools import cache
from importlib.resources import files
from typing import Final

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

KEPT: Final = "public, max-age=31536000, immutable"
ASKED: Final = "no-cache"
_VERSIONED: Final = re.compile(r"v-[0-9a-f]{12}[/\\]")


@cache
def digest() -> str:
    """Short digest of every file served: a page made with other ones is of another release."""
    total = hashlib.sha256()
    for each in sorted(files("asmade.web").joinpath("static").iterdir(), key=lambda one: one.name):
        if each.is_file():
            total.update(each.name.encode() + b"\0" + each.read_bytes() + b"\0")
    return total.hexdigest()[:12]


def root() -> str:
    """Where this release's files are: ``/static/v-...``."""
    return f"/static/v-{digest()}"


class Versioned(StaticFiles):
    """The files under their plain name (asked about each time) and under the release's name (kept for a year)."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One file; a release's name other than this one's is not answered with this one's files."""
        plain = _VERSIONED.sub("", path, count=1) if path.startswith(f"v-{digest()}") else path
        answer = await super().get_response(plain, scope)
        answer.headers["cache-control"] = KEPT if plain != path else ASKED
        return answer


def script() -> StaticFiles:
    """The mount."""
    return Versioned(directory=str(files("asmade.web").joinpath("static")))
