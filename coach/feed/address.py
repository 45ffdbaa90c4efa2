"""A feed's address as it is typed: `nmea+udp://`, `gdl90+udp://:4001`, `nmea+tcp://host:2000`, ….

Never opens anything. Without a host a UDP feed is taken from this machine only; `*` (or an address of this
machine) listens on the network.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, cast
from urllib.parse import SplitResult, parse_qsl, quote, unquote, urlsplit

from coach.errors import Problem, SettingsError
from coach.fixes.decoder import Form
from coach.fixes.sentences import LONGEST

Transport = Literal["udp", "tcp", "serial", "file"]

PORTS: dict[Form, int] = {"nmea": 10110, "gdl90": 4000}
"""10110 is registered for NMEA 0183 (IANA); 4000 is where GDL 90 is sent by common practice."""

BAUDS: dict[Form, int] = {"nmea": 4800, "gdl90": 38_400}
"""NMEA 0183's classic rate (N1); GDL 90's RS-422 rate (value from memory)."""

LOOPBACK, EVERYWHERE = "127.0.0.1", "*"

SCHEMES = tuple(f"{form}+{transport}" for form in PORTS for transport in ("udp", "tcp", "serial", "file"))

FORMS = "nmea+udp://[HOST][:PORT], …+tcp://HOST:PORT, …+serial:///dev/NAME or …+file:///PATH, nmea or gdl90"
"""What is expected, in one line."""

KEYS: dict[str, tuple[Transport, ...]] = {
    "speed": ("file",),
    "baud": ("serial",),
    "longest": ("udp", "tcp", "serial", "file"),
}
"""What may follow `?`, and where."""

FASTEST = 1000.0
MOST_BAUD = 4_000_000
LONGEST_ALLOWED = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedAddress:
    """Where a feed comes from, and in what form."""

    form: Form
    transport: Transport

    host: str = ""
    """UDP: the address to listen on, `*` for all of them. TCP: who to connect to."""

    port: int = 0
    path: str = ""
    """A serial device or a file."""

    speed: float = 1.0
    """A file's seconds in one second; 0: as fast as it can."""

    baud: int = 0
    longest: int = LONGEST
    """Characters allowed in an NMEA sentence, besides `$` and line end."""

    @property
    def hears_network(self) -> bool:
        """Whether other machines can send to it."""
        return (
            self.transport == "udp" and self.host != "localhost" and not self.host.startswith(("127.", "::1"))
        )

    def __str__(self) -> str:
        if self.transport in ("serial", "file"):
            return f"{self.form}+{self.transport}://{quote(self.path)}"
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{self.form}+{self.transport}://{host}:{self.port}"


def parse_feed_address(text: str, *, where: str = "--feed") -> FeedAddress:
    """Return the address of a text; `where` names it in an error.

    Raises `SettingsError` with one line for each problem.
    """
    parts = _split(text, where)
    form, transport = cast("tuple[Form, Transport]", parts.scheme.split("+"))
    problems: list[Problem] = []
    query = _query(parts, transport, where, problems)
    address = FeedAddress(
        form=form,
        transport=transport,
        host=_host(parts, transport, where, problems),
        port=_port(parts, form, where, problems),
        path=_path(parts, transport, where, problems),
        speed=_speed(query.get("speed", "1"), where, problems),
        baud=_whole("baud", query, BAUDS[form], (50, MOST_BAUD), where, problems),
        longest=_whole("longest", query, LONGEST, (LONGEST, LONGEST_ALLOWED), where, problems),
    )
    if problems:
        raise SettingsError(*problems)
    return address


def _split(text: str, where: str) -> SplitResult:
    try:
        parts = urlsplit(text.strip())
        is_known = parts.scheme in SCHEMES
    except ValueError:
        is_known = False
    if not is_known:
        raise SettingsError(Problem(where=where, expected=FORMS, got=_quote(text)))
    return parts


def _query(parts: SplitResult, transport: Transport, where: str, problems: list[Problem]) -> dict[str, str]:
    pairs = parse_qsl(parts.query, keep_blank_values=True)
    for key, _ in pairs:
        if transport not in KEYS.get(key, ()):
            allowed = ", ".join(name for name, transports in KEYS.items() if transport in transports)
            problems.append(Problem(where=f"{where}: ?{key}", expected=f"only {allowed}", got=_quote(key)))
    if parts.fragment:
        problems.append(Problem(where=where, expected="no #", got=_quote(f"#{parts.fragment}")))
    return {key: value for key, value in pairs if transport in KEYS.get(key, ())}


def _host(parts: SplitResult, transport: Transport, where: str, problems: list[Problem]) -> str:
    if transport in ("serial", "file"):
        return ""
    if parts.path not in ("", "/"):
        problems.append(Problem(where=f"{where}: path", expected="none", got=_quote(parts.path)))
    host = parts.hostname or (LOOPBACK if transport == "udp" else "")
    if not host:
        problems.append(Problem(where=f"{where}: host", expected="a name or an address", got="none"))
    return EVERYWHERE if host == "0.0.0.0" else host


def _port(parts: SplitResult, form: Form, where: str, problems: list[Problem]) -> int:
    try:
        port = parts.port
    except ValueError:
        port = 0
    if port == 0:
        got = _quote(parts.netloc.rpartition(":")[2])
        problems.append(Problem(where=f"{where}: port", expected="a number from 1 to 65535", got=got))
    return PORTS[form] if port is None else port


def _path(parts: SplitResult, transport: Transport, where: str, problems: list[Problem]) -> str:
    if transport in ("udp", "tcp"):
        return ""
    path = unquote(parts.netloc + parts.path)
    if not path:
        expected = "a device such as /dev/ttyUSB0 or COM3" if transport == "serial" else "the path of a file"
        problems.append(Problem(where=f"{where}: path", expected=expected, got="none"))
    return path


def _speed(text: str, where: str, problems: list[Problem]) -> float:
    if text == "max":
        return 0.0
    try:
        speed = float(text)
    except ValueError:
        speed = -1.0
    if not 0.0 < speed <= FASTEST:
        expected = f"a number above 0 up to {FASTEST:g}, or max"
        problems.append(Problem(where=f"{where}: ?speed", expected=expected, got=_quote(text)))
    return speed


def _whole(
    key: str,
    query: dict[str, str],
    default: int,
    bounds: tuple[int, int],
    where: str,
    problems: list[Problem],
) -> int:
    text = query.get(key)
    if text is None:
        return default
    low, high = bounds
    if text.isascii() and text.isdigit() and len(text) < 10 and low <= int(text) <= high:
        return int(text)
    expected = f"a whole number from {low} to {high}"
    problems.append(Problem(where=f"{where}: ?{key}", expected=expected, got=_quote(text)))
    return default


def _quote(text: str) -> str:
    return f"'{text[:80].encode('unicode_escape').decode('ascii')}'"
