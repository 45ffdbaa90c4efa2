"""Where the page is reached, and the same as a QR code for a phone's camera."""

from __future__ import annotations

import ipaddress
import socket
from contextlib import suppress
from dataclasses import dataclass

PORT = 8110
"""Where the page is served unless another is asked for; our own choice."""

LOOPBACK = "127.0.0.1"
LOOPBACK_NAMES = (LOOPBACK, "localhost")
EVERYWHERE = "0.0.0.0"

NOT_ROUTED = "192.0.2.1"
"""Reserved for documentation (RFC 5737): asked only which way a packet would go, none is sent."""

QUIET = 2
"""Empty modules around a code; the standard asks for four, the dark of a terminal helps out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Addresses:
    """The two addresses of one flight's page."""

    watch: str
    command: str
    is_shared: bool
    """True where others on the network reach it."""


def find_own() -> tuple[str, ...]:
    """The IPv4 addresses that others on the network reach this machine at, the likeliest first."""
    found: list[str] = []
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        asking.connect((NOT_ROUTED, 9))
        found.append(asking.getsockname()[0])
    with suppress(OSError):
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(address for address in dict.fromkeys(found) if not ipaddress.ip_address(address).is_loopback)


def draw_code(address: str) -> tuple[str, ...]:
    """The QR code of an address, two rows of its modules in each line of text."""
    import segno

    matrix = [list(row) for row in segno.make(address, error="l", micro=False).matrix_iter(border=QUIET)]
    rows = [*matrix, [0] * len(matrix[0])] if len(matrix) % 2 else matrix
    return tuple(
        "".join(_HALVES[bool(upper), bool(lower)] for upper, lower in zip(*pair, strict=True))
        for pair in zip(rows[::2], rows[1::2], strict=True)
    )


# Light modules are drawn, dark ones left: on the usual dark terminal the code is dark on light.
_HALVES = {(False, False): "█", (False, True): "▀", (True, False): "▄", (True, True): " "}
