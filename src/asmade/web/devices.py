"""Devices of the home network that may use the pages: paired once by a code, known after by a long random cookie.

What is kept on the disk are digests of the cookies, never the cookies themselves.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from threading import Lock
from typing import Final

from asmade.measure.errors import Refused, Unknown

LETTERS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Without I, O, 0 and 1, which look alike: 32 letters, so that eight of them are 2**40 codes."""
LENGTH: Final = 8
GOOD_FOR: Final = timedelta(minutes=10)
TRIES: Final = 5
COOKIE: Final = "asmade_device"
A_YEAR: Final = 366 * 24 * 3600
LONGEST_NAME: Final = 60
MOST: Final = 50


@dataclass(frozen=True, slots=True)
class Device:
    """One paired device: a number to name it by, what it calls itself, when it was paired and last seen."""

    number: str
    name: str
    paired: str
    seen: str
    digest: str


@dataclass(slots=True)
class Code:
    """A pairing code: good once, for ten minutes, for five tries."""

    text: str
    until: datetime
    wrong: int = 0


class Devices:
    """The paired devices of one machine, in one file that only its owner may read."""

    def __init__(self, file: Path, *, now: Callable[[], datetime] = lambda: datetime.now().astimezone()) -> None:
        """Read them; a file that cannot be read leaves nobody paired."""
        self._file = file
        self._now = now
        self._lock = Lock()
        self._code: Code | None = None
        self._held: dict[str, Device] = {}
        with suppress(OSError, ValueError, TypeError):
            self._held = {each["digest"]: Device(**each) for each in json.loads(file.read_text(encoding="utf-8"))}

    def new_code(self) -> Code:
        """A new code; the one before is dead."""
        with self._lock:
            text = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
            self._code = Code(text, self._now() + GOOD_FOR)
            return self._code

    @property
    def code(self) -> Code | None:
        """The code that is good now."""
        with self._lock:
            return self._good()

    def _good(self) -> Code | None:
        if self._code is not None and self._now() >= self._code.until:
            self._code = None
        return self._code

    def pair(self, typed: str, name: str) -> str:
        """Take a code and give the secret that the device shows from now on. Raises ``Refused``."""
        said = typed.upper().replace("-", "").replace(" ", "")
        with self._lock:
            code = self._good()
            if code is None:
                raise Refused("pairing code", got=typed[:20], reason="no code is good at this moment",
                              way_out="make one at the desk, on the page Phones")  # fmt: skip
            if not secrets.compare_digest(said.encode(), code.text.encode()):
                code.wrong += 1
                if code.wrong >= TRIES:
                    self._code = None
                    raise Refused("pairing code", got=typed[:20], reason=f"wrong {TRIES} times; the code is dead now",
                                  way_out="make a new one at the desk")  # fmt: skip
                raise Refused("pairing code", got=typed[:20], reason="it is not the one shown at the desk",
                              way_out=f"{TRIES - code.wrong} more tries")  # fmt: skip
            self._code = None
            secret, at = secrets.token_urlsafe(32), self._now().isoformat(timespec="seconds")
            found = Device(
                secrets.token_hex(4), " ".join(name.split())[:LONGEST_NAME] or "no name", at, at, _digest(secret)
            )
            self._held[found.digest] = found
            while len(self._held) > MOST:
                self._held.pop(min(self._held.values(), key=lambda one: one.seen).digest)
            self._keep()
            return secret

    def known(self, secret: str) -> Device | None:
        """The device that shows this secret; its day is noted."""
        if not secret:
            return None
        with self._lock:
            found = self._held.get(_digest(secret))
            if found is not None and found.seen[:10] != (today := self._now().isoformat(timespec="seconds"))[:10]:
                found = self._held[found.digest] = replace(found, seen=today)
                self._keep()
            return found

    def every(self) -> tuple[Device, ...]:
        """All paired devices, the last paired first."""
        with self._lock:
            return tuple(sorted(self._held.values(), key=lambda one: one.paired, reverse=True))

    def revoke(self, number: str) -> Device:
        """Let a device go: its next request is refused."""
        with self._lock:
            found = next((one for one in self._held.values() if one.number == number), None)
            if found is None:
                raise Unknown("device", got=number[:20], way_out="it is gone already")
            del self._held[found.digest]
            self._keep()
            return found

    def _keep(self) -> None:
        """Write them, whole or not at all."""
        self._file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, name = tempfile.mkstemp(dir=self._file.parent, prefix=".devices")  # made readable by its owner alone
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                json.dump([asdict(one) for one in self._held.values()], out, indent=1)
            Path(name).replace(self._file)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def usual_file() -> Path:
    """Where this machine's paired devices are kept: the folder for such things, or ``ASMADE_STATE`` if it is set."""
    said = os.environ.get("ASMADE_STATE")
    if said:
        return Path(said) / "devices.json"
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    else:
        base = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    return base / "asmade" / "devices.json"
