"""The ear's child process: `python -m coach.voice.ear_child CHOICE`.

Loads a recogniser and answers every block of sound with its facts, until the parent says stop or is gone.
Native libraries print, hang and exit: here they can do no harm. Prints nothing: descriptor 1 is the parent's
pipe and is taken away from everything else before a library is loaded.
"""

from __future__ import annotations

import os
import signal
import sys
from typing import BinaryIO

from coach.errors import CoachError
from coach.voice.cleanup import EchoCanceller
from coach.voice.ear import Ear
from coach.voice.ear_frames import (
    CHECK,
    EXPECT,
    FACTS,
    HEAR,
    LISTEN,
    READING,
    READY,
    REFUSED,
    STOP,
    TELL,
    UNKNOWN,
    decode_answer,
    decode_block,
    decode_choice,
    decode_ways,
    encode_facts,
    encode_frame,
    encode_reading,
    encode_words,
    read_frame,
)
from coach.voice.personal import PersonalRecogniser
from coach.voice.recogniser import choose_recogniser
from coach.voice.voice_activity import load_voice_activity

NICE = 5
"""The ear gives way to what sounds."""


def run_child(choice_text: str) -> int:
    """Serve the parent on descriptors 0 and 1; 0 when told to stop, 3 where no ear can be loaded."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides when to stop
    answers = _take_stdout()
    # Read by OpenMP when a recogniser loads it: its threads sleep between two tasks instead of spinning,
    # which was a quarter of what a rehearsal took (measured).
    os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")
    try:
        choice = decode_choice(choice_text)
        recogniser = PersonalRecogniser(choose_recogniser(choice), choice.profile)
        ear = Ear(recogniser, load_voice_activity(), EchoCanceller())
    except CoachError as error:
        _answer(answers, REFUSED, str(error).encode())
        return error.exit_status
    _stand_back()
    _answer(answers, READY, ear.name.encode())
    _serve(ear, recogniser, sys.stdin.buffer, answers)
    return 0


def _stand_back() -> None:
    """Let sound go first, and keep this thread, which runs the voice-activity model, on one core.

    The model's library hands each frame to threads of its own and waits for them: 163 switches and 1.7 ms of
    processor time a frame on two cores, 1.0 ms on one (measured). The recogniser has its threads already.
    """
    if hasattr(os, "nice"):
        os.nice(NICE)
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})


def _take_stdout() -> BinaryIO:
    """The pipe to the parent; what libraries print on descriptor 1 goes to descriptor 2 from now on."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return answers


def _serve(ear: Ear, recogniser: PersonalRecogniser, orders: BinaryIO, answers: BinaryIO) -> None:
    while (frame := read_frame(orders.read)) is not None:
        kind, body = frame
        if kind == STOP:
            return
        if kind == LISTEN:
            ear.listen_for(decode_ways(body))
        elif kind == EXPECT:
            ear.expect(decode_answer(body))
        elif kind == CHECK:
            _answer(answers, UNKNOWN, encode_words(ear.find_unknown_words(decode_ways(body))))
        elif kind == TELL:
            _answer(answers, READING, encode_reading(recogniser.take_reading()))
        elif kind == HEAR:
            _answer(answers, FACTS, encode_facts(ear.hear(*decode_block(body))))


def _answer(answers: BinaryIO, kind: bytes, body: bytes) -> None:
    answers.write(encode_frame(kind, body))
    answers.flush()


if __name__ == "__main__":
    sys.exit(run_child(sys.argv[1]))
