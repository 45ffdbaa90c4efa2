"""Texts to sound through pyttsx3, each utterance in a child process of its own, kept in a cache.

The same text three times in one pyttsx3 process gives three waveforms; a fresh child gives the same one each
time and costs 0.06 s (measured). Never plays anything.
"""

from __future__ import annotations

import difflib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from coach.errors import Problem, SetupError
from coach.voice.pcm import Samples, read_sound_file, scale, trim
from coach.voice.synthesis_cache import SoundCache, cache_key

RATE_WPM = 156
"""Words a minute favoured of 123, 156 and 178 (Simpson and Marchionda-Frost 1984, H23; value from memory)."""

DEADLINE_S = 5.0
"""A child that has not answered by then is killed; one takes 0.06 s (measured), a cold disk some more."""

TRIES = 2
"""How often a text is given to a fresh child before the voice counts as gone."""

REMEDY = "install the voice: `pip install espeakng-loader`, or `sudo apt install libespeak-ng1`"

PREFERRED = (("gmw/en-us+f3", "gmw/en-us"),)
"""Voices for the coach and for the rehearsal's pilot, the first pair that is there: a high and a low one."""

CHILD = (sys.executable, "-P", str(Path(__file__).with_name("synthesis_child.py")))
"""Run by path and with nothing of the working folder on the import path."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """What the synthesiser of this machine offers."""

    engine: str
    """Name and version: two machines that agree in it give the same sound."""

    voices: tuple[str, ...]
    """As the synthesiser names them, such as `gmw/en-us`."""

    english: tuple[str, ...]
    """Those of `voices` that speak English."""

    variants: tuple[str, ...]
    """Speakers that can be put behind any voice, `gmw/en-us+f3`; empty where there are none."""

    def find_voice(self, name: str) -> str | None:
        """Return the full name of a voice given by its full or short name, variant included."""
        stem, plus, variant = name.partition("+")
        if plus and variant not in self.variants:
            return None
        names = {name.lower(): voice for voice in self.voices for name in (_short_name(voice), voice)}
        found = names.get(stem.lower())
        return None if found is None else found + plus + variant


class Synthesiser:
    """Renders texts in one voice, at one rate and volume; safe to use from several threads."""

    def __init__(
        self,
        voice: str | None = None,
        rate_wpm: int = RATE_WPM,
        volume: float = 1.0,
        cache_dir: Path | None = None,
        *,
        child: tuple[str, ...] = CHILD,
        deadline_s: float = DEADLINE_S,
    ) -> None:
        """Make a synthesiser; nothing is started yet.

        `voice` None: the coach's default. `volume` 0-1. `cache_dir` None: nothing is kept on disk.
        """
        self._asked_voice = voice
        self._rate_wpm = rate_wpm
        self._volume = volume
        self._cache = SoundCache(cache_dir)
        self._child = child
        self._deadline_s = deadline_s
        self._voice: str | None = None

    @property
    def voice(self) -> str:
        """The full name of the voice; SetupError if the machine does not have it."""
        if self._voice is None:
            self._voice = check_voice(self._asked_voice, describe(self._child, self._deadline_s))
        return self._voice

    def render(self, text: str) -> Samples:
        """Return a text's sound: mono, 48 kHz, sample 0 the onset of its first word, read-only.

        Blocks for up to 0.1 s, or `TRIES` deadlines if the child hangs; SetupError if there is no voice.
        """
        key = self._key(text)
        sound = self._cache.find(key)
        if sound is None:
            sound = self._render_afresh(text)
            self._cache.keep(key, sound)
            self._cache.prune()
        return scale(sound, self._volume)

    def find_ready(self, text: str) -> Samples | None:
        """Return a text's sound if it is in memory, at once; None: `render` it beside the loop."""
        if self._voice is None:
            return None
        sound = self._cache.find_held(self._key(text))
        return None if sound is None else scale(sound, self._volume)

    def prepare(self, texts: Iterable[str]) -> None:
        """Render all texts that are not cached yet, as many at a time as there are cores.

        SetupError names the remedy, before the flight.
        """
        missing = [text for text in dict.fromkeys(texts) if self._cache.find(self._key(text)) is None]
        with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
            for text, sound in zip(missing, pool.map(self._render_afresh, missing), strict=True):
                self._cache.keep(self._key(text), sound)
        self._cache.prune()

    def _key(self, text: str) -> str:
        engine = describe(self._child, self._deadline_s).engine
        return cache_key(text=text, voice=self.voice, rate_wpm=self._rate_wpm, engine=engine)

    def _render_afresh(self, text: str) -> Samples:
        try:
            return self._render_by_child(text)
        except OSError as exc:
            raise SetupError(f"voice: {text!r} was not rendered ({exc.strerror})") from exc

    def _render_by_child(self, text: str) -> Samples:
        with tempfile.TemporaryDirectory(prefix="coach-voice-") as folder:
            path = Path(folder) / "said.wav"
            request = {"do": "speak", "text": text, "voice": self.voice, "rate_wpm": self._rate_wpm}
            _ask(self._child, request | {"path": str(path)}, self._deadline_s)
            try:
                sound = trim(read_sound_file(path))
            except (OSError, ValueError, ImportError) as exc:
                raise SetupError(f"voice: {text!r} was not rendered ({exc}); {REMEDY}") from exc
        if not sound.size:
            raise SetupError(f"voice: {text!r} came out silent; choose another voice")
        return sound


@lru_cache(maxsize=8)
def describe(child: tuple[str, ...] = CHILD, deadline_s: float = DEADLINE_S) -> Catalogue:
    """Return what this machine's synthesiser offers, asked once; SetupError if there is none."""
    reply = _ask(child, {"do": "describe"}, deadline_s)
    voices = reply["voices"]
    return Catalogue(
        engine=reply["engine"],
        voices=tuple(voice["name"] for voice in voices),
        english=tuple(voice["name"] for voice in voices if _is_english(voice)),
        variants=tuple(reply["variants"]),
    )


def voices() -> tuple[str, ...]:
    """Return the names of this machine's voices."""
    return describe().voices


def default_voices(catalogue: Catalogue | None = None) -> tuple[str, str]:
    """Return a voice for the coach and another for the rehearsal's pilot; SetupError if there are not two."""
    offered = catalogue or describe()
    for pair in PREFERRED:
        coach, pilot = (offered.find_voice(name) for name in pair)
        if coach and pilot:
            return coach, pilot
    if len(offered.english) < 2:
        raise SetupError(
            Problem(where="voices", expected="two English voices", got=f"{len(offered.english)}")
        )
    return offered.english[0], offered.english[1]


def default_pilot_voice(language: str, catalogue: Catalogue | None = None) -> str:
    """Return a voice that speaks the pilot's language, unlike the coach's; SetupError if there is none."""
    offered = catalogue or describe()
    if language == "en":
        return default_voices(offered)[1]
    found = offered.find_voice(language)
    if found is None:
        raise SetupError(
            Problem(where="pilot_voice", expected=f"a voice for language {language}", got="none")
        )
    return found


def check_voice(name: str | None, catalogue: Catalogue) -> str:
    """Return the full name of a voice, None being the coach's default; SetupError names the nearest ones."""
    if name is None:
        return default_voices(catalogue)[0]
    found = catalogue.find_voice(name)
    if found is not None:
        return found
    stem, _, variant = name.partition("+")
    if catalogue.find_voice(stem):
        what, wrong, known = f"a variant of {stem}", variant, catalogue.variants
    else:
        what, wrong, known = "a voice", stem, _short_names(catalogue)
    near = difflib.get_close_matches(wrong, known) or known[:3]
    raise SetupError(Problem(where="voice", expected=f"{what}, such as {', '.join(near)}", got=repr(name)))


def _short_names(catalogue: Catalogue) -> tuple[str, ...]:
    """Return the voices as a user would type them, the English ones first."""
    return tuple(dict.fromkeys(map(_short_name, catalogue.english + catalogue.voices)))


def _short_name(voice: str) -> str:
    """Return `en-us` for `gmw/en-us`."""
    return voice.rpartition("/")[2]


def _is_english(voice: dict[str, Any]) -> bool:
    return any(language.startswith("en") for language in voice["languages"])


def _ask(child: tuple[str, ...], request: dict[str, Any], deadline_s: float) -> dict[str, Any]:
    """Give one request to a fresh child, and to another one if that hangs or dies; return the reply."""
    reasons = []
    for _ in range(TRIES):
        reply = _ask_once(child, request, deadline_s)
        if "error" not in reply:
            return reply
        reasons.append(reply["error"])
    raise SetupError(f"voice: {reasons[-1]}; {REMEDY}")


def _ask_once(child: tuple[str, ...], request: dict[str, Any], deadline_s: float) -> dict[str, Any]:
    """Return the reply of one child, or what became of it under `error`."""
    line = json.dumps(request).encode() + b"\n"
    try:
        ended = subprocess.run(child, input=line, capture_output=True, timeout=deadline_s, check=False)
    except subprocess.TimeoutExpired:
        return {"error": f"the speech process hung and was ended after {deadline_s:g} s"}
    except OSError as exc:
        return {"error": f"the speech process did not start ({exc.strerror})"}
    try:
        reply = json.loads(ended.stdout)
    except ValueError:
        reply = None
    if isinstance(reply, dict):
        return reply
    printed = ended.stderr.decode(errors="replace").strip().splitlines()[-1:] or ["it said nothing"]
    return {"error": f"the speech process ended with status {ended.returncode} ({printed[0]})"}
