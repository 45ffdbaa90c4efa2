"""Who may come in: each request is judged by its head alone, before any of its body is read.

The address holds a token made for this flight; one token lets watch, another command too. Never compares
a token faster where more of it is right, and never answers why beyond one line.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum

TOKEN_BYTES = 16
"""128 bits: nobody guesses it in a flight."""

LARGEST_BODY = 4096
"""Bytes; a note of 500 characters takes at most 3,000 in JSON."""

LONGEST_PATH = 200

PAGE, EVENTS, COMMAND = "", "events", "command"
"""What follows the token in a path."""

METHODS = {PAGE: ("GET", "HEAD"), EVENTS: ("GET",), COMMAND: ("POST",)}


class Right(IntEnum):
    """What an address allows."""

    WATCH = 1
    COMMAND = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """The addresses and hosts of one flight."""

    watch_token: str
    command_token: str
    hosts: frozenset[str]
    """`host:port` as a browser sends it; any other is a name pointed here by a stranger (DNS rebinding)."""

    def right_of(self, token: str) -> Right | None:
        """What a token allows; None: nothing."""
        given = token.encode("utf-8", "surrogateescape")
        is_watch = hmac.compare_digest(given, self.watch_token.encode())
        is_command = hmac.compare_digest(given, self.command_token.encode())
        if is_command:
            return Right.COMMAND
        return Right.WATCH if is_watch else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Admitted:
    """A request that may be answered."""

    right: Right
    asks: str
    """`PAGE`, `EVENTS` or `COMMAND`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A request that may not."""

    status: int
    why: str


def new_token() -> str:
    """A token nobody has had."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hosts_of(addresses: Iterable[str], port: int) -> frozenset[str]:
    """What the Host header may say where the page is reached at these addresses."""
    shown = "" if port == 80 else f":{port}"
    return frozenset(f"{address}{shown}" for address in addresses)


def judge(door: Door, method: str, path: str, headers: Mapping[str, str]) -> Admitted | Refused:
    """Whether a request may come in; `headers` by their small names, `path` not decoded further."""
    if headers.get("host", "") not in door.hosts:
        return Refused(status=421, why="Not the address of this page.")
    token, _, asks = path[1:].partition("/")
    right = door.right_of(token) if len(path) <= LONGEST_PATH else None
    if right is None:
        return Refused(status=403, why="Not valid: use the address shown where the coach runs.")
    if not _is_own(door, asks, headers):
        return Refused(status=403, why="Not from another site.")
    if asks not in METHODS:
        return Refused(status=404, why="No such page.")
    if method not in METHODS[asks]:
        return Refused(status=405, why="Not this way.")
    if asks == COMMAND:
        return _judge_command(right, headers)
    return _judge_body(headers) or Admitted(right=right, asks=asks)


def _is_own(door: Door, asks: str, headers: Mapping[str, str]) -> bool:
    """A browser tells which site asks. The page itself may be opened by a link, as in a message."""
    origin, site = headers.get("origin"), headers.get("sec-fetch-site", "none")
    is_own_origin = origin is None or origin in {f"http://{host}" for host in door.hosts}
    return is_own_origin and (asks == PAGE or site in ("none", "same-origin"))


def _judge_command(right: Right, headers: Mapping[str, str]) -> Admitted | Refused:
    if right is not Right.COMMAND:
        return Refused(status=403, why="This address only watches.")
    if headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        return Refused(status=415, why="Expected JSON.")
    return _judge_body(headers) or Admitted(right=right, asks=COMMAND)


def _judge_body(headers: Mapping[str, str]) -> Refused | None:
    """A body that says how long it is may not be longer; one that does not is counted as it comes."""
    length = headers.get("content-length", "0")
    if not length.isascii() or not length.isdigit() or len(length) > 12 or int(length) > LARGEST_BODY:
        return Refused(status=413, why="Too large.")
    return None
