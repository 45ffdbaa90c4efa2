"""One utterance in a process of its own: reads one request, speaks into a file with pyttsx3, replies, ends.

Run by path by `coach.voice.synthesis`; never imports the coach, never plays anything, and keeps what native
libraries print away from the pipe of the reply.
"""

from __future__ import annotations

import ctypes
import json
import os
import signal
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Any

LIFE_S = 30
"""The child ends itself after this long, also when nobody is left to kill it."""

Reply = dict[str, Any]


def main() -> None:
    """Answer one request from standard input on standard output, one JSON object each."""
    reply_to = _keep_native_output_apart()
    _end_yourself_in_time()
    request = json.loads(sys.stdin.readline())
    try:
        reply = _answer(request)
    except Exception as exc:
        reply = {"error": f"{type(exc).__name__}: {exc}".splitlines()[0]}
    with os.fdopen(reply_to, "w") as pipe:
        json.dump(reply, pipe)
    os._exit(0)  # espeak-ng may hang or fail an assertion while it is being torn down


def _keep_native_output_apart() -> int:
    """Point descriptor 1 at 2, and return a descriptor of the pipe that only the reply uses."""
    reply_to = os.dup(1)
    os.dup2(2, 1)
    return reply_to


def _end_yourself_in_time() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(signal, "alarm"):
        signal.alarm(LIFE_S)


def _answer(request: dict[str, Any]) -> Reply:
    if sys.platform.startswith("linux"):
        _find_library()
        engine = _start_on_this_thread()
    else:
        import pyttsx3

        engine = pyttsx3.init()
    if request["do"] == "describe":
        return _describe(engine)
    return _speak(engine, request)


def _find_library() -> None:
    """Load the espeak-ng of the package espeakng-loader where the system has none.

    Its soname is the one that pyttsx3 asks for, so that pyttsx3 finds it loaded.
    """
    try:
        ctypes.CDLL("libespeak-ng.so.1")
    except OSError:
        import espeakng_loader

        os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
        ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)


def _start_on_this_thread() -> Any:
    """Return pyttsx3's engine with espeak-ng working on this thread alone.

    pyttsx3 lets espeak-ng work on a thread of its own: voice and rate are taken over in any order, and on
    a busy machine 4 of 300 texts came out at another rate and 18 not at all (measured; on this thread none of
    600). Here the end of an utterance is told by a call without sound, which pyttsx3 does not know: it is
    given the event that it waits for.
    """
    import pyttsx3  # looks for the native library while it is imported
    from pyttsx3.drivers import _espeak

    _espeak.AUDIO_OUTPUT_RETRIEVAL = _espeak.AUDIO_OUTPUT_SYNCHRONOUS
    engine = pyttsx3.init()
    take = engine.proxy._driver._onSynth
    end = (_espeak.EVENT * 2)()
    end[0].type = _espeak.EVENT_MSG_TERMINATED
    _espeak.SetSynthCallback(
        lambda sound, n_samples, events: take(sound, n_samples, events if sound else end)
    )
    return engine


def _describe(engine: Any) -> Reply:
    name, data_path = _native_version()
    variants = sorted(path.name for path in data_path.glob("voices/!v/*")) if data_path else []
    voices = [{"name": voice.id, "languages": _languages(voice)} for voice in engine.getProperty("voices")]
    return {"engine": f"{name}, pyttsx3 {version('pyttsx3')}", "voices": voices, "variants": variants}


def _languages(voice: Any) -> list[str]:
    return [str(language).lower().replace("_", "-") for language in voice.languages or ()]


def _native_version() -> tuple[str, Path | None]:
    """Return the synthesiser's name with its version, and the folder of its voices where it has one."""
    library = getattr(sys.modules.get("pyttsx3.drivers._espeak"), "dll", None)
    if library is None:
        return sys.platform, None
    path = ctypes.c_char_p()
    library.espeak_Info.restype = ctypes.c_char_p
    number = library.espeak_Info(ctypes.byref(path)) or b"?"
    return f"espeak-ng {number.decode()}", Path((path.value or b"").decode())


def _speak(engine: Any, request: dict[str, Any]) -> Reply:
    engine.setProperty("voice", request["voice"])
    engine.setProperty("rate", request["rate_wpm"])
    engine.setProperty("volume", 1.0)
    engine.save_to_file(request["text"], request["path"])
    engine.runAndWait()
    return {"path": request["path"]}


if __name__ == "__main__":
    main()
