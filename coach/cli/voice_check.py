"""`coach check --voice`: the pilot says each phrase three times; which are weak, and what follows from it.

With `--list` it tells what is kept on this machine, with `--delete` it removes it.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from contextlib import ExitStack
from functools import partial
from pathlib import Path

from coach.cli.native_output import native_output_aside
from coach.cli.output import line, print_json
from coach.cli.planning import settings_of, table_of
from coach.errors import Problem, SettingsError, SetupError
from coach.screen.keys import KeySource, find_source
from coach.session.phrases import PhraseTable
from coach.session.voice_profile import TAKES, Take, Verdict, find_stronger
from coach.store.voice_profiles import (
    FORGET,
    delete_profile,
    delete_recordings,
    list_recordings,
    profile_path,
    read_profile,
    recordings_folder,
    voice_folder,
    write_profile,
)
from coach.voice_check import END, SKIP, Checked, check_voice, make_profile

HEAD = ("phrase", "understood", "to spare", "threshold", "weak because")
"""`to spare`: how far the lowest score lies above the usual threshold."""

RECORDINGS, PROFILE = "recordings", "profile"
DELETE = "coach check --voice --delete recordings"


def check_options(options: argparse.Namespace) -> None:
    """`SettingsError` where `--list` or `--delete` stands without `--voice`."""
    for name in ("list", "delete"):
        if getattr(options, name) and not options.voice:
            raise SettingsError(Problem(where=f"--{name}", expected="--voice before it", got="none"))
    if options.list and options.delete:
        raise SettingsError(Problem(where="--list", expected="to stand without --delete", got="both"))


def run(options: argparse.Namespace) -> int:
    """Say, list or delete."""
    folder = voice_folder()
    if options.list:
        return _list(folder, is_json=options.json)
    if options.delete:
        return _delete(folder, options.delete, is_json=options.json)
    return _check(options, folder)


def _list(folder: Path, *, is_json: bool) -> int:
    recordings = list_recordings(folder)
    profile = read_profile(folder)
    if is_json:
        rows = [{"path": str(r.path), "seconds": r.seconds} for r in recordings]
        print_json({"profile": str(profile_path(folder)) if profile else None, "recordings": rows})
        return 0
    for recording in recordings:
        length = "broken" if recording.seconds is None else f"{recording.seconds:4.1f} s"
        line(f"{length}  {recording.path}")
    line(_count(len(recordings), "recording") + (f"; `{DELETE}` deletes them" if recordings else ""))
    if profile is None:
        line("No voice profile: the usual thresholds are used.")
        return 0
    moved = _count(len(profile.shifts), "threshold")
    line(
        f"Voice profile of {profile.made_utc:%Y-%m-%d}, {moved} moved, made "
        f"with {profile.recogniser}: {profile_path(folder)}; `{FORGET}` removes it"
    )
    return 0


def _delete(folder: Path, what: str, *, is_json: bool) -> int:
    deleted_n = delete_recordings(folder) if what == RECORDINGS else 0
    was_there = delete_profile(folder) if what == PROFILE else False
    if is_json:
        print_json({"deleted_recordings": deleted_n, "deleted_profile": was_there})
    elif what == RECORDINGS:
        line(f"{_count(deleted_n, 'recording')} deleted")
    else:
        line("Voice profile removed: the usual thresholds are used" if was_there else "There was no profile")
    return 0


def _check(options: argparse.Namespace, folder: Path) -> int:
    settings = settings_of(options)
    phrases = table_of(settings)
    before = read_profile(folder)
    with ExitStack() as stack:
        stderr = stack.enter_context(native_output_aside())
        say = partial(print, file=stderr, flush=True) if options.json else line
        prompter = TerminalPrompter(say, _open_keys(stack, say))
        prompter.tell(f"Say each phrase {TAKES} times, in the cabin if possible, as you would in flight.")
        prompter.tell(
            f"{SKIP}: skip the phrase. {END}: end, what was said counts. Ctrl-C: end, nothing counts."
        )
        prompter.tell(
            f"The takes stay on this machine, in {recordings_folder(folder)}; `{DELETE}` deletes them."
        )
        checked = check_voice(settings, phrases, prompter, folder)
    path = write_profile(folder, make_profile(checked, settings, before)) if checked.phrases else None
    if options.json:
        print_json(_as_json(checked, path, folder))
    elif path is None:
        line("Nothing was said; the profile stays as it was.")
    else:
        _print_report(checked, path, phrases)
    return 0


def _open_keys(stack: ExitStack, say: Callable[[str], None]) -> KeySource | None:
    keys = find_source()
    try:
        keys.open()
    except SetupError as error:
        say(f"No keys. {error}")
        return None
    stack.callback(keys.close)
    return keys


class TerminalPrompter:
    """Shows plain lines and takes single keys."""

    def __init__(self, say: Callable[[str], None], keys: KeySource | None) -> None:
        self._say = say
        self._keys = keys

    def ask(self, way: str, *, n: int, of: int, is_other: bool) -> None:
        """A line with what is to be said."""
        again = "  (weak; is this way stronger?)" if is_other else ""
        self._say(f"{n:3}/{of}  Say: {way}{again}")

    def show(self, take: Take, *, n: int, is_clipped: bool) -> None:
        """A line with what became of a take."""
        what = f"understood: {take.understood}" if take.understood else f"not understood: {take.reason}"
        loud = "; too loud, turn the microphone down" if is_clipped else ""
        self._say(f"        {n}  {what}{loud}")

    def tell(self, text: str) -> None:
        """A line."""
        self._say(text)

    def find_key(self) -> str | None:
        """The first of the keys pressed that means something."""
        if self._keys is None:
            return None
        try:
            pressed = self._keys.read(0.0)
        except OSError:
            self._keys = None
            return None
        return next((key.lower() for key in pressed or () if key.lower() in (SKIP, END)), None)


def _print_report(checked: Checked, path: Path, phrases: PhraseTable) -> None:
    line()
    for cells in (HEAD, *(_row(verdict) for ways in checked.phrases for verdict in ways)):
        line("{:<28} {:>10} {:>9} {:>9}  {}".format(*cells).rstrip())
    line()
    weak = [ways for ways in checked.phrases if ways[0].weaknesses]
    line(f"{len(weak)} of {len(checked.phrases)} phrases are weak with this voice and microphone.")
    for ways in weak:
        _print_advice(ways, phrases)
    line(f"Cabin {_decibel(checked.cabin_rms)} below full scale. Recogniser: {checked.recogniser}.")
    moved = (
        f"{_count(len(checked.shifts), 'threshold')} moved" if checked.shifts else "No threshold had to move"
    )
    line(f"{moved}: {path}, used from the next flight on; `{FORGET}` removes it.")


def _print_advice(ways: tuple[Verdict, ...], phrases: PhraseTable) -> None:
    said, stronger = ways[0].said, find_stronger(ways)
    if stronger is not None:
        other = stronger.said
        against = (
            f"{other.understood_n} of {len(other.takes)} against {said.understood_n} of {len(said.takes)}"
        )
        line(f"- say '{other.way}' rather than '{said.way}': {against}")
        return
    other_ways = (
        "no other way of saying it is stronger" if len(ways) > 1 else "there is no other way of saying it"
    )
    phrase = phrases.find_phrase(said.phrase)
    key = "" if phrase is None or phrase.key is None else f"; the key {phrase.key} always works"
    line(f"- '{said.way}': {other_ways}{key}")


def _row(verdict: Verdict) -> tuple[str, ...]:
    said = verdict.said
    return (
        said.way,
        f"{said.understood_n} of {len(said.takes)}",
        "" if verdict.surplus is None else f"{verdict.surplus:+.2f}",
        f"{verdict.shift:+.2f}" if verdict.shift else "usual",
        ", ".join(verdict.weaknesses),
    )


def _count(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def _decibel(rms: float) -> str:
    return f"{-20 * math.log10(max(rms, 1e-6)):.0f} dB"


def _as_json(checked: Checked, path: Path | None, folder: Path) -> dict[str, object]:
    return {
        "recogniser": checked.recogniser,
        "profile": None if path is None else str(path),
        "recordings": str(recordings_folder(folder)),
        "cabin_dbfs": round(20 * math.log10(max(checked.cabin_rms, 1e-6)), 1),
        "phrases": [_phrase_as_json(ways) for ways in checked.phrases],
    }


def _phrase_as_json(ways: tuple[Verdict, ...]) -> dict[str, object]:
    stronger = find_stronger(ways) if ways[0].weaknesses else None
    return {
        "phrase": ways[0].said.phrase,
        "is_weak": bool(ways[0].weaknesses),
        "say_instead": None if stronger is None else stronger.said.way,
        "ways": [
            {
                "way": verdict.said.way,
                "takes": [
                    {"understood": t.understood, "reason": t.reason, "score": t.score, "margin": t.margin}
                    for t in verdict.said.takes
                ],
                "to_spare": verdict.surplus,
                "shift": verdict.shift,
                "weaknesses": list(verdict.weaknesses),
            }
            for verdict in ways
        ],
    }
