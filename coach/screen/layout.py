"""Lays the flight out as lines of a given size: large where there is room, plain where there is not.

The same glance at the same time in the same size gives the same lines. Never writes to a terminal.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from rich.text import Text

from coach.nav.vor import Flag
from coach.screen.glance import Glance, find_line, find_next_line_s
from coach.screen.glyphs import BLOCK, ROWS, draw_large, large_width
from coach.session.actions import Show
from coach.session.phrases import PhraseTable

FLASH_S = 3.0
"""How long a new line of the coach stands out: an intercom may have swallowed its sound."""

SCALES = ((6, 3), (5, 3), (4, 2), (3, 2), (2, 2), (2, 1), (1, 1))
"""Cells wide and high for each part of a large digit, the largest first."""

LABEL_WIDTH = 8
LARGE_GAP = 4
"""Cells between the heading and the timer, at least."""

MOST_FAULT_ROWS = 2
MOST_WRAPPED_ROWS = 2
ROWS_BESIDE_DIGITS = 10
"""Title, captions, course; two rows of the coach, coming, heard; one row for a fault, two for keys."""

LABEL, STRONG, FAULT, FLASH = "dim", "bold", "bold yellow", "bold reverse"
STANDS_OUT = FLASH
"""What is not as usual stands out without colour too: suspended, standing by, transmitting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """What there is to draw on."""

    width: int
    """Columns."""

    height: int
    """Rows."""

    is_ascii: bool = False
    """True where the terminal has no block characters."""

    dots: int | None = None
    """Dots on each side of the needle's scale; None: there is no feed, no needle is drawn."""


def lay_out(
    glance: Glance, keys: tuple[tuple[str, str], ...], now_s: float, paper: Paper
) -> tuple[Text, ...]:
    """The lines of the whole screen, at most `paper.height` of them; `keys` as from `keys_now`."""
    scale = _find_scale(paper)
    top = (_title(glance, paper), *_figures(glance.show, now_s, scale, paper), *_needle(glance, paper))
    below = (*_words(glance, now_s, paper), *_faults(glance, paper))
    rows_left = paper.height - len(top) - len(below)
    key_rows = _key_rows(keys, paper.width)[: max(0, rows_left)]
    blanks = rows_left - len(key_rows)
    # The digits never move when a fault comes or the keys change: only the space below them shrinks.
    space = [Text()] if scale and paper.height > ROWS_BESIDE_DIGITS + ROWS * scale[1] else []
    lines = [*top, *space[:blanks], *below, *space[: blanks - 1], *key_rows]
    return tuple(_fit(line, paper) for line in lines[: paper.height])


def keys_now(
    glance: Glance, table: PhraseTable, always: Iterable[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """Each key and what it stands for: those that always work, then those of the phrases understood now."""
    return (
        *always,
        *((phrase.key, phrase.canonical) for phrase in table.phrases if phrase.key and not phrase.ways),
        *(
            (phrase.key, phrase.canonical)
            for phrase in table.phrases
            if phrase.key and phrase.canonical in glance.listening
        ),
    )


def next_change_s(glance: Glance, now_s: float) -> float | None:
    """When the same glance looks different: the timer's next second, a line due, the end of a flash."""
    show, line = glance.show, find_line(glance, now_s)
    times = [find_next_line_s(glance, now_s)]
    if line is not None and now_s < line.from_s + FLASH_S:
        times.append(line.from_s + FLASH_S)
    if show is not None and show.timer_from_s is not None:
        times.append(_next_second_s(show.timer_from_s, now_s))
    return min((at_s for at_s in times if at_s is not None), default=None)


def timer_text(elapsed_s: float) -> str:
    """Minutes and seconds as a panel clock shows them, `0:47`; never past 99:59."""
    whole_s = min(max(0, math.floor(elapsed_s)), 99 * 60 + 59)
    return f"{whole_s // 60}:{whole_s % 60:02}"


def title_text(show: Show | None) -> str:
    """Spoke and leg, `Spoke 3, offset`."""
    if show is None:
        return "Ready"
    spoke = "" if show.spoke is None else f"Spoke {show.spoke}"
    leg = (show.leg or "") if spoke else (show.leg or "").capitalize()
    return ", ".join(part for part in (spoke, leg) if part) or show.state.capitalize()


def _fit(line: Text, paper: Paper) -> Text:
    line.truncate(paper.width, overflow="crop" if paper.is_ascii else "ellipsis")
    return line


def _find_scale(paper: Paper) -> tuple[int, int] | None:
    for wide, high in SCALES:
        width = large_width("000", wide=wide) + _gap(wide) + large_width("00:00", wide=wide)
        beside = ROWS_BESIDE_DIGITS + (paper.dots is not None)
        if width + 2 <= paper.width and beside + ROWS * high <= paper.height:
            return wide, high
    return None


def _gap(wide: int) -> int:
    return max(LARGE_GAP, 3 * wide)


def _title(glance: Glance, paper: Paper) -> Text:
    left = Text(f" {title_text(glance.show)}", STRONG)
    right = _state_text(glance)
    room = paper.width - len(left) - len(right) - 1
    return left.append(" " * max(1, room)).append(right, STANDS_OUT)


def _state_text(glance: Glance) -> str:
    if glance.is_transmitting:
        return "TRANSMITTING"
    return "" if glance.show is None or glance.show.state == "flying" else glance.show.state.upper()


def _figures(
    show: Show | None, now_s: float, scale: tuple[int, int] | None, paper: Paper
) -> tuple[Text, ...]:
    heading = _three_digits(show.heading_mag_deg if show else None)
    course = f"course {_three_digits(show.course_mag_deg if show else None)}"
    timer = _timer(show, now_s)
    ends = _ends(show, now_s)
    if scale is None:
        return _small_figures(heading, course, timer, ends, paper)
    wide, high = scale
    block = "#" if paper.is_ascii else BLOCK
    column = large_width("000", wide=wide) + _gap(wide)
    left = draw_large(heading, wide=wide, high=high, block=block)
    right = draw_large(f"{timer:>5}", wide=wide, high=high, block=block)
    return (
        Text(f" {'heading':<{column}}timer", LABEL),
        *(Text(f" {a:<{column}}{b}", STRONG) for a, b in zip(left, right, strict=True)),
        Text(f" {course:<{column}}{ends}", STRONG),
    )


def _small_figures(heading: str, course: str, timer: str, ends: str, paper: Paper) -> tuple[Text, ...]:
    """As text; where it is narrow, what is left of the leg without when it ends."""
    row = f" {course}  {ends}"
    return (
        Text(f" {heading}  {timer}", STRONG),
        Text(row if len(row) <= paper.width else f" {course}  {ends.rpartition(', ')[2]}"),
    )


def _needle(glance: Glance, paper: Paper) -> tuple[Text, ...]:
    """The needle on its dots, flag and place; an empty row where the feed gives none."""
    position, dots = glance.position, paper.dots
    if dots is None:
        return ()
    if position is None:
        return (_labelled("Needle", "no position", paper.width)[0],)
    place = f"radial {position.radial_mag_deg:03}, {position.distance_nm:.1f} NM"
    if position.needle_share is None or position.flag is None:
        return (_labelled("Needle", place, paper.width)[0],)
    flag = "off" if position.flag is Flag.NEITHER else position.flag.value
    drawn = _scale_text(position.needle_share, dots, "#" if paper.is_ascii else BLOCK)
    row = f"{drawn} {flag.upper():<4}"
    room = max(8, paper.width - LABEL_WIDTH - 1)
    full = f"{row}  {place}"
    return (
        Text.assemble((f" {'Needle':<{LABEL_WIDTH}}", LABEL), (full if len(full) <= room else row, STRONG)),
    )


def _scale_text(share: float, dots: int, block: str) -> str:
    """Dots as `o`, the middle as `|`, a cell between each; the needle in the cell that is nearest."""
    cells = list(" ".join([*"o" * dots, "|", *"o" * dots]))
    middle = 2 * dots
    cells[middle + round(share * middle)] = block
    return "".join(cells)


def _three_digits(direction_deg: int | None) -> str:
    return "---" if direction_deg is None else f"{direction_deg:03}"


def _timer(show: Show | None, now_s: float) -> str:
    if show is None or show.timer_from_s is None:
        return "--:--"
    return timer_text(now_s - show.timer_from_s)


def _ends(show: Show | None, now_s: float) -> str:
    """When the leg time is up, and how long that is still."""
    if show is None or show.ends_at_s is None:
        return ""
    left_s = show.ends_at_s - now_s
    left = f"{timer_text(math.ceil(left_s))} to go" if left_s > 0 else f"{timer_text(-left_s)} over"
    if show.timer_from_s is None:
        return left
    return f"to {timer_text(round(show.ends_at_s - show.timer_from_s))}, {left}"


def _words(glance: Glance, now_s: float, paper: Paper) -> tuple[Text, ...]:
    line = find_line(glance, now_s)
    is_new = line is not None and line.is_said and now_s < line.from_s + FLASH_S
    return (
        *_labelled("Coach", line.text if line else "", paper.width, FLASH if is_new else STRONG),
        *_labelled("Coming", glance.show.coming if glance.show else "", paper.width),
        *_labelled("Heard", glance.heard, paper.width),
    )


def _faults(glance: Glance, paper: Paper) -> tuple[Text, ...]:
    """The newest faults, each wrapped if there is room and cut to one row if there is not."""
    told = [("Note", text) for text in glance.told]
    texts = (*told, *(("Fault", reason) for _, reason in glance.faults))[-MOST_FAULT_ROWS:]
    most = MOST_FAULT_ROWS // max(1, len(texts))
    return tuple(
        row for label, text in texts for row in _labelled(label, text, paper.width, FAULT, most=most)
    )


def _labelled(
    label: str, text: str, width: int, style: str = "", *, most: int = MOST_WRAPPED_ROWS
) -> tuple[Text, ...]:
    """A label and its text, wrapped under itself."""
    room = max(8, width - LABEL_WIDTH - 1)
    rows = textwrap.wrap(text, room, max_lines=most, placeholder=" ...") or [""]
    labels = [label, *[""] * (len(rows) - 1)]
    return tuple(
        Text.assemble((f" {name:<{LABEL_WIDTH}}", LABEL), (row, style))
        for name, row in zip(labels, rows, strict=True)
    )


def _key_rows(keys: tuple[tuple[str, str], ...], width: int) -> list[Text]:
    """As many keys to a row as fit, none torn apart."""
    rows = [Text(" ")]
    for key, means in keys:
        item = Text.assemble((key, STRONG), (f" {means}  ", LABEL))
        if len(rows[-1]) > 1 and len(rows[-1]) + len(item) - 2 > width:
            rows.append(Text(" "))
        rows[-1].append_text(item)
    for row in rows:
        row.rstrip()
    return rows if keys else []


def _next_second_s(from_s: float, now_s: float) -> float:
    return from_s + math.floor(now_s - from_s) + 1
