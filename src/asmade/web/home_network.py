"""Our machine on the home network: the address others reach it by, the names it answers to, the devices it knows."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from typing import Final

from asmade.measure.errors import Refused
from asmade.web.devices import Devices

ANYWHERE: Final = ("192.0.2.1", 9)
"""An address for documentation (RFC 5737): nothing is sent there, the system only says which way it would go."""
OPENS: Final = (
    "It opens the whole book to every paired device of this network: to read, to enter, to withdraw.",
    "Over plain http anybody on the same network can read along, and take the device's key.",
    "So use it on a home network with a password of its own, not in a club, a guest house or at an exhibition.",
    "Nothing is opened to the internet unless the router is told to; do not tell it to.",
)


@dataclass(frozen=True, slots=True)
class HomeNetwork:
    """An address, the port, the names a device may ask for, and the paired devices."""

    address: str
    port: int
    devices: Devices
    secure: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """Names this machine answers to on the network: its address, and its own name with ``.local``."""
        own = socket.gethostname().split(".")[0].lower()
        return (self.address, f"{own}.local") if own else (self.address,)

    @property
    def url(self) -> str:
        """Where a device opens it."""
        return f"{'https' if self.secure else 'http'}://{self.address}:{self.port}"


def home_address() -> str:
    """The address of this machine on its network. Raises ``Refused`` where it is on none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(ANYWHERE)
            found = str(probe.getsockname()[0])
        except OSError:
            found = ""
    if not found or found.startswith(("127.", "0.")):
        raise Refused("--lan", got="this machine", reason="it is on no network",
                      way_out="join the home network first, or leave --lan out")  # fmt: skip
    return found
