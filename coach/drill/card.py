"""The card: a plan on one A5 sheet for the knee, or on one wide sheet for a tablet, as shapes.

Never draws and never alters a figure. What does not fit the front goes on the back.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from coach.drill.briefing import render_time
from coach.drill.card_rows import LEGEND, ROW_LEAST, ROW_MOST, Row, card_rows, draw_row
from coach.drill.card_view import draw_view, render_wind_line, rim_nm
from coach.drill.cautions import CAUTIONS
from coach.drill.model import Ending
from coach.drill.plan import Plan
from coach.drill.shapes import Box, Measure, Shape, Sheet, Stroke, Text, Tone, fitted, wrap
from coach.nav.navaid import Navaid, render_east
from coach.nav.station import Station

A5 = (419.53, 595.28)
"""148 x 210 mm (ISO 216)."""

WIDE = (768.0, 576.0)
"""Four to three, as many tablets are."""

MARGIN = 13.0
MINUTES_STEP = 5
BLANK = "_" * 8
"""To be written in."""

_TITLE_HIGH = 19.0
_VIEW_LEAST = 132.0
_VIEW_MOST = 225.0
_FOOT_SIZE = 6.5
_FOOT_STEP = 8.0
_BACK_SIZE = 9.5
"""The cautions where they have a side of their own."""
_GAP = 6.0
_FACT_SIZE = 8.0
_IDENT_SIZE = 12.0
_ROOMY = 235.0


def lay_out_card(
    plan: Plan,
    measure: Measure,
    *,
    station: Station | None = None,
    navaid: Navaid | None = None,
    warnings: tuple[str, ...] = (),
    is_wide: bool = False,
) -> tuple[Sheet, ...]:
    """Return the sides of the card, the front first.

    Without `station` its place, without `navaid` name, ident and frequency are left to be written in.
    `warnings` are the station's, printed behind the plan's own.
    """
    layout = _Layout(
        plan=plan,
        measure=measure,
        station=station,
        navaid=navaid,
        warnings=(*plan.warnings, *warnings),
        is_wide=is_wide,
    )
    return layout.sides()


def render_request(plan: Plan, name: str = BLANK) -> str:
    """The request to ATC: miles from the reach and a margin, minutes rounded up to five."""
    miles = math.ceil(rim_nm(plan))
    minutes = math.ceil(plan.total_s / 60.0 / MINUTES_STEP) * MINUTES_STEP
    return (
        f"To ATC: request traffic advisories, maneuvering within {miles} miles of {name} VOR "
        f"at {BLANK} feet for {minutes} minutes."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    plan: Plan
    measure: Measure
    station: Station | None
    navaid: Navaid | None
    warnings: tuple[str, ...]
    is_wide: bool

    def sides(self) -> tuple[Sheet, ...]:
        rows = card_rows(self.plan)
        legend = self._legend_high(self._rows_width())
        room = self._rows_room() - legend
        foot = self._foot_high()
        with_foot = room if self.is_wide else room - foot - _GAP
        if len(rows) * ROW_LEAST <= with_foot:
            return (self._front(rows, with_foot, foot),)
        count = min(len(rows), int(room // ROW_LEAST))
        return (self._front(rows[:count], room, 0.0), *self._backs(rows[count:]))

    def _size(self) -> tuple[float, float]:
        return WIDE if self.is_wide else A5

    def _content(self) -> Box:
        width, height = self._size()
        top = MARGIN + _TITLE_HIGH
        return Box(left=MARGIN, top=top, width=width - 2 * MARGIN, height=height - MARGIN - top)

    def _rows_width(self) -> float:
        return self._content().width * (0.58 if self.is_wide else 1.0)

    def _rows_room(self) -> float:
        """How high the rows and their legend may be on the front, the foot not counted on A5."""
        content = self._content()
        return content.height - (self._foot_high() if self.is_wide else _VIEW_LEAST) - _GAP

    def _front(self, rows: tuple[Row, ...], room: float, foot: float) -> Sheet:
        content = self._content()
        row_high = min(ROW_MOST, room / len(rows))
        if self.is_wide:
            left, view_side = content.right - self._rows_width(), content.width * 0.42 - 60.0
            top, facts_width = content.top, content.width * 0.42 - 14.0
        else:
            spare = room + _VIEW_LEAST - len(rows) * row_high
            view_side = min(_VIEW_MOST, spare)
            left, top = content.left, content.top + view_side + _GAP
            facts_width = content.width - view_side - 10.0
        view = Box(left=content.left, top=content.top, width=view_side, height=view_side)
        facts_at = (content.left, view.bottom + 14.0) if self.is_wide else (view.right + 10.0, content.top)
        shapes = [
            *self._title(content),
            *draw_view(self.plan, view, self.measure),
            *self._facts(Box(left=facts_at[0], top=facts_at[1], width=facts_width, height=0.0)),
            *self._rows(rows, Box(left=left, top=top, width=self._rows_width(), height=row_high)),
        ]
        if foot or self.is_wide:
            shapes += self._foot(content.bottom - self._foot_high())
        return self._sheet(shapes)

    def _backs(self, rows: tuple[Row, ...]) -> Iterator[Sheet]:
        """What is left over: more rows, then warnings and cautions."""
        content = self._content()
        while rows:
            room = content.height - self._legend_high(content.width) - self._foot_high() - _GAP
            count = int(room // ROW_LEAST)
            box = Box(left=content.left, top=content.top, width=content.width, height=ROW_LEAST)
            shapes = [*self._title(content), *self._rows(rows[:count], box)]
            rows = rows[count:]
            if not rows:
                shapes += self._foot(content.bottom - self._foot_high())
                yield self._sheet(shapes)
                return
            yield self._sheet(shapes)
        yield self._sheet([*self._title(content), *self._foot(content.top, _BACK_SIZE)])

    def _sheet(self, shapes: list[Shape]) -> Sheet:
        width, height = self._size()
        return Sheet(width=width, height=height, shapes=tuple(shapes), is_dark=self.is_wide)

    def _title(self, content: Box) -> Iterator[Shape]:
        base = MARGIN + 10.0
        note = "Angles magnetic. Not for navigation."
        room = content.width - self.measure(note, 7.0, False) - 10.0
        title = fitted(self.plan.drill.title, room, 12.0, self.measure)
        yield Text(at=(content.left, base), text=title, size=12.0, is_bold=True)
        yield Text(at=(content.right - self.measure(note, 7.0, False), base), text=note, size=7.0)

    def _facts(self, box: Box) -> Iterator[Shape]:
        """Yield wind, speed, times, station, what is to be written in, the request."""
        plan, y = self.plan, box.top + 10.0
        yield Text(at=(box.left, y), text=render_wind_line(plan), size=13.0, is_bold=True)
        y += 13.0
        for text, is_bold in self._plan_lines():
            yield Text(at=(box.left, y), text=text, size=_FACT_SIZE, is_bold=is_bold)
            y += 10.0
        if self.navaid is not None:
            y += 6.0
            yield from self._ident(self.navaid, box, y)
            y += 6.0 if self._is_roomy(box) else 13.0
        y += 3.0
        for line in self._place_lines(box):
            yield Text(at=(box.left, y + 3.0), text=line, size=_FACT_SIZE)
            y += 12.0
        for fields in self._fields():
            y += 3.0
            yield from self._write_in(fields, box, y)
            y += 9.5
        y += 4.0
        for line in wrap(self._request(), box.width, _FACT_SIZE, self.measure):
            yield Text(at=(box.left, y), text=line, size=_FACT_SIZE)
            y += 9.5

    def _plan_lines(self) -> Iterator[tuple[str, bool]]:
        """Yield speed and beginning, duration, reach; the most important first and bold."""
        plan, drill = self.plan, self.plan.drill
        mag_deg, total = drill.arrive_course_mag_deg, render_time(plan.total_s)
        reach = f"Reach {plan.reach_nm:.1f} NM"
        if drill.begins_on is Ending.PASSAGE:
            yield f"TAS {plan.tas_kt:g} kt, arrive on course {mag_deg:03d}", True
            is_to_station = drill.legs[-1].ends_on is Ending.PASSAGE
            yield f"{total} {'from first to last' if is_to_station else 'from first'} passage", False
        else:
            yield f"TAS {plan.tas_kt:g} kt, begin on heading {mag_deg:03d}", True
            if drill.start is not None:
                yield f"at {drill.start.distance_nm:g} NM on radial {drill.start.radial_mag_deg:03d}", True
            yield f"{total} from the pilot's word", False
        if drill.begins_on is not Ending.PASSAGE and drill.start is None:
            yield f"{reach} from where it begins", False
        else:
            yield f"{reach}, on radial {plan.reach_radial_mag_deg:03d}", False

    def _place_lines(self, box: Box) -> Iterator[str]:
        if self.station is not None:
            yield from wrap(render_place(self.station), box.width, _FACT_SIZE, self.measure)

    def _fields(self) -> Iterator[tuple[str, ...]]:
        """Yield the labels of what is to be written in, those that share a line together."""
        if self.navaid is None:
            yield ("VOR", "ident", "MHz")
        miles = math.ceil(rim_nm(self.plan))
        yield (f"Highest terrain in {miles} NM", "alt")
        yield ("Airspace, holds, NOTAM",)

    def _request(self) -> str:
        return render_request(self.plan, self.navaid.name if self.navaid else BLANK)

    def _is_roomy(self, box: Box) -> bool:
        """Whether the dots and dashes of the longest ident stand beside it."""
        return box.width >= _ROOMY

    def _ident(self, navaid: Navaid, box: Box, y: float) -> Iterator[Shape]:
        """Yield frequency and ident, the ident as dots and dashes too."""
        text = f"{navaid.frequency_khz / 1000:.2f}  {navaid.ident}"
        yield Text(at=(box.left, y), text=text, size=_IDENT_SIZE, is_bold=True)
        beside = box.left + self.measure(text, _IDENT_SIZE, True) + 8.0
        x, y = (beside, y - 4.0) if self._is_roomy(box) else (box.left, y + 8.5)
        for sign in navaid.morse:
            length = {".": 1.6, "-": 5.0}.get(sign)
            if length is not None:
                yield Stroke(points=((x, y), (x + length, y)), width=1.8)
            x += (length or 1.6) + 1.8

    def _write_in(self, fields: tuple[str, ...], box: Box, y: float) -> Iterator[Shape]:
        widths = [self.measure(label, _FACT_SIZE, False) for label in fields]
        blank = (box.width - sum(widths)) / len(fields) - 5.0
        x = box.left
        for label, width in zip(fields, widths, strict=True):
            yield Text(at=(x, y), text=label, size=_FACT_SIZE)
            line = ((x + width + 2.0, y + 1.0), (x + width + 2.0 + blank, y + 1.0))
            yield Stroke(points=line, width=0.5)
            x += width + blank + 5.0

    def _rows(self, rows: tuple[Row, ...], first: Box) -> Iterator[Shape]:
        y = first.top + 6.0
        for line in wrap(LEGEND, first.width, _FOOT_SIZE, self.measure):
            yield Text(at=(first.left, y), text=line, size=_FOOT_SIZE)
            y += _FOOT_STEP
        y = first.top + self._legend_high(first.width)
        for row in rows:
            box = Box(left=first.left, top=y, width=first.width, height=first.height)
            yield from draw_row(row, box, self.measure)
            y += first.height
        yield Stroke(points=((first.left, y), (first.right, y)), width=0.5, tone=Tone.MIDDLE)

    def _legend_high(self, width: float) -> float:
        return len(list(wrap(LEGEND, width, _FOOT_SIZE, self.measure))) * _FOOT_STEP + 3.0

    def _foot_lines(self, size: float = _FOOT_SIZE) -> list[str]:
        """Warnings of the plan, then every caution in full."""
        texts = [f"! {warning}" for warning in self.warnings]
        texts.append(" ".join(caution.text for caution in CAUTIONS))
        width = self._content().width
        return [line for text in texts for line in wrap(text, width, size, self.measure)]

    def _foot_high(self) -> float:
        return len(self._foot_lines()) * _FOOT_STEP + 2.0

    def _foot(self, top: float, size: float = _FOOT_SIZE) -> Iterator[Shape]:
        step = size * _FOOT_STEP / _FOOT_SIZE
        for k, line in enumerate(self._foot_lines(size)):
            yield Text(at=(MARGIN, top + size + k * step), text=line, size=size)


def render_place(station: Station) -> str:
    """Latitude, longitude and the station's declination, in degrees with their letters."""
    return (
        f"{_lettered(station.latitude_deg, 'NS')} {_lettered(station.longitude_deg, 'EW')}, "
        f"declination {render_east(station.declination_deg)}"
    )


def _lettered(angle_deg: float, letters: str) -> str:
    return f"{abs(angle_deg):.3f} {letters[angle_deg < 0]}"
