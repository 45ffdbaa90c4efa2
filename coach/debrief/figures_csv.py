"""The debrief as rows for a spreadsheet: one a figure, with its standard, its source and its seconds.

Never a cell that a spreadsheet would take for a formula.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator

from coach.debrief.model import Debrief, Held, LegFlown, Mark

COLUMNS = (
    "leg_n",
    "spoke",
    "leg",
    "how",
    "kind",
    "what",
    "value",
    "unit",
    "is_within",
    "within_share",
    "measured_s",
    "rms",
    "standard",
    "limit",
    "source",
    "start_utc",
    "end_utc",
    "reason",
)
"""`kind`: mark or held; of what was held `value` is the worst deviation."""


class _Lines(list[str]):
    """What `csv` writes into."""

    def write(self, text: str) -> None:
        """Keep one line."""
        self.append(text)


def encode_csv(debrief: Debrief) -> str:
    """Return the rows with their heads (RFC 4180)."""
    written = _Lines()
    writer = csv.DictWriter(written, COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    for flown in debrief.legs:
        for row in _rows(debrief, flown):
            writer.writerow({name: _plain(value) for name, value in row.items()})
    return "".join(written)


def _rows(debrief: Debrief, flown: LegFlown) -> Iterator[dict[str, object]]:
    leg = flown.leg
    begin: dict[str, object] = {"leg_n": leg.n, "spoke": leg.spoke, "leg": leg.leg, "how": flown.how}
    if not flown.marks and not flown.held:
        yield begin | {"reason": flown.told}
    for mark in flown.marks:
        yield begin | _shared(debrief, mark) | {"kind": "mark", **_of_mark(mark)}
    for held in flown.held:
        yield begin | _shared(debrief, held) | {"kind": "held", **_of_held(held)}


def _shared(debrief: Debrief, one: Mark | Held) -> dict[str, object]:
    standard = one.standard
    told = {} if standard is None else {"standard": standard.text, "limit": standard.limit}
    return {
        "what": one.what,
        **told,
        "source": None if standard is None else standard.source,
        "start_utc": debrief.render_utc(one.start_s),
        "end_utc": debrief.render_utc(one.end_s),
        "reason": one.reason,
    }


def _of_mark(mark: Mark) -> dict[str, object]:
    return {"value": round(mark.value, 2), "unit": mark.unit, "is_within": mark.is_within}


def _of_held(held: Held) -> dict[str, object]:
    return {
        "value": round(held.worst, 2),
        "unit": held.standard.unit,
        "within_share": round(held.within_share, 4),
        "measured_s": round(held.seconds, 1),
        "rms": round(held.rms, 3),
    }


def _plain(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return f"'{value}"
    return value
