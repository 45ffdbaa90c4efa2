"""The page's web server: judges each request at the door, then serves the page, its changes, its commands.

Runs in the child process only. Never reads a body that the door has not let in, and nothing from disk.
"""

from __future__ import annotations

import asyncio
import base64
import hashlib
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from coach.page.commands import Command, Seen, parse_command
from coach.page.connections import Gate
from coach.page.door import COMMAND, EVENTS, LARGEST_BODY, Admitted, Door, Refused, Right, judge
from coach.page.hub import MOST_WATCHERS, Hub

if TYPE_CHECKING:
    from starlette.types import Receive, Scope, Send

COMMANDS_A_SECOND = 10.0
COMMANDS_AT_ONCE = 20.0
"""More come only from a machine; the flight's queue is not to be filled by it."""

BODY_WITHIN_S = 5.0

RETRY_MS = 1000
"""How soon a browser tries again whose connection is gone."""

PLAIN = {
    "cache-control": "no-store",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "x-frame-options": "DENY",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}
CLOSING = {**PLAIN, "connection": "close"}


def policy_of(page: str) -> str:
    """The content security policy: the page's own script and style by their digests, nothing else."""
    scripts = " ".join(_digest(text) for text in re.findall(r"<script>(.*?)</script>", page, re.DOTALL))
    styles = " ".join(_digest(text) for text in re.findall(r"<style>(.*?)</style>", page, re.DOTALL))
    return (
        f"default-src 'none'; script-src {scripts}; style-src {styles}; connect-src 'self'; img-src data:; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


class Server:
    """The application that uvicorn runs."""

    def __init__(
        self, *, door: Door, hub: Hub, gate: Gate, page: str, give: Callable[[Command], None]
    ) -> None:
        """`give` hands a command on to the flight; it must not wait."""
        self._door = door
        self._hub = hub
        self._gate = gate
        self._pages = {right: page.replace("{{RIGHT}}", right.name.lower()) for right in Right}
        self._policies = {right: policy_of(text) for right, text in self._pages.items()}
        self._give = give
        self._seen = Seen()
        self._left = COMMANDS_AT_ONCE
        self._left_at_s = 0.0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        request = Request(scope, receive)
        answer: Any = judge(self._door, request.method, scope["path"], dict(request.headers))
        if isinstance(answer, Admitted):
            self._gate.admit(scope["client"])
            answer = await self._answer(answer, request)
        if isinstance(answer, Refused):
            answer = PlainTextResponse(answer.why, answer.status, headers=CLOSING)
        if isinstance(answer, Response):
            await answer(scope, receive, send)
        else:
            await self._stream(request, receive, send)

    async def _answer(self, admitted: Admitted, request: Request) -> Response | Refused | None:
        """A whole answer; None: the changes are to be streamed."""
        if admitted.asks == COMMAND:
            return await self._take_command(request)
        if admitted.asks != EVENTS:
            headers = {**PLAIN, "content-security-policy": self._policies[admitted.right]}
            return Response(self._pages[admitted.right], media_type="text/html", headers=headers)
        is_full = self._hub.watchers >= MOST_WATCHERS
        return Refused(status=503, why="Too many watch already.") if is_full else None

    async def _take_command(self, request: Request) -> Response | Refused:
        if not self._has_room():
            return Refused(status=429, why="Too many commands.")
        try:
            body = await asyncio.wait_for(_read_body(request), BODY_WITHIN_S)
            command = parse_command(body)
        except ValueError as error:
            return Refused(status=413 if str(error) == TOO_LARGE else 400, why=str(error))
        except TimeoutError:
            return Refused(status=408, why="Too slow.")
        if self._seen.is_new(command):
            self._give(command)
        return PlainTextResponse("taken", 202, headers=PLAIN)

    def _has_room(self) -> bool:
        """So many commands a second, a few more at once."""
        now_s = asyncio.get_running_loop().time()
        more = (now_s - self._left_at_s) * COMMANDS_A_SECOND
        self._left = min(COMMANDS_AT_ONCE, self._left + more)
        self._left_at_s = now_s
        if self._left < 1.0:
            return False
        self._left -= 1.0
        return True

    async def _stream(self, request: Request, receive: Receive, send: Send) -> None:
        headers = {**CLOSING, "content-type": "text/event-stream; charset=utf-8"}
        encoded = [(name.encode(), value.encode()) for name, value in headers.items()]
        await send({"type": "http.response.start", "status": 200, "headers": encoded})

        async def push(piece: bytes) -> None:
            await send({"type": "http.response.body", "body": piece, "more_body": True})

        await push(b"retry: %d\n\n" % RETRY_MS)
        last_id = request.headers.get("last-event-id", "")
        serving = asyncio.ensure_future(self._hub.serve(last_id, push))
        leaving = asyncio.ensure_future(_wait_gone(receive))
        await asyncio.wait((serving, leaving), return_when=asyncio.FIRST_COMPLETED)
        for task in (serving, leaving):
            task.cancel()
        served, _ = await asyncio.gather(serving, leaving, return_exceptions=True)
        if served is True:
            await send({"type": "http.response.body", "body": b"", "more_body": False})
            return
        # What the watcher has not taken by now it never will: nothing more is waited for.
        self._gate.end(request.scope["client"])


TOO_LARGE = "Too large."


async def _read_body(request: Request) -> bytes:
    """The body; ValueError as soon as it is longer than any command."""
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > LARGEST_BODY:
            raise ValueError(TOO_LARGE)
    return body


async def _wait_gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
