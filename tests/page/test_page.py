"""The page as an edge, with its real child process on loopback: what is served, refused, and given back."""

from __future__ import annotations

import http.client
import json
import queue
import random
import signal
import socket
import sys
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from typing import Any

import pytest

from coach.errors import SetupError
from coach.page.page import Page, PageChoice
from coach.session.actions import Finish, Show
from coach.session.events import BookmarkMade, EdgeFailed, EdgeRecovered, Event
from tests.session.dialogue import eight_spoke

TAKES_AT_MOST_S = 120.0


def show(leg_n: int) -> Show:
    return Show(
        state="flying",
        leg_n=leg_n,
        spoke=1,
        leg="outbound",
        heading_mag_deg=240,
        course_mag_deg=240,
        timer_from_s=None,
        ends_at_s=None,
        coming="",
        note="",
    )


class Served:
    """A page that is being served, and a browser of ten lines."""

    def __init__(self) -> None:
        self.page = Page(eight_spoke(spokes=2), PageChoice(port=0))
        self.addresses = self.page.start()
        self.facts: queue.Queue[Event] = queue.Queue()
        self.page.open(post=self.facts.put, clock=lambda: 5.0)

    @property
    def host(self) -> str:
        return self.addresses.watch.split("/")[2]

    def path(self, right: str, asks: str = "") -> str:
        return f"/{getattr(self.addresses, right).split('/')[3]}/{asks}"

    def ask(
        self, method: str, path: str, body: bytes | None = None, **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        connection = http.client.HTTPConnection(self.host, timeout=TAKES_AT_MOST_S)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(method, path, body, named)
        answer = connection.getresponse()
        found = {name.lower(): value for name, value in answer.getheaders()}
        read = answer.status, found, answer.read()
        connection.close()
        return read

    def command(self, right: str = "command", **changed: Any) -> int:
        values = {"number": "1", "do": "bookmark", "what": "late", "age_s": 0.5} | changed
        body = json.dumps(values).encode()
        return self.ask("POST", self.path(right, "command"), body, content_type="application/json")[0]

    def watch(self, last_id: str = "") -> Changes:
        return Changes(self.host, self.path("watch", "events"), last_id)


class Changes:
    """A stream of changes."""

    def __init__(self, host: str, path: str, last_id: str) -> None:
        self._connection = http.client.HTTPConnection(host, timeout=TAKES_AT_MOST_S)
        self._connection.request("GET", path, headers={"last-event-id": last_id})
        self._stream = self._connection.getresponse()
        self.status = self._stream.status
        self.last_id = ""

    def wait_for(self, key: str) -> Any:
        """The next change of that key, or its value where all is sent anew; fails at the stream's end."""
        while line := self._stream.readline().decode():
            if line.startswith("id: "):
                self.last_id = line[4:].strip()
            if not line.startswith("data: "):
                continue
            change = json.loads(line[6:])
            if change["k"] == key:
                return change["v"]
            if change["k"] == "all" and key in change["v"]["values"]:
                return change["v"]["values"][key]
        pytest.fail(f"the stream of status {self.status} ended after {self.last_id} without {key}")

    def drop(self) -> None:
        self._connection.close()
        self._stream.close()


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    served = Served()
    yield served
    served.page.close()


def test_page_is_one_file_that_loads_nothing_else(served: Served):
    status, headers, body = served.ask("GET", served.path("watch"))
    text = body.decode()
    assert status == 200
    assert headers["content-type"] == "text/html; charset=utf-8"
    assert headers["content-security-policy"].startswith("default-src 'none'; script-src 'sha256-")
    assert "unsafe" not in headers["content-security-policy"]
    assert not [
        word
        for word in ("http://", "https://", "src=", "@import", "url(")
        if word in text.replace("http://www.w3.org/2000/svg", "")
    ]


def test_each_address_has_its_own_right(served: Served):
    assert b'data-right="watch"' in served.ask("GET", served.path("watch"))[2]
    assert b'data-right="command"' in served.ask("GET", served.path("command"))[2]


def test_what_the_session_shows_reaches_a_watcher(served: Served):
    changes = served.watch()
    assert changes.wait_for("plan")["title"] == "Eight spokes over a VOR"
    served.page.do(show(1))
    assert changes.wait_for("show")["leg_n"] == 1
    changes.drop()


def test_who_comes_back_misses_nothing(served: Served):
    changes = served.watch()
    changes.wait_for("all")
    served.page.do(show(2))
    assert changes.wait_for("show")["leg_n"] == 2
    changes.drop()
    for n in (3, 4, 5):
        served.page.do(show(n))
    again = served.watch(changes.last_id)
    assert [again.wait_for("show")["leg_n"] for _ in range(3)] == [3, 4, 5]
    again.drop()


def test_a_bookmark_reaches_the_flight_once(served: Served):
    assert [served.command(number="b1"), served.command(number="b1")] == [202, 202]
    assert served.facts.get(timeout=TAKES_AT_MOST_S) == BookmarkMade(at_s=5.0, onset_s=4.5, what="late")
    served.command(number="b2", what="good")
    assert served.facts.get(timeout=TAKES_AT_MOST_S) == BookmarkMade(at_s=5.0, onset_s=4.5, what="good")


def test_who_watches_does_not_command(served: Served):
    assert served.command("watch", number="b3") == 403
    assert served.facts.empty()


def test_what_is_no_command_is_told_in_a_line(served: Served):
    path = served.path("command", "command")
    status, _, why = served.ask("POST", path, b"{}", content_type="application/json")
    assert (status, why) == (400, b"expected number, do, what and age_s")


def test_strangers_are_refused(served: Served):
    page = served.path("watch")
    assert served.ask("GET", "/")[0] == 403
    assert served.ask("GET", page, host="drill.example")[0] == 421
    assert served.ask("GET", page, origin="http://drill.example")[0] == 403


def test_a_body_without_a_length_is_refused_as_soon_as_it_is_too_long(served: Served):
    with socket.create_connection(tuple(served.host.split(":")), timeout=TAKES_AT_MOST_S) as line:
        head = f"POST {served.path('command', 'command')} HTTP/1.1\r\nHost: {served.host}\r\n"
        line.sendall(f"{head}Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n".encode())
        line.sendall(b"2000\r\n" + b" " * 0x2000 + b"\r\n")
        assert line.recv(100).startswith(b"HTTP/1.1 413 ")


def garbage() -> Iterator[bytes]:
    """Bytes of all kinds, requests with some of them changed, heads without an end."""
    chance = random.Random("strangers")
    request = b"GET /aaaa/events HTTP/1.1\r\nHost: 127.0.0.1:8110\r\nContent-Length: 5\r\n\r\nhello"
    for _ in range(30):
        yield chance.randbytes(chance.randrange(1, 400))
        changed = bytearray(request)
        for _ in range(chance.randrange(1, 6)):
            changed[chance.randrange(len(changed))] = chance.randrange(256)
        yield bytes(changed)
        yield request[: chance.randrange(len(request))]
    yield b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 50_000
    yield b"GET /" + b"a" * 300_000


def test_garbage_ends_no_child(served: Served):
    child = served.page._child
    for sent in garbage():
        with suppress(OSError), socket.create_connection(tuple(served.host.split(":"))) as line:
            line.settimeout(TAKES_AT_MOST_S)
            line.sendall(sent)
    assert served.ask("GET", served.path("watch"))[0] == 200
    assert served.page._child is child
    assert child is not None
    assert child.find_failure() is None


def test_a_bug_in_what_is_shown_is_told_once_and_ends_no_flight():
    facts: queue.Queue[Event] = queue.Queue()
    page = Page(eight_spoke(spokes=1), PageChoice(port=0))
    page.open(post=facts.put, clock=lambda: 5.0)
    broken = replace(show(1), timer_from_s=float("nan"))
    page.do(broken)
    page.do(broken)
    failed = facts.get_nowait()
    assert isinstance(failed, EdgeFailed)
    # What the value error says differs between versions of Python.
    assert failed.reason.startswith("does not show all: ValueError('Out of range float values")
    assert facts.empty()
    page.do(show(1))
    assert page._board.ledger.find_value("show")["leg_n"] == 1


def test_the_end_reaches_a_watcher_though_the_page_is_closed_at_once():
    served = Served()
    changes = served.watch()
    changes.wait_for("all")
    served.page.do(Finish())
    served.page.close()
    assert changes.wait_for("over") is True
    changes.drop()


def test_port_in_use_is_told_in_one_line(served: Served):
    port = int(served.host.split(":")[1])
    with pytest.raises(SetupError) as refusal:
        Page(eight_spoke(spokes=1), PageChoice(port=port)).start()
    assert (
        str(refusal.value)
        == f"page: port {port}: expected another port with --page PORT, got Address already in use"
    )


def test_a_child_that_cannot_start_is_told():
    page = Page(eight_spoke(spokes=1), PageChoice(port=0), command=(sys.executable, "-c", "pass"))
    with pytest.raises(SetupError, match="crashed"):
        page.start()
    page.close()


def test_a_child_that_is_killed_is_told_and_comes_back_at_the_same_address(
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr("coach.page.page.AGAIN_AFTER_S", 0.0)
    served = Served()
    try:
        served.page.do(show(3))
        assert served.page._child is not None
        served.page._child._process.kill()
        failed = served.facts.get(timeout=TAKES_AT_MOST_S)
        assert failed == EdgeFailed(at_s=5.0, onset_s=5.0, edge="page", reason="crashed")
        recovered = served.facts.get(timeout=TAKES_AT_MOST_S)
        assert recovered == EdgeRecovered(at_s=5.0, onset_s=5.0, edge="page")
        changes = served.watch()
        assert changes.wait_for("show")["leg_n"] == 3
        changes.drop()
    finally:
        served.page.close()


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot be stopped there")
def test_a_child_that_hangs_is_told_and_replaced(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("coach.page.page.AGAIN_AFTER_S", 0.0)
    served = Served()
    try:
        assert served.page._child is not None
        served.page._child._process.send_signal(signal.SIGSTOP)
        for n in range(1, 9):
            served.page.do(show(n))
        failed = served.facts.get(timeout=TAKES_AT_MOST_S)
        assert failed == EdgeFailed(at_s=5.0, onset_s=5.0, edge="page", reason="hangs")
        assert isinstance(served.facts.get(timeout=TAKES_AT_MOST_S), EdgeRecovered)
        changes = served.watch()
        assert changes.wait_for("show")["leg_n"] == 8
        changes.drop()
    finally:
        served.page.close()


def test_flight_never_imports_the_web_server():
    import subprocess

    code = "import sys, coach.page.page; print(sorted({'starlette', 'uvicorn', 'segno'} & set(sys.modules)))"
    assert subprocess.run((sys.executable, "-c", code), capture_output=True, text=True).stdout == "[]\n"
