"""`coach check`: what this machine has, each lack with its remedy, and a word spoken and heard.

Exit 0 where a drill can be flown by voice, 3 where something is missing for it.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from coach.cli import voice_check, vor_check
from coach.cli.output import line, print_json
from coach.cli.planning import settings_of, table_of
from coach.errors import SetupError
from coach.flight import synthesiser_of
from coach.own_profile import find_profile, tell_unused
from coach.session.events import PhraseHeard
from coach.session.phrases import PhraseTable, render_unknown_words
from coach.settings import Settings
from coach.store.drills import list_drills
from coach.voice.ear_figures import find_better, find_figures, render_figures
from coach.voice.ear_process import EarProcess
from coach.voice.microphone import list_input_devices
from coach.voice.output_device import list_output_devices
from coach.voice.pcm import RATE_HZ, Samples, resample
from coach.voice.recogniser import ear_choice, has_whisper
from coach.voice.synthesis import check_voice, default_pilot_voice, describe

WORD = "station passage"
EAR_RATE_HZ = 16_000
BLOCK = 800
"""Samples: 50 ms at 16 kHz."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing looked for."""

    name: str
    """As in the JSON."""

    is_there: bool
    text: str
    """What it is, or what is missing and how to get it."""

    details: Mapping[str, str] = field(default_factory=dict)
    """More about it, by the name in the JSON; each one line on the screen."""


def run(options: argparse.Namespace) -> int:
    """Look, and tell; or have the pilot say the phrases, or record the check of a VOR receiver."""
    vor_check.check_options(options)
    if options.vor:
        return vor_check.run(options)
    voice_check.check_options(options)
    if options.voice:
        return voice_check.run(options)
    settings = settings_of(options)
    findings = [_look(name, look, settings) for name, look in LOOKS]
    if options.json:
        print_json({f.name: {"ok": f.is_there, "is": f.text, **f.details} for f in findings})
    else:
        for finding in findings:
            _print(finding)
    return 0 if all(finding.is_there for finding in findings) else SetupError.exit_status


def _print(finding: Finding) -> None:
    line(f"{'ok     ' if finding.is_there else 'missing'}  {finding.name:<11} {finding.text}")
    for name, text in finding.details.items():
        line(f"{'':<20} {name.replace('_', ' ')}: {text}")


Look = Callable[[Settings], str | tuple[str, Mapping[str, str]]]
"""What is there, and more about it."""


def _look(name: str, look: Look, settings: Settings) -> Finding:
    try:
        seen = look(settings)
        text, details = (seen, {}) if isinstance(seen, str) else seen
        return Finding(name=name, is_there=True, text=text, details=details)
    except SetupError as error:
        return Finding(name=name, is_there=False, text="; ".join(map(str, error.problems)))


def _drills(_settings: Settings) -> str:
    return ", ".join(drill.name for drill in list_drills())


def _voice(settings: Settings) -> str:
    catalogue = describe()
    voice = check_voice(settings.coach_voice, catalogue)
    return f"{voice} of {len(catalogue.english)} English ({catalogue.engine})"


def _recogniser(settings: Settings) -> tuple[str, Mapping[str, str]]:
    """Which one is in use, how good it is, and what gets a better one."""
    told: list[str] = []
    profile = find_profile(settings, told.append)
    ear = EarProcess(ear_choice(settings, profile))
    try:
        ear.start()
        table = table_of(settings)
        lack = render_unknown_words(table, ear.find_unknown_words(table.all_ways))
        tell_unused(profile, ear.name, told.append)
        how_good = render_figures(find_figures(ear.name, table.language))
        better = find_better(ear.name, settings, has_whisper)
        details = {"how_good": how_good, "better": better, "lack": lack, "profile": "; ".join(told)}
        return ear.name, {name: text for name, text in details.items() if text}
    finally:
        ear.close()


def _output(settings: Settings) -> str:
    devices = list_output_devices()
    return _devices([device.name for device in devices], settings.output_device, "an output")


def _input(settings: Settings) -> str:
    devices = list_input_devices()
    return _devices([device.name for device in devices], settings.input_device, "a microphone")


def _devices(names: list[str], wanted: str | None, what: str) -> str:
    if not names:
        raise SetupError(f"no device is {what}; plug one in, or run a sound server (PulseAudio, PipeWire)")
    chosen = names[0] if wanted is None else next((n for n in names if wanted.lower() in n.lower()), None)
    if chosen is None:
        raise SetupError(f"no device is called '{wanted}'; there are: {', '.join(names)}")
    return ", ".join(names)


def _spoken(settings: Settings) -> str:
    """The pilot's voice says a word, the ear understands it: no sound card needed."""
    table = table_of(settings)
    way = next(way for way, phrase in table.all_ways if phrase == WORD)
    sound = synthesiser_of(settings, settings.pilot_voice or default_pilot_voice(table.language)).render(way)
    understood = _hear(settings, table, sound)
    if understood != WORD:
        raise SetupError(f"'{way}' was understood as '{understood}'; try another recogniser or voice")
    return f"'{way}', understood"


def _hear(settings: Settings, table: PhraseTable, sound: Samples) -> str | None:
    quiet = np.zeros(EAR_RATE_HZ, dtype=np.int16)
    word = resample(sound.astype(np.float64), RATE_HZ, EAR_RATE_HZ).astype(np.int16)
    audio = np.concatenate([quiet, word, quiet, quiet])
    ear = EarProcess(ear_choice(settings))
    try:
        ear.start()
        ear.listen_for(table.ways((WORD, "next leg", "needle alive", "established", "say again")))
        for start in range(0, len(audio) - BLOCK + 1, BLOCK):
            for fact in ear.hear(audio[start : start + BLOCK], start / EAR_RATE_HZ):
                if isinstance(fact, PhraseHeard):
                    return fact.phrase
        return None
    finally:
        ear.close()


LOOKS: tuple[tuple[str, Look], ...] = (
    ("drills", _drills),
    ("voice", _voice),
    ("recogniser", _recogniser),
    ("spoken", _spoken),
    ("output", _output),
    ("input", _input),
)
