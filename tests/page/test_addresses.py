"""Addresses and their codes: what a camera reads is the address."""

from __future__ import annotations

import ipaddress

from coach.cli.page import render_addresses
from coach.page.addresses import QUIET, Addresses, draw_code, find_own
from coach.page.door import new_token

ADDRESS = "http://192.0.2.17:8110/" + "A" * 22 + "/"


def modules_of(code: tuple[str, ...]) -> list[list[bool]]:
    """Dark modules, read back from the drawn halves."""
    rows: list[list[bool]] = []
    for line in code:
        rows.append([half in " ▄" for half in line])
        rows.append([half in " ▀" for half in line])
    return rows


def test_code_is_drawn_module_for_module():
    import segno

    expected = [
        [bool(dark) for dark in row]
        for row in segno.make(ADDRESS, error="l", micro=False).matrix_iter(border=QUIET)
    ]
    assert modules_of(draw_code(ADDRESS))[: len(expected)] == expected


def test_code_has_a_light_frame():
    rows = modules_of(draw_code(ADDRESS))
    assert not any(rows[0])
    assert not any(row[0] or row[-1] for row in rows)


def test_both_codes_fit_beside_each_other_in_eighty_columns():
    address = f"http://192.168.100.200:65535/{new_token()}/"
    assert 2 * len(draw_code(address)[0]) + 4 <= 80


def test_own_addresses_are_no_loopback():
    assert not [own for own in find_own() if ipaddress.ip_address(own).is_loopback]


def test_what_is_not_shared_is_told_without_a_code():
    addresses = Addresses(watch="http://127.0.0.1:1/w/", command="http://127.0.0.1:1/c/", is_shared=False)
    told = list(render_addresses(addresses, 80))
    assert told[0].endswith("http://127.0.0.1:1/w/")
    assert told[1].endswith("http://127.0.0.1:1/c/")
    assert not [line for line in told if "█" in line]


def test_narrow_terminal_gets_the_codes_one_below_the_other():
    addresses = Addresses(watch=ADDRESS, command=ADDRESS, is_shared=True)
    wide, narrow = (list(render_addresses(addresses, width)) for width in (80, 60))
    assert len(narrow) > len(wide)
    assert max(len(line) for line in narrow[4:]) <= 60
