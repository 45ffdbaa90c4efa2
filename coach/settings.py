"""What the pilot chooses for every flight: language, talk, voices, devices, recogniser, receiver, aircraft.

Pure: never reads a file or the environment (that is `coach.store.settings`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coach.drill.conversion import read_fields, read_value
from coach.drill.findings import Findings, quote, render_nearest
from coach.drill.forms import Form, Key, Number, OneOf, Record, Text, Worded
from coach.drill.source import Place, ScalarNode, Source
from coach.errors import Problem, SettingsError
from coach.nav.station import Station
from coach.session.outlook import FeedUse, Role
from coach.session.prompts import Talk
from coach.session.spoken import Style
from coach.session.teacher import Mode


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """One value for each setting."""

    language: str = "en"
    """Which phrase table the pilot speaks by, an ISO 639-1 code; the coach itself speaks English."""

    talk: Talk = Talk.SHORT
    """How much the coach says."""

    mode: Mode = Mode.TOLD
    """Who says what is next: the coach, the pilot when asked, or the pilot in the five Ts."""

    digits: Style = Style.FAA
    """Whose way of saying numbers."""

    coach_voice: str | None = None
    """The coach's voice; None: the coach's own default."""

    pilot_voice: str | None = None
    """The simulated pilot's voice in a rehearsal, unlike the coach's; None: its own default."""

    rate_wpm: int = 156
    """Words a minute, 80-300. 156 was favoured of 123, 156 and 178 (Simpson and Marchionda-Frost 1984;
    value from memory)."""

    volume: float = 1.0
    """0-1."""

    output_device: str | None = None
    """A part of the device's name or its number; None: the system's default."""

    input_device: str | None = None
    """A part of the device's name or its number; None: the system's default."""

    recogniser: str = "auto"
    """`auto`, `whisper`, `vosk` or `pocketsphinx`; `auto` takes the best one that this machine has."""

    vosk_model: Path | None = None
    """The folder of a Vosk model; None: no Vosk."""

    whisper_model: Path | None = None
    """The folder of a Whisper model in CTranslate2's form; None: the one installed, if any."""

    full_scale_deg: float = 10.0
    """Full deflection of the needle, 8-15 degrees. 10 is common, an FAA handbook says 12 or more."""

    dots: int = 5
    """Dots a side on the needle's scale: 5, 4 or 2."""

    heading_check_min: float = 15.0
    """Minutes between reminders to check the heading indicator, 0-60; 0: none, where it is slaved."""

    tas_kt: float = 90.0
    """True airspeed, 40-300 knots."""

    height_ft: float = 2000.0
    """Height above the station, 200-45,000 feet."""

    feed_role: Role = Role.DECIDE
    """What a position feed may do, where there is one."""

    preflight: bool = True
    """False: a flight begins without the flow before flight."""

    push_to_talk: bool = False
    """True: the microphone is heard only while the talk key is held."""

    attention: str | None = None
    """A word said before every phrase, for a cockpit where everything is on the intercom; None: none."""


def feed_use_of(settings: Settings, station: Station) -> FeedUse:
    """How a session uses a feed, seen from a station."""
    return FeedUse(
        station=station,
        role=settings.feed_role,
        height_ft=settings.height_ft,
        full_scale_deg=settings.full_scale_deg,
        dots=settings.dots,
    )


SCALES = {"5": 5, "4": 4, "2": 2}
RECOGNISERS = ("auto", "whisper", "vosk", "pocketsphinx")


def _parse_folder(text: str) -> Path | None:
    return Path(text) if text and "\0" not in text else None


def _parse_language(text: str) -> str | None:
    return text if text.isascii() and text.isalpha() and text.islower() and len(text) == 2 else None


def _parse_attention(text: str) -> str | None:
    # Not islower: letters without a case, such as Hangul, are neither.
    return text if text.isalpha() and text == text.lower() and 2 <= len(text) <= 20 else None


NAME = Text(longest=200)
FOLDER = Worded(expected="the path of a folder", pattern=r"^.+$", parse=_parse_folder)
LANGUAGE = Worded(expected="two small letters such as en", pattern=r"^[a-z]{2}$", parse=_parse_language)
ATTENTION = Worded(expected="one word of letters", pattern=r"^\w{2,20}$", parse=_parse_attention)
BOOLEAN = OneOf(values={"true": True, "false": False})

FORMS: dict[str, tuple[Form, str]] = {
    "language": (LANGUAGE, "The language that the pilot speaks, such as en or ko."),
    "talk": (OneOf(values={str(talk): talk for talk in Talk}), "How much the coach says."),
    "mode": (
        OneOf(values={str(mode): mode for mode in Mode}),
        "Who says what is next: the coach (told), the pilot when asked (recall), the pilot by himself in the "
        "five Ts (callout).",
    ),
    "digits": (OneOf(values={str(style): style for style in Style}), "Whose way of saying numbers."),
    "coach_voice": (NAME, "The coach's voice."),
    "pilot_voice": (NAME, "The simulated pilot's voice, unlike the coach's."),
    "rate_wpm": (Number(low=80, high=300, unit="words a minute", is_whole=True), "How fast it speaks."),
    "volume": (Number(low=0, high=1), "How loud it speaks."),
    "output_device": (NAME, "Where the coach's voice goes."),
    "input_device": (NAME, "Where the pilot's voice comes from."),
    "recogniser": (OneOf(values={name: name for name in RECOGNISERS}), "What understands the pilot."),
    "vosk_model": (FOLDER, "The folder of a Vosk model."),
    "whisper_model": (FOLDER, "The folder of a Whisper model for CTranslate2."),
    "full_scale_deg": (Number(low=8, high=15, unit="deg"), "Full deflection of the needle."),
    "dots": (OneOf(values=SCALES), "Dots a side on the needle's scale."),
    "heading_check_min": (Number(low=0, high=60, unit="min"), "Between heading indicator checks; 0: none."),
    "tas_kt": (Number(low=40, high=300, unit="kt"), "True airspeed."),
    "height_ft": (Number(low=200, high=45_000, unit="ft"), "Height above the station."),
    "feed_role": (
        OneOf(values={str(role): role for role in Role}),
        "Whether a position feed moves the drill, reminds the pilot, or is only recorded.",
    ),
    "preflight": (BOOLEAN, "false: a flight begins without the flow before flight."),
    "push_to_talk": (BOOLEAN, "true: hear the microphone only while the talk key is held."),
    "attention": (ATTENTION, "A word said before every phrase, such as coach."),
}
"""How each setting is written, and one line about it."""

FILE = Record(
    of="the settings",
    make=Settings,
    keys=tuple(Key(name=name, form=form, means=means) for name, (form, means) in FORMS.items()),
)


def check_settings(source: Source | None, overrides: Mapping[str, str]) -> Settings:
    """The settings of a file (None: there is none), overridden by values from the command line.

    `overrides`: the text of each option given, by the setting's name. Raises `SettingsError` with every
    problem of both.
    """
    findings = Findings(file="", error=SettingsError)
    values: dict[str, Any] = {}
    if source is not None:
        findings = Findings.of_source(source, SettingsError)
        values = {} if _is_empty(source) else read_fields(source.root, "", FILE, findings)
    for name, text in overrides.items():
        values[name] = _read_override(name, text, findings)
    findings.raise_any()
    _check_voices(values)
    return Settings(**values)


def _is_empty(source: Source) -> bool:
    return isinstance(source.root, ScalarNode) and source.root.text == ""


def _read_override(name: str, text: str, findings: Findings) -> Any:
    option = Findings(file=f"--{name.replace('_', '-')}", error=SettingsError)
    if name in FORMS:
        node = ScalarNode(text=text.strip(), line=0, column=0)
        value = read_value(node, "", FORMS[name][0], option)
    else:
        hint = render_nearest(name, FORMS) or f" ({', '.join(FORMS)})"
        option.add(Place(path="", line=0, column=0), f"a setting{hint}", quote(name))
        value = None
    findings.found += option.found
    return value


def _check_voices(values: Mapping[str, Any]) -> None:
    coach_voice, pilot_voice = values.get("coach_voice"), values.get("pilot_voice")
    if coach_voice is not None and coach_voice == pilot_voice:
        expected = "another voice than the coach's"
        raise SettingsError(Problem(where="pilot_voice", expected=expected, got=quote(pilot_voice)))
