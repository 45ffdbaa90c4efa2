"""What the coach asks, what is right, and what an answer was worth. Never when, and never how it sounds.

No question and no correction holds a phrase that the coach would accept, and none has the form of an order
to turn: what is coming is said with "coming" before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from coach.drill.model import Ending, Leg, Turn
from coach.drill.plan import Plan
from coach.nav.angles import as_heading, difference_deg
from coach.session import prompts
from coach.session.answers import Answer, Direction, Kind, heading
from coach.session.mastery import HALF, RIGHT, WRONG, Element
from coach.session.progress import Progress, State, ends_at_s, find_following, leg_of
from coach.session.spoken import count_words, heading_words

NEAR_DEG = 5
"""A heading so near is nearly right: half of what a heading is held to in a test (10 degrees; memory)."""

SECONDS_RIGHT_S = 5
SECONDS_NEAR_S = 10
"""Seconds to go, as far from the clock as this are right, nearly right; our own choice."""


class Question(StrEnum):
    """What can be asked."""

    TURN = "coming turn"
    STATION_TURN = "turn at the station"
    SPOKE = "spoke"
    RADIAL = "radial"
    COURSE = "course set"
    SECONDS = "seconds to go"


TEXTS = {
    Question.TURN: "Coming turn?",
    Question.STATION_TURN: "Station turn?",
    Question.SPOKE: "Which spoke?",
    Question.RADIAL: "On which radial?",
    Question.COURSE: "Course set?",
    Question.SECONDS: "Seconds to go?",
}
"""How each is asked."""

ABOUT = {
    Question.TURN: Element.NEXT,
    Question.STATION_TURN: Element.NEXT,
    Question.SPOKE: Element.NEXT,
    Question.RADIAL: Element.COURSE,
    Question.COURSE: Element.COURSE,
    Question.SECONDS: Element.TIMER,
}
"""The element that each is about; a turn tells of its side and its heading too."""


class Verdict(StrEnum):
    """What became of an answer."""

    RIGHT = "right"
    NEARLY = "nearly"
    WRONG = "wrong"


class Fault(StrEnum):
    """What is wrong with an answer that is nearly right, as it is said."""

    NEAR = "Near"
    OTHER_SIDE = "Other side"
    RECIPROCAL = "Reciprocal"
    NO_SIDE = "Which side"


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """An answer beside the expected one."""

    verdict: Verdict
    fault: Fault | None = None
    """What is wrong with one that is nearly right; None with the others."""


def judge(question: Question, expected: Answer, heard: Answer) -> Judgement:
    """Right, nearly right with the one fault it has, or wrong."""
    if heard.kind is not expected.kind:
        return Judgement(verdict=Verdict.WRONG)
    faults = tuple(_faults(question, expected, heard))
    if not faults:
        return Judgement(verdict=Verdict.RIGHT)
    if len(faults) > 1 or faults[0] is None:
        return Judgement(verdict=Verdict.WRONG)
    return Judgement(verdict=Verdict.NEARLY, fault=faults[0])


def _faults(question: Question, expected: Answer, heard: Answer) -> Iterator[Fault | None]:
    """Everything wrong with it; None stands for what has no name."""
    if expected.direction is not None and heard.direction is not expected.direction:
        yield Fault.NO_SIDE if heard.direction is None else Fault.OTHER_SIDE
    if expected.kind is Kind.NUMBER:
        yield from _number_faults(question, expected, heard)
        return
    off_deg = abs(round(difference_deg(heard.value, expected.value)))
    if off_deg == 0:
        return
    yield Fault.NEAR if off_deg <= NEAR_DEG else Fault.RECIPROCAL if off_deg == 180 else None


def _number_faults(question: Question, expected: Answer, heard: Answer) -> Iterator[Fault | None]:
    off = abs(heard.value - expected.value)
    is_seconds = question is Question.SECONDS
    if off > (SECONDS_RIGHT_S if is_seconds else 0):
        yield Fault.NEAR if is_seconds and off <= SECONDS_NEAR_S else None


def evidence(question: Question, expected: Answer, heard: Answer | None) -> tuple[tuple[Element, float], ...]:
    """What an answer tells about each element, 0 wrong to 1 right; no answer is wrong in all of it."""
    judgement = None if heard is None else judge(question, expected, heard)
    about = ((ABOUT[question], _worth(judgement)),)
    if question not in (Question.TURN, Question.STATION_TURN):
        return about
    side, value = _turn_worth(expected, heard)
    # A side that was not heard tells nothing: one word is easily lost.
    is_sided = expected.direction is not None and (heard is None or heard.direction is not None)
    with_side = ((Element.SIDE, side),) if is_sided else ()
    return (*with_side, (Element.HEADING, value), *about)


def _worth(judgement: Judgement | None) -> float:
    if judgement is None or judgement.verdict is Verdict.WRONG:
        return WRONG
    return RIGHT if judgement.verdict is Verdict.RIGHT else HALF


def _turn_worth(expected: Answer, heard: Answer | None) -> tuple[float, float]:
    if heard is None or heard.kind is not Kind.HEADING:
        return WRONG, WRONG
    off_deg = abs(round(difference_deg(heard.value, expected.value)))
    value = RIGHT if off_deg == 0 else HALF if off_deg <= NEAR_DEG else WRONG
    return RIGHT if heard.direction is expected.direction else WRONG, value


def find_expected(question: Question, plan: Plan, progress: Progress, at_s: float) -> Answer | None:
    """The right answer now; None where it cannot be asked on this leg."""
    if progress.state is not State.FLYING:
        return None
    leg, following = leg_of(plan, progress), find_following(plan, progress)
    end_s = ends_at_s(plan, progress)
    is_inbound = leg.ends_on is Ending.PASSAGE and leg.tracks
    match question:
        case Question.TURN:
            return turn_answer(following) if following is not None and end_s is not None else None
        case Question.STATION_TURN:
            return turn_answer(following) if following is not None and is_inbound else None
        case Question.SPOKE if leg.spoke is not None and leg.spoke < 10 and plan.drill.spokes > 1:
            return Answer(kind=Kind.NUMBER, digits=str(leg.spoke))
        case Question.RADIAL if is_inbound and leg.course_mag_deg is not None:
            return Answer(kind=Kind.RADIAL, digits=f"{as_heading(leg.course_mag_deg + 180.0):03}")
        case Question.COURSE if leg.course_mag_deg is not None:
            return Answer(kind=Kind.COURSE, digits=f"{leg.course_mag_deg:03}")
        case Question.SECONDS if end_s is not None and end_s > at_s:
            return Answer(kind=Kind.NUMBER, digits=str(round(end_s - at_s)))
    return None


def turn_answer(leg: Leg) -> Answer | None:
    """The turn that a leg begins with, as answered; None where it has no heading."""
    value_deg = leg.heading_mag_deg or leg.course_mag_deg
    if value_deg is None:
        return None
    return heading(value_deg, None if leg.turn is Turn.NONE else Direction(leg.turn.value))


def correction(question: Question, expected: Answer, judgement: Judgement) -> str:
    """What the coach says to an answer that was not right: the fault by its name, then what is right."""
    fault = f"{judgement.fault}. " if judgement.fault not in (None, Fault.NO_SIDE) else "No. "
    before = "" if judgement.fault is Fault.NO_SIDE else fault
    return f"{before}{told(question, expected)}"


def told(question: Question, expected: Answer) -> str:
    """The right answer as the coach tells it: "Coming left, one niner five"."""
    if question in (Question.TURN, Question.STATION_TURN):
        return f"Coming {_side(expected)}{heading_words(expected.value)}"
    if question is Question.SPOKE:
        return f"Spoke {count_words(expected.value)}"
    if question is Question.SECONDS:
        return prompts.time_to_go(expected.value).capitalize()
    return f"{expected.kind.value.capitalize()} {heading_words(expected.value)}"


def _side(expected: Answer) -> str:
    return "" if expected.direction is None else f"{expected.direction.value}, "
