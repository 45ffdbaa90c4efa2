"""`coach station morse IDENT`: a sample of an ident, drawn and sounded on the ground.

Never a station's own ident, and never in a flight: it is announced as a sample, in another pitch.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from coach.cli.aloud import audio_path, sound
from coach.cli.output import line, print_json
from coach.cli.planning import settings_of
from coach.drill.findings import quote
from coach.errors import Problem, SettingsError
from coach.flight import synthesiser_of
from coach.nav.morse import encode_morse
from coach.nav.navaid import is_ident
from coach.settings import Settings
from coach.voice.morse_tone import PITCH_HZ, WORDS_A_MINUTE, render_morse
from coach.voice.pcm import RATE_HZ, Samples

ANNOUNCED = "Sample"

MAINTENANCE = "TEST"
"""Keyed, or nothing keyed at all, by a station under maintenance (AIM 1-1-3c)."""


def run(options: argparse.Namespace) -> int:
    """Draw it and sound it."""
    ident = options.ident.strip().upper()
    if not is_ident(ident):
        expected = "an ident of 1 to 4 letters and digits"
        raise SettingsError(Problem(where="IDENT", expected=expected, got=quote(options.ident)))
    path = audio_path(options.audio)
    code = encode_morse(ident)
    settings = settings_of(options)
    keyed = render_morse(code)
    if not options.json:
        line(f"{ident}  {code}")
        line(f"A sample at {PITCH_HZ:g} Hz, {WORDS_A_MINUTE:g} words a minute: no station's.")
        line("Only the ident that the receiver sounds identifies a station (AIM 1-1-3c).")
        if ident == MAINTENANCE:
            line("This one, or none at all, means maintenance: the station is not to be used.")
    sound(_sounds(settings, keyed), settings, path)
    if options.json:
        seconds = round(keyed.size / RATE_HZ, 2)
        print_json(
            {"ident": ident, "morse": code, "seconds": seconds, "audio": None if path is None else str(path)}
        )
    elif path is not None:
        line(f"Audio: {path}")
    return 0


def _sounds(settings: Settings, keyed: Samples) -> Iterator[Samples]:
    yield synthesiser_of(settings, settings.coach_voice).render(ANNOUNCED)
    yield keyed
