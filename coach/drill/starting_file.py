"""A drill file to start from: it passes the check, and its comments say what every key of a leg means.

Never writes a file.
"""

from __future__ import annotations

import textwrap

from coach.drill.forms import Key
from coach.drill.language import DRILL
from coach.drill.leg_language import LEG
from coach.drill.values import KINDS

WIDTH = 110


def render_starting_file(name: str, schema: str) -> str:
    """The text of a drill file of that name; `schema`: where its schema is, as an editor finds it."""
    title = name.replace("-", " ").replace("_", " ").capitalize()
    return _TEXT.format(
        schema=schema,
        name=name,
        title=title,
        kinds=", ".join(KINDS),
        drill_keys=_keys(DRILL.keys),
        leg_keys=_keys(LEG.keys),
    )


def _keys(keys: tuple[Key, ...]) -> str:
    lines = [_line(key.name, f"{key.means}{' (needed)' if key.is_required else ''}") for key in keys]
    return "\n".join(lines)


def _line(name: str, means: str) -> str:
    return textwrap.fill(
        means, WIDTH, initial_indent=f"#   {name + ':':<15}", subsequent_indent=f"#   {'':<15}"
    )


_TEXT = """\
# yaml-language-server: $schema={schema}
# A drill of your own. `coach drill check {name}.yaml` tells every problem with line and column;
# `coach brief {name}.yaml` shows it leg by leg, `coach rehearse {name}.yaml --typed` flies it.
#
# Angles are magnetic degrees, times are seconds. Nothing is computed but by the keys below.
# The keys of the file:
{drill_keys}

title: {title}

# Where the pattern is published; a pattern of your own is "common practice, no source".
source: common practice, no source

# For the instructor; never spoken.
notes:
  - Change this file into what you teach.

# What the pilot can choose with --set KEY=VALUE.
# The kinds: {kinds}.
settings:
  start_heading:
    kind: course
    unit: deg magnetic
    range: [1, 360]
    default: 360
    means: The heading on which the drill begins.
  laps:
    kind: count
    range: [1, 10]
    default: 2
    means: How often the legs are flown.
  sides:
    kind: choice
    choices: [alternate, left, right]
    default: alternate
    means: The side of the turns; alternate begins left and changes every lap.
  straight_s:
    kind: time
    unit: s
    range: [20, 300]
    default: 60
    means: How long the heading is held.

# It begins on the pilot's word, on the heading he has. `by: passage` begins it over the station.
begins:
  by: word
  heading: start_heading

# Flown `laps` times. A drill that returns to a station has `spoke:` in their place (see eight-spoke).
# The keys of a leg:
{leg_keys}
repeat: laps
legs:
  - leg: straight
    turn: none
    heading: previous
    clock: start
    lasts: straight_s
    ends_on: time
  - leg: turn_back
    turn: side
    heading: {{of: previous, turned: 180 side}}
    clock: stop
    ends_on: heading
"""
