"""What holds for any settings of the eight-spoke drill, and for any damage to its file."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from coach.drill.compiler import compile_drill
from coach.drill.model import Drill, Turn
from coach.errors import DrillError
from coach.store.documents import parse_document
from coach.store.drills import drills_folder, read_source

SOURCE = read_source("eight-spoke")
TEXT = (drills_folder() / "eight-spoke.yaml").read_text("utf-8")
SIGNED = {Turn.LEFT: -1, Turn.RIGHT: 1, Turn.NONE: 0}

chosen = st.fixed_dictionaries(
    {
        "first_outbound": st.integers(1, 360).map(str),
        "spokes": st.integers(1, 16).map(str),
        "sides": st.sampled_from(["alternate", "left", "right"]),
        "rotation": st.builds("{} {}".format, st.integers(0, 180), st.sampled_from(["left", "right"])),
    }
)


@given(chosen)
@settings(max_examples=200, deadline=None)
def test_headings_are_1_to_360_and_turns_add_up(values: dict[str, str]) -> None:
    drill = compile_drill(SOURCE, values)
    heading = drill.arrive_course_mag_deg
    for leg in drill.legs:
        assert leg.heading_mag_deg is not None
        assert 1 <= leg.heading_mag_deg <= 360
        assert (heading + SIGNED[leg.turn] * leg.turn_deg - leg.heading_mag_deg) % 360 == 0
        heading = leg.heading_mag_deg


@given(chosen)
@settings(max_examples=200, deadline=None)
def test_each_inbound_is_the_reciprocal_and_the_next_outbound_is_it_rotated(values: dict[str, str]) -> None:
    legs = compile_drill(SOURCE, values).legs
    degrees, side = values["rotation"].split()
    rotation = int(degrees) * (1 if side == "right" else -1)
    outbounds = [leg.heading_mag_deg or 0 for leg in legs if leg.leg == "outbound"]
    inbounds = [leg.heading_mag_deg or 0 for leg in legs if leg.leg == "inbound"]
    assert all((there - back) % 360 == 180 for there, back in zip(outbounds, inbounds, strict=True))
    following = pairwise(zip(outbounds, inbounds, strict=True))
    assert all((following_out - back - rotation) % 360 == 0 for (_, back), (following_out, _) in following)


@st.composite
def damaged_files(draw: st.DrawFn) -> str:
    """The drill file with one to four pieces cut out, doubled, moved or written over."""
    text = TEXT
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 60)))
        piece = draw(st.one_of(st.text(max_size=12), st.sampled_from(PIECES), st.just(text[start:end] * 2)))
        text = text[:start] + piece + text[end:]
    return text


PIECES = (
    "\n", "  ", "- ", ": ", "{", "}", "[", "]", "&a ", "*a", "!!python/name:os.system ", "---\n", "...\n",
    "'", '"', "|\n", ">\n", "#", "null", "0", "-1", "400", "1e999", "nan", "9" * 5000, "turn: side", "leg_s",
    "<<: ", "\t", "? ", "%YAML 1.2\n", "\ufeff", "\x85", "\u2028", "spokes: {}",
    "default_from: arrive_course",
)  # fmt: skip

words = [word for word in dict.fromkeys(TEXT.replace("{", " ").replace(",", " ").split()) if len(word) > 1]


@st.composite
def swapped_words(draw: st.DrawFn) -> str:
    """The drill file with words put for one another: mostly YAML still, seldom a drill."""
    text = TEXT
    for _ in range(draw(st.integers(1, 3))):
        old, new = draw(st.sampled_from(words)), draw(st.sampled_from([*words, *PIECES]))
        text = text.replace(old, new, draw(st.integers(1, 3)))
    return text


def compile_text(text: str) -> Drill | DrillError:
    try:
        return compile_drill(parse_document(text, DrillError, name="drill", file="drill.yaml"), {})
    except DrillError as error:
        return error


@given(st.one_of(damaged_files(), swapped_words()))
@settings(max_examples=400, deadline=None)
def test_damaged_file_gives_a_drill_or_problems_and_nothing_else(text: str) -> None:
    outcome = compile_text(text)
    if isinstance(outcome, Drill):
        assert outcome.legs
        assert all(leg.heading_mag_deg is None or 1 <= leg.heading_mag_deg <= 360 for leg in outcome.legs)
    else:
        assert outcome.problems
        assert all(str(problem).isprintable() for problem in outcome.problems)


def test_undamaged_file_gives_a_drill() -> None:
    assert isinstance(compile_text(TEXT), Drill)
