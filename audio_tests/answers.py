"""How well spoken answers are understood: `python -m audio_tests.answers`.

All 360 headings in four synthetic voices, the digit strings of real speakers (a folder with a manifest), and
what is no answer. Each clip is heard with its own answer expected, then with each of its near confusions:
none of them may be heard as right.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import math
import os
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from audio_tests.answer_trials import (
    Asking,
    RememberingScorer,
    Spoken,
    Trial,
    Watched,
    list_foreign,
    list_headings,
    list_strings,
    remember_decodings,
)
from audio_tests.score import LEG, find_bounds
from audio_tests.vosk_speech import VOICES as KOREAN_VOICES
from audio_tests.vosk_speech import find_model
from coach.errors import CoachError, SettingsError
from coach.session.answer_words import KOREAN
from coach.session.answers import heading
from coach.store.phrases import read_phrases
from coach.voice.recogniser import EarChoice, choose_recogniser
from coach.voice.recognisers.pocketsphinx import PocketSphinxRecogniser
from coach.voice.recognisers.whisper import WhisperRecogniser
from coach.voice.recognisers.whisper_model import load_model

REPORTED = ("gmw/en-us+m3", "gmw/en-us+f2", "flite:rms", "flite:slt")
CHOSEN_ON = ("gmw/en+m1", "gmw/en-029+m4", "flite:awb", "flite:kal16")
"""Limits are chosen on these voices and reported on the others."""

LANGUAGES = {"vosk": "ko"}
"""The only Vosk model that package indexes carry is Korean; espeak-ng says the headings."""

SETS = ("headings", "strings", "foreign")
FOREIGN_ASKED = heading(315)
MARGINS = (0.0, 0.4, 0.8, 1.0, 1.2, 1.4, 1.6, 2.0, 2.5, 3.0)


def main(arguments: list[str] | None = None) -> int:
    """Run and print; 2 for bad input, 3 for something missing."""
    options = _parse(arguments)
    # As in the ear's child: threads that wait sleep.
    os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")
    try:
        trials = {name: run_set(name, options) for name in options.sets}
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    figures = {name: summarise(list(found)) for name, found in trials.items()}
    if options.json:
        print(json.dumps({"engine": options.engine, "cabin_snr_db": options.cabin, **figures}))
        return 0
    for name, found in trials.items():
        print("\n".join(render(name, found, figures[name])))
    return 0


def run_set(name: str, options: argparse.Namespace) -> tuple[Trial, ...]:
    """Hear every clip of a set, or as many as there is time for; each voice in its own stretch of cabin."""
    watched = load_watched(options)
    language = LANGUAGES.get(options.engine, "en")
    ways = read_phrases(language).ways(LEG) if options.beside else ()
    groups = _group(list_clips(name, options))
    cabins = [
        Asking(watched, snr_db=options.cabin, seed=seed, ways=ways)
        for seed in range(options.seed, options.seed + len(groups))
    ]
    trials: list[Trial] = []
    began_s = time.monotonic()
    for asking, clip in _take_turns(cabins, groups):
        if time.monotonic() - began_s > 60 * options.minutes:
            break
        trials.append(asking.ask(clip, asked=clip.answer or FOREIGN_ASKED))
        _keep(options.keep, trials[-1])
    return tuple(trials)


def _take_turns(cabins: list[Asking], groups: list[list[Spoken]]) -> Iterator[tuple[Asking, Spoken]]:
    """One clip of each voice after another, over the whole circle: a part of a run is a fair part."""
    for place in range(max(map(len, groups), default=0)):
        for asking, clips in zip(cabins, groups, strict=True):
            if place < len(clips):
                yield asking, clips[_stride(place, len(clips))]


def _stride(place: int, length: int) -> int:
    """The places of a list in an order that jumps about, each once."""
    step = next(
        step for step in range(max(length * 2 // 5, 1), 2 * length + 1) if math.gcd(step, length) == 1
    )
    return place * step % length


def list_clips(name: str, options: argparse.Namespace) -> tuple[Spoken, ...]:
    """The clips of a set, of the half that is asked for."""
    voices = REPORTED if options.half == "report" else CHOSEN_ON
    if options.engine == "vosk":
        voices = KOREAN_VOICES[4:] if options.half == "report" else KOREAN_VOICES[:4]
        return list_headings(voices, step=options.step, words=KOREAN) if name == "headings" else ()
    if name == "headings":
        return list_headings(voices, step=options.step)
    if name == "strings":
        return tuple(clip for clip in list_strings(_find_speech(options)) if _is_half(clip, options.half))
    return tuple(clip for clip in list_foreign(options.speech, voices) if _is_half(clip, options.half))


def _is_half(clip: Spoken, half: str) -> bool:
    """Half of the real speakers, by their name; a synthetic voice has its half already."""
    if clip.path is None:
        return True
    key = clip.speaker if clip.speaker.startswith("an4") else str(clip.path.name)
    is_odd = hashlib.sha256(key.encode()).digest()[0] % 2 == 1
    return is_odd == (half == "report")


def _find_speech(options: argparse.Namespace) -> Path:
    if options.speech is None:
        raise SettingsError("strings: expected --speech FOLDER or COACH_SHARED, got neither")
    folder: Path = options.speech
    if not (folder / "manifest.csv").is_file():
        raise SettingsError(f"{folder}: expected a folder with manifest.csv, got none")
    return folder


def load_watched(options: argparse.Namespace) -> Watched:
    """The recogniser, its work on a clip remembered where that is what costs."""
    if options.engine == "whisper":
        model = load_model(None)
        recogniser = WhisperRecogniser(model)
        recogniser.answers = RememberingScorer(model)
        return Watched(recogniser)
    language = LANGUAGES.get(options.engine, "en")
    choice = EarChoice(
        engine=options.engine, language=language, vosk_folder=find_model() if language == "ko" else None
    )
    recogniser = choose_recogniser(choice)
    if isinstance(recogniser, PocketSphinxRecogniser):
        remember_decodings(recogniser._answers)
    return Watched(recogniser)


def _group(clips: Iterable[Spoken]) -> list[list[Spoken]]:
    """By voice; the real speakers, who say little each, together."""
    groups: dict[str, list[Spoken]] = {}
    for clip in clips:
        groups.setdefault("" if clip.path else clip.speaker, []).append(clip)
    return list(groups.values())


def summarise(trials: list[Trial]) -> dict[str, object]:
    """Counts, shares with their 95 % bounds, and what went wrong."""
    answers = [trial for trial in trials if trial.spoken.answer is not None]
    foreign = [trial for trial in trials if trial.spoken.answer is None]
    figures: dict[str, object] = {"clips": len(trials)}
    if answers:
        understood = sum(trial.is_understood for trial in answers)
        another = [t for t in answers if not t.is_understood and t.heard]
        expectations = sum(trial.expectations for trial in answers)
        wrong = [w for trial in answers for w in trial.wrong_accepted]
        figures |= {
            "understood": understood,
            "understood_percent": round(100 * understood / len(answers), 2),
            "understood_bounds_95": find_bounds(understood, len(answers)),
            "heard_as_another": len(another),
            "heard_as_another_bounds_95": find_bounds(len(another), len(answers)),
            "not_understood": len(answers) - understood - len(another),
            "wrong_expectations": expectations,
            "wrong_accepted": len(wrong),
            "wrong_accepted_bounds_95": find_bounds(len(wrong), expectations),
        }
    if foreign:
        taken = sum(bool(trial.heard) for trial in foreign)
        figures |= {
            "foreign": len(foreign),
            "taken": taken,
            "taken_bounds_95": find_bounds(taken, len(foreign)),
        }
    return figures


def render(name: str, trials: tuple[Trial, ...], figures: dict[str, object]) -> list[str]:
    """The figures for people: all of it, then by voice and form, the mistakes, and the curve of margins."""
    lines = [f"== {name}", *(f"{key:<28} {value}" for key, value in figures.items())]
    lines += _render_groups(trials, "speaker", lambda t: "real" if t.spoken.path else t.spoken.speaker)
    lines += _render_groups(trials, "form", lambda t: t.spoken.form)
    reasons = Counter(reason for t in trials if not t.heard for reason in t.reasons or ["no voice found"])
    lines += [
        "not understood because",
        *(f"  {count:5}  {reason}" for reason, count in reasons.most_common()),
    ]
    for trial in trials:
        if trial.wrong_accepted or (trial.heard and not trial.is_understood):
            wrong = f"  WRONG ACCEPTED {trial.wrong_accepted}" if trial.wrong_accepted else ""
            lines.append(f"  {trial.spoken.speaker:<22} '{trial.spoken.words}' heard {trial.heard}{wrong}")
    return [*lines, *_render_margins(trials)]


def _render_groups(trials: tuple[Trial, ...], what: str, group: Callable[[Trial], str]) -> list[str]:
    lines = [f"{what:<26}  clips understood another"]
    for name in sorted({group(trial) for trial in trials}):
        found = [trial for trial in trials if group(trial) == name]
        understood = sum(trial.is_understood for trial in found)
        another = sum(bool(trial.heard) and not trial.is_understood for trial in found)
        lines.append(f"{name:<26} {len(found):6} {understood:10} {another:7}")
    return lines


def _render_margins(trials: tuple[Trial, ...]) -> list[str]:
    """What each margin would let through, where candidates are known."""
    known = [trial for trial in trials if trial.candidates]
    if not known:
        return []
    lines = ["margin  likeliest is right  likeliest is another"]
    for margin in MARGINS:
        clear = [trial for trial in known if find_margin(trial) >= margin]
        right = sum(trial.candidates[0].answer == trial.spoken.answer for trial in clear)
        lines.append(f"{margin:6} {right:19} {len(clear) - right:21}")
    return lines


def find_margin(trial: Trial) -> float:
    """How far the second likeliest answer lies below the likeliest."""
    scores = [candidate.score for candidate in trial.candidates[:2]]
    return scores[0] - scores[1] if len(scores) == 2 else MARGINS[-1]


def _keep(path: Path | None, trial: Trial) -> None:
    """One line a trial, as it comes: a run that is stopped has not been for nothing."""
    if path is None:
        return
    with path.open("a", encoding="utf-8") as file:
        print(json.dumps(_tell(trial)), file=file)


def _tell(trial: Trial) -> dict[str, object]:
    best = [(str(c.answer), c.way, round(c.score, 3), round(c.mean, 3)) for c in trial.candidates[:4]]
    return {
        "words": trial.spoken.words,
        "answer": str(trial.spoken.answer),
        "form": trial.spoken.form,
        "speaker": trial.spoken.speaker,
        "heard": trial.heard,
        "reasons": trial.reasons,
        "expectations": trial.expectations,
        "wrong_accepted": trial.wrong_accepted,
        "voice_s": round(trial.voice_s, 3),
        "candidates": best,
    }


def _parse(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m audio_tests.answers", description=__doc__)
    shared = os.environ.get("COACH_SHARED")
    speech = Path(shared) / "data" / "speech" if shared else None
    parser.add_argument("--engine", choices=("whisper", "pocketsphinx", "vosk"), default="whisper")
    parser.add_argument("--sets", nargs="+", choices=SETS, default=["headings"])
    parser.add_argument(
        "--half", choices=("choose", "report"), default="report", help="limits come from the other"
    )
    parser.add_argument("--step", type=int, default=1, metavar="N", help="every Nth heading only")
    parser.add_argument("--cabin", type=float, metavar="SNR_DB", help="default: hiss only")
    parser.add_argument("--seed", type=int, default=0, metavar="N", help="the noise of the first voice")
    parser.add_argument(
        "--minutes", type=float, default=math.inf, metavar="N", help="stop a set after so long"
    )
    parser.add_argument("--beside", choices=("flight",), help="with a leg's phrases listened for too")
    parser.add_argument(
        "--speech", type=Path, default=speech, metavar="FOLDER", help="recordings and manifest.csv"
    )
    parser.add_argument(
        "--keep", type=Path, metavar="FILE", help="add each trial to a file, one JSON line each"
    )
    parser.add_argument("--json", action="store_true")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
