"""How well the pilot is heard over the coach from an open loudspeaker: `python -m audio_tests.open_speaker`.

The coach's prompts sound through a room into the microphone, as loud as the pilot; he says the phrases of a
leg over every other one. The ear is the child process that flies, its echo canceller included. Never judges
how good a figure is.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass

from audio_tests.score import LEG, find_bounds
from audio_tests.voices import say, voice_names
from coach.drill.plan import plan_drill
from coach.errors import CoachError
from coach.rehearsal.cabin import RATE_HZ, Cabin
from coach.rehearsal.headset import Headset
from coach.rehearsal.microphone import Fact, Microphone
from coach.rehearsal.recording import RATIO
from coach.rehearsal.sound import put_up_loudspeaker
from coach.session.actions import Say
from coach.session.events import NotUnderstood, PhraseHeard
from coach.session.repertoire import all_prompts
from coach.store.drills import read_drill
from coach.store.phrases import read_phrases
from coach.voice.ear_process import EarProcess
from coach.voice.recogniser import EarChoice
from coach.voice.synthesis import Synthesiser, default_voices

STEP = RATE_HZ // 20
SETTLE_S = 4.0
BETWEEN_S = 2.5
CUE_S = 0.3
NEAR_S = 0.6
"""A word was heard where its onset is dated so near."""


@dataclass(slots=True, kw_only=True)
class Count:
    """What came of the words and the prompts."""

    prompts: int = 0
    words: int = 0
    right: int = 0
    wrong: int = 0
    false: int = 0
    """Phrases heard where the pilot said nothing."""


class Cockpit:
    """A session clock over headset, microphone and ear."""

    def __init__(self, ear: EarProcess, snr_db: float, echo_db: float, seed: int, voice: str) -> None:
        self._coach = Synthesiser(default_voices()[0])
        self.texts = all_prompts(plan_drill(read_drill("eight-spoke", {})))
        self._headset = Headset(self._coach.render, is_open=True)
        prompt = self._coach.render(self.texts[0])
        speaker = put_up_loudspeaker(self._headset, prompt, snr_db, above_pilot_db=echo_db, seed=seed)
        table = read_phrases()
        pilot = lambda text: say(text, voice)  # noqa: E731
        self._microphone = Microphone(ear, table, pilot, Cabin(seed), snr_db, speaker)
        self._microphone.listen_for(LEG)
        self._cursor = 0
        self._n = 0

    @property
    def now_s(self) -> float:
        """The session clock."""
        return self._cursor / RATE_HZ

    def pass_time(self, seconds: float) -> list[Fact]:
        """What is heard in that time."""
        facts: list[Fact] = []
        for _ in range(round(seconds * RATE_HZ / STEP)):
            self._cursor += STEP
            facts += self._microphone.advance(self._cursor, self._headset.advance(RATIO * self._cursor))[1]
        return facts

    def prompt(self, text: str) -> float:
        """Begin a prompt; how long it lasts with its cue tone, s."""
        self._n += 1
        self._headset.do(
            Say(prompt=self._n, text=text, due_s=None, stale_s=self.now_s + 9.0, is_time_call=False)
        )
        return CUE_S + len(self._coach.render(text)) / (RATIO * RATE_HZ)

    def say(self, phrase: str) -> float:
        """Begin a word; how long it lasts, s."""
        return self._microphone.say(phrase)


def measure(count: Count, cockpit: Cockpit, chance: random.Random, n_prompts: int) -> None:
    """Prompts one after the other, a word over every second one."""
    cockpit.pass_time(SETTLE_S)
    longest = sorted(cockpit.texts, key=len)[len(cockpit.texts) // 3 :]
    cockpit.pass_time(cockpit.prompt(cockpit.texts[0]) + BETWEEN_S)
    for n in range(n_prompts):
        begun_s = cockpit.now_s
        lasts_s = cockpit.prompt(chance.choice(longest))
        if n % 2 == 0:
            _tally(count, cockpit.pass_time(lasts_s + BETWEEN_S), None, begun_s)
            count.prompts += 1
            continue
        facts = cockpit.pass_time(chance.uniform(0.3, max(0.4, lasts_s - 0.6)))
        said_s, phrase = cockpit.now_s, chance.choice(LEG)
        word_s = cockpit.say(phrase)
        facts += cockpit.pass_time(max(word_s, lasts_s - (said_s - begun_s)) + BETWEEN_S)
        count.words += 1
        _tally(count, facts, phrase, said_s)


def _tally(count: Count, facts: list[Fact], phrase: str | None, said_s: float) -> None:
    heard = [fact for fact in facts if isinstance(fact, PhraseHeard)]
    his = [fact for fact in heard if phrase is not None and abs(fact.onset_s - said_s) < NEAR_S]
    count.right += bool(his) and his[0].phrase == phrase
    count.wrong += bool(his) and his[0].phrase != phrase
    count.false += len(heard) - len(his[:1])
    for fact in heard:
        if fact not in his[:1]:
            print(f"  not said: '{fact.phrase}'", file=sys.stderr)
    if phrase is not None and not (his and his[0].phrase == phrase):
        reasons = [fact.reason for fact in facts if isinstance(fact, NotUnderstood)]
        print(f"  '{phrase}': {[fact.phrase for fact in heard]} {reasons}", file=sys.stderr)


def main(arguments: list[str] | None = None) -> int:
    """Measure in every voice of this machine."""
    parser = argparse.ArgumentParser(prog="python -m audio_tests.open_speaker", description=__doc__)
    parser.add_argument("--engine", choices=("whisper", "vosk", "pocketsphinx"), default="whisper")
    parser.add_argument("--prompts", type=int, default=40, help="in each voice; a word over every other one")
    parser.add_argument("--cabin", type=float, default=20.0, help="SNR of the pilot's voice, dB")
    parser.add_argument("--echo", type=float, default=0.0, help="the coach above the pilot, dB")
    options = parser.parse_args(arguments)
    count = Count()
    try:
        ear = EarProcess(EarChoice(engine=options.engine), hear_deadline_s=60.0)
        ear.start()
        for seed, voice in enumerate(voice_names(), 1):
            cockpit = Cockpit(ear, options.cabin, options.echo, seed, voice)
            measure(count, cockpit, random.Random(seed), options.prompts)
        ear.close()
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_status
    print(json.dumps(dict(render(ear.name, options, count)), indent=1))
    return 0


def render(engine: str, options: argparse.Namespace, count: Count) -> Iterator[tuple[str, object]]:
    """The figures by name."""
    yield "engine", engine
    yield "snr_db", options.cabin
    yield "coach_above_pilot_db", options.echo
    yield "words_over_prompts", count.words
    yield "right", count.right
    yield "right_95", find_bounds(count.right, count.words)
    yield "wrong", count.wrong
    yield "prompts_alone", count.prompts
    yield "false_accepts", count.false


if __name__ == "__main__":
    sys.exit(main())
