"""The page's process: changes come in by a pipe, commands go out by another, browsers come by the network.

Started by `coach.page.page`, ends when its pipe does. Whatever a stranger sends, the flight lives elsewhere.
"""

from __future__ import annotations

import asyncio
import json
import os
import socket
import sys
import threading
from contextlib import suppress
from dataclasses import asdict
from importlib.resources import files
from typing import IO, Any

from coach.page.commands import Command
from coach.page.door import Door, hosts_of
from coach.page.hub import Hub

LOWER_BY = 10
"""The flight's own work comes first."""

BACKLOG = 512
UNREAD_MOST_BYTES = 131_072
HEAD_MOST_BYTES = 16_384
BEAT_EVERY_S = 1.0
END_WITHIN_S = 4
"""The last changes reach every watcher within it, or it has gone."""


def main() -> None:
    """Serve until the pipe ends."""
    orders, answers = _take_pipes()
    choice = json.loads(orders.readline())
    try:
        listening = _listen(choice["bind"], choice["port"])
    except OSError as error:
        _write(answers, {"refused": error.strerror or str(error)})
        return
    asyncio.run(_serve(choice, listening, orders, answers))


def _take_pipes() -> tuple[IO[bytes], IO[bytes]]:
    """The pipes by themselves: what a library prints goes nowhere."""
    orders, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb", buffering=0)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for descriptor in (0, 1, 2):
        os.dup2(nowhere, descriptor)
    return orders, answers


def _listen(address: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    # Windows would let two programs take one port; elsewhere it only waives the wait after a restart.
    if sys.platform != "win32":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    # Each connection has it from here: a watcher that reads nothing holds no more of the machine's memory.
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, UNREAD_MOST_BYTES)
    listening.bind((address, port))
    listening.listen(BACKLOG)
    return listening


async def _serve(
    choice: dict[str, Any], listening: socket.socket, orders: IO[bytes], answers: IO[bytes]
) -> None:
    import uvicorn

    from coach.page.connections import Gate
    from coach.page.server import Server

    port = listening.getsockname()[1]
    hub, gate = Hub(choice["flight"], choice["pace"]), Gate()
    door = Door(
        watch_token=choice["watch_token"],
        command_token=choice["command_token"],
        hosts=hosts_of(choice["hosts"], port),
    )

    def give(command: Command) -> None:
        _write(answers, {"command": asdict(command)})

    page = (files("coach.page") / "page.html").read_text("utf-8")
    app = Server(door=door, hub=hub, gate=gate, page=page, give=give)
    config = uvicorn.Config(
        app,
        http=gate.protocol,  # type: ignore[arg-type]
        ws="none",
        loop="asyncio",
        lifespan="off",
        log_config=None,
        log_level="critical",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        backlog=BACKLOG,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=END_WITHIN_S,
        h11_max_incomplete_event_size=HEAD_MOST_BYTES,
    )
    server = uvicorn.Server(config)
    loop = asyncio.get_running_loop()
    threading.Thread(target=_read_changes, args=(orders, hub, loop, server), daemon=True).start()
    beating = asyncio.ensure_future(_beat(answers))
    _write(answers, {"ready": port})
    if hasattr(os, "nice"):
        os.nice(LOWER_BY)
    await server.serve(sockets=[listening])
    beating.cancel()


def _read_changes(orders: IO[bytes], hub: Hub, loop: asyncio.AbstractEventLoop, server: Any) -> None:
    with suppress(OSError, ValueError):
        for change in iter(orders.readline, b""):
            loop.call_soon_threadsafe(hub.take, change.rstrip(b"\n"))
    with suppress(RuntimeError):
        loop.call_soon_threadsafe(hub.end)
        loop.call_soon_threadsafe(setattr, server, "should_exit", True)


async def _beat(answers: IO[bytes]) -> None:
    """Tell that the event loop runs."""
    while True:
        await asyncio.sleep(BEAT_EVERY_S)
        _write(answers, {"beat": True})


def _write(answers: IO[bytes], answer: dict[str, Any]) -> None:
    with suppress(OSError):
        answers.write(json.dumps(answer).encode("ascii") + b"\n")


if __name__ == "__main__":
    main()
