"""Who may come in: the right token, the page's own host and site, small bodies, nothing else."""

from __future__ import annotations

import pytest

from coach.page.door import (
    COMMAND,
    EVENTS,
    LARGEST_BODY,
    PAGE,
    TOKEN_BYTES,
    Admitted,
    Door,
    Refused,
    Right,
    hosts_of,
    judge,
    new_token,
)

DOOR = Door(watch_token="W" * 22, command_token="C" * 22, hosts=hosts_of(("127.0.0.1", "localhost"), 8110))
HOST = {"host": "127.0.0.1:8110"}
JSON = {**HOST, "content-type": "application/json", "content-length": "60"}


def status(method: str, path: str, headers: dict[str, str]) -> int:
    answer = judge(DOOR, method, path, headers)
    return answer.status if isinstance(answer, Refused) else 200


def command(**headers: str) -> int:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return status("POST", f"/{'C' * 22}/command", JSON | named)


def test_either_token_opens_the_page_and_its_changes():
    assert judge(DOOR, "GET", f"/{'W' * 22}/", HOST) == Admitted(right=Right.WATCH, asks=PAGE)
    assert judge(DOOR, "GET", f"/{'W' * 22}/events", HOST) == Admitted(right=Right.WATCH, asks=EVENTS)
    assert judge(DOOR, "GET", f"/{'C' * 22}/", HOST) == Admitted(right=Right.COMMAND, asks=PAGE)


def test_only_one_of_them_commands():
    assert judge(DOOR, "POST", f"/{'C' * 22}/command", JSON) == Admitted(right=Right.COMMAND, asks=COMMAND)
    assert status("POST", f"/{'W' * 22}/command", JSON) == 403


PATHS = {
    "no token": "/",
    "no path": "",
    "empty": "//",
    "half a token": f"/{'W' * 11}/",
    "a token and more": f"/{'W' * 23}/",
    "another case": f"/{'w' * 22}/",
    "a token in the query's place": f"/?token={'W' * 22}",
    "no letters": "/\udcff\udcfe/",
    "a way round": f"/../{'W' * 22}/",
    "too long": "/" + "W" * 100_000,
    "an icon": "/favicon.ico",
    "events without a token": "/events",
}


@pytest.mark.parametrize("path", PATHS.values(), ids=PATHS.keys())
def test_without_the_token_nothing_is_served(path: str):
    assert status("GET", path, HOST) == 403


@pytest.mark.parametrize(
    "host", ["", "drill.example:8110", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8110.drill.example"]
)
def test_a_strangers_name_for_this_machine_is_refused(host: str):
    assert status("GET", f"/{'W' * 22}/", {"host": host}) == 421


def test_no_host_at_all_is_refused():
    assert status("GET", f"/{'W' * 22}/", {}) == 421


@pytest.mark.parametrize(
    "origin", ["http://drill.example", "null", "https://127.0.0.1:8110", "http://127.0.0.1:8111"]
)
def test_a_command_from_another_site_is_refused(origin: str):
    assert command(origin=origin) == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_browser_that_says_where_the_command_comes_from_is_believed(site: str):
    assert command(sec_fetch_site=site) == 403


def test_changes_are_not_for_another_site():
    assert status("GET", f"/{'W' * 22}/events", {**HOST, "sec-fetch-site": "cross-site"}) == 403


def test_the_page_itself_may_be_opened_by_a_link():
    assert status("GET", f"/{'W' * 22}/", {**HOST, "sec-fetch-site": "cross-site"}) == 200


def test_the_pages_own_command_is_taken():
    assert command(origin="http://127.0.0.1:8110", sec_fetch_site="same-origin") == 200
    assert command(origin="http://localhost:8110") == 200


@pytest.mark.parametrize(
    ("length", "expected"),
    [
        (str(LARGEST_BODY), 200),
        (str(LARGEST_BODY + 1), 413),
        ("10000000", 413),
        ("9" * 40, 413),
        ("-1", 413),
        ("٣", 413),
    ],
)
def test_a_body_longer_than_any_command_is_refused_unread(length: str, expected: int):
    assert command(content_length=length) == expected


def test_a_page_asked_for_with_a_body_is_refused_where_it_is_large():
    assert status("GET", f"/{'W' * 22}/", {**HOST, "content-length": "10000000"}) == 413


@pytest.mark.parametrize("content_type", ["text/plain", "", "application/x-www-form-urlencoded"])
def test_what_a_form_of_another_site_can_send_is_no_command(content_type: str):
    assert command(content_type=content_type) == 415


@pytest.mark.parametrize(
    ("method", "asks", "expected"),
    [
        ("POST", "", 405),
        ("DELETE", "events", 405),
        ("GET", "command", 405),
        ("GET", "journal", 404),
        ("GET", "..", 404),
    ],
)
def test_other_ways_and_other_pages_are_refused(method: str, asks: str, expected: int):
    assert status(method, f"/{'C' * 22}/{asks}", JSON) == expected


def test_tokens_are_new_each_time_and_too_many_to_guess():
    tokens = {new_token() for _ in range(100)}
    assert len(tokens) == 100
    assert TOKEN_BYTES * 8 >= 128


def test_the_usual_port_is_left_out_of_a_host():
    assert hosts_of(("127.0.0.1",), 80) == {"127.0.0.1"}
