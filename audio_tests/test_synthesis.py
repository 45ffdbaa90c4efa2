"""The real voice: the same sound each time, with and without a system espeak-ng, quickly enough."""

import hashlib
import os
import shutil
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from coach.errors import SetupError
from coach.voice.pcm import RATE_HZ
from coach.voice.synthesis import Synthesiser, default_voices, describe

SYSTEM_LIBRARIES = "/lib/*/libespeak-ng.so.1 /usr/lib/*/libespeak-ng.so.1 /usr/local/lib/libespeak-ng.so.1"

PROMPTS = ("Left, one niner five", "Right, zero one five", "Inbound, zero six zero", "Hold heading", "Time")

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")


@pytest.fixture(scope="module", autouse=True)
def _voice():
    try:
        describe()
    except SetupError as exc:
        pytest.skip(str(exc))


def digest(sound):
    return hashlib.sha256(sound.tobytes()).hexdigest()


def test_text_rendered_by_many_children_at_once_is_always_the_same_sound():
    def render(_):
        return digest(Synthesiser().render(PROMPTS[0]))

    with ThreadPoolExecutor(3 * (os.cpu_count() or 1)) as pool:
        assert len(set(pool.map(render, range(60)))) == 1


@pytest.mark.parametrize("text", PROMPTS + DIGITS)
def test_sound_begins_and_ends_with_the_words(text):
    sound = Synthesiser().render(text).astype(int)
    peak = np.abs(sound).max()
    assert abs(sound[0]) >= 0.009 * peak
    assert np.abs(sound[: RATE_HZ // 50]).max() >= 0.02 * peak
    assert 0.3 * RATE_HZ < sound.size < 2.5 * RATE_HZ


def test_coach_and_pilot_sound_different():
    coach, pilot = default_voices()
    assert coach != pilot
    one, other = Synthesiser(coach).render(PROMPTS[0]), Synthesiser(pilot).render(PROMPTS[0])
    n_samples = min(one.size, other.size)
    assert abs(np.corrcoef(one[:n_samples], other[:n_samples])[0, 1]) < 0.5


def test_variant_is_not_silently_the_plain_voice():
    assert digest(Synthesiser("en-us+f3").render("Time")) != digest(Synthesiser("en-us").render("Time"))


def test_faster_rate_takes_less_time():
    slow, fast = Synthesiser(rate_wpm=123).render(PROMPTS[0]), Synthesiser(rate_wpm=178).render(PROMPTS[0])
    assert fast.size < 0.85 * slow.size


def test_synthesis_prints_nothing():
    """In a process of its own: a sound card of another test may still be complaining in this one."""
    command = "from coach.voice.synthesis import Synthesiser; Synthesiser().render('Right')"
    done = subprocess.run([sys.executable, "-c", command], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")


def test_voice_of_the_wheel_speaks_where_the_system_has_none():
    """Hide the system's copies under /dev/null, in a mount namespace of the child's own."""
    if os.geteuid() != 0 or shutil.which("unshare") is None:
        pytest.skip("hiding system libraries needs root and unshare")
    pytest.importorskip("espeakng_loader", reason="espeakng-loader is not installed")
    hide = (
        f'for copy in $(ls {SYSTEM_LIBRARIES} 2>/dev/null); do mount --bind /dev/null $copy; done; exec "$@"'
    )
    program = (
        "import ctypes, contextlib\n"
        "with contextlib.suppress(OSError):\n"
        "    ctypes.CDLL('libespeak-ng.so.1')\n"
        "    raise SystemExit('a system copy is still there')\n"
        "from coach.voice.synthesis import Synthesiser\n"
        "print(Synthesiser().render('Hold heading').size)\n"
    )
    done = subprocess.run(
        ["unshare", "-m", "sh", "-c", hide, "sh", sys.executable, "-c", program],
        capture_output=True,
        text=True,
    )
    if "unshare failed" in done.stderr or "mount:" in done.stderr:
        pytest.skip(f"system libraries cannot be hidden here: {done.stderr.strip()}")
    assert done.stderr == ""
    assert int(done.stdout) > 0.5 * RATE_HZ


def test_prompt_rendered_in_flight_is_ready_within_half_a_second():
    synthesiser = Synthesiser()
    synthesiser.render("Time")
    started_s = time.perf_counter()
    synthesiser.render("Say the coming heading")
    took_s = time.perf_counter() - started_s
    print(f"\none utterance in a fresh child: {took_s * 1e3:.0f} ms")
    assert took_s < 0.5
