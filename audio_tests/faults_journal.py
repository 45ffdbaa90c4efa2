"""Faults of the coach's process and of its journal: killed, power lost, journals that are not ours.

The rehearsal that is killed is `coach rehearse --typed --journal` in a process of its own. What it acted on
it writes to a second file by itself: nothing is believed that was not done.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from audio_tests.fault_trials import Chance, Trial
from coach.cli.arguments import build_parser
from coach.cli.planning import read_plan, table_of
from coach.cli.rehearsed_journal import header_of, rehearsed_journal
from coach.errors import JournalError
from coach.flight import Choice, options_of
from coach.rehearsal.rehearse import Conditions, rehearse
from coach.session.actions import Action, Say, Show
from coach.session.events import Event
from coach.session.journal import Step, decode_line, encode_line, parse_journal, split_lines
from coach.session.machine import Session
from coach.session.replay import replay
from coach.store.journal_writer import JournalWriter
from coach.store.journals import begin_journal, read_journal, resume_journal
from coach.store.recording_file import RecordingFile

FLOWN = ("rehearse", "eight-spoke", "--typed", "--set", "spokes=2", "--journal")


class Acting:
    """A journal that notes what was acted on, the moment before it is: the loop acts when `write` returns."""

    def __init__(self, journal: object, late_n: Callable[[], int], note: int, pause_s: float = 0.0) -> None:
        self._journal = journal
        self._late_n = late_n
        self._note = note
        self._pause_s = pause_s

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        before = self._late_n()
        self._journal.write(event, actions)  # type: ignore[attr-defined]
        lines = [encode_line(event), *map(encode_line, actions)]
        is_late = self._late_n() > before
        os.write(self._note, json.dumps({"late": is_late, "lines": lines}).encode() + b"\n")
        time.sleep(self._pause_s)


def fly_noting(folder: str, noted: str, pause_s: float = 0.0, *more: str) -> None:
    """`coach rehearse --typed --journal FOLDER`, and a line in `noted` for each event acted on."""
    options = build_parser().parse_args([*FLOWN, folder, *more])
    plan, settings = read_plan(options)
    note = os.open(noted, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    with rehearsed_journal(options, plan, lambda _line: None) as kept:
        late_n = lambda: getattr(kept.journal, "late_n", 0)  # noqa: E731
        journal = Acting(kept, late_n, note, pause_s)
        conditions = Conditions(table=table_of(settings), settings=settings, typed=True, journal=journal)  # type: ignore[arg-type]
        rehearse(plan, conditions)
    os.close(note)


def try_kills(times: int, chance: Chance) -> Iterator[Trial]:
    """`kill -9` at random moments of the rehearsal; then it is resumed to its end."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["audio_tests.faults_journal"])
    with tempfile.TemporaryDirectory(prefix="coach-faults-") as scratch:
        whole, lasts_s = _fly_whole(context, Path(scratch))
        for n in range(times):
            folder = Path(scratch) / f"{n}"
            _kill(context, folder, chance.uniform(0.0, lasts_s))
            yield _judge_kill(folder, whole)


def _fly_whole(
    context: multiprocessing.context.ForkServerContext, scratch: Path
) -> tuple[tuple[Step, ...], float]:
    """The flight as it is when nothing happens, and how long it takes."""
    folder = scratch / "whole"
    folder.mkdir()
    for _ in range(2):  # the first one is slower
        began_s = time.monotonic()
        process = context.Process(target=fly_noting, args=(str(folder), str(folder / "acted")))
        process.start()
        process.join()
        lasts_s = time.monotonic() - began_s
    (path, *_) = sorted(folder.glob("*.jsonl"))
    return read_journal(path).journal.steps, lasts_s


def _kill(context: multiprocessing.context.ForkServerContext, folder: Path, after_s: float) -> None:
    folder.mkdir()
    process = context.Process(target=fly_noting, args=(str(folder), str(folder / "acted")))
    process.start()
    # From the moment the journal is there: before it there is nothing to lose.
    while not list(folder.glob("*.jsonl")) and process.is_alive():
        time.sleep(0.0005)
    time.sleep(after_s * 0.95)
    assert process.pid is not None
    if process.is_alive():
        os.kill(process.pid, signal.SIGKILL)
    process.join()


def _judge_kill(folder: Path, whole: tuple[Step, ...]) -> Trial:
    (path,) = folder.glob("*.jsonl")
    acted = _read_acted(folder / "acted")
    try:
        stored = read_journal(path)
    except JournalError as error:
        if acted:
            return Trial(why=f"the journal: {error}", lost=len(acted))
        return Trial()  # killed before the header was whole: nothing had been done yet
    steps = stored.journal.steps
    lost = sum(not late and (n >= len(steps) or steps[n] != step) for n, (late, step) in enumerate(acted))
    if lost:
        return Trial(why="an event that was acted on is not in the journal", lost=lost)
    if stored.journal.is_closed:
        return Trial()  # the flight was over
    return _judge_resumed(folder, path, steps, whole)


def _judge_resumed(folder: Path, path: Path, steps: tuple[Step, ...], whole: tuple[Step, ...]) -> Trial:
    """The next prompt after both ways of going on is the one that would have come."""
    expected = _find_next_prompt(whole[len(steps) :])
    began_s = time.monotonic()
    if _find_next_live(steps, whole) != expected:
        return Trial(why="another prompt comes next (fly)")
    recovered_s = time.monotonic() - began_s
    fly_noting(str(folder), str(folder / "acted again"), 0.0, "--resume")
    again = read_journal(path).journal
    if not again.is_closed or again.steps != whole:
        return Trial(why="another flight follows (rehearse)")
    return Trial(recovered_s=recovered_s)


def _find_next_live(steps: tuple[Step, ...], whole: tuple[Step, ...]) -> str | None:
    """As `coach fly --resume` stands the session up again."""
    plan, settings = read_plan(build_parser().parse_args([*FLOWN, "."]))
    choice = Choice(plan=plan, settings=settings, table=table_of(settings))
    session = Session(choice.plan, choice.table, options_of(choice))
    standing = replay(session, steps, where="journal")
    following = [action for event, _ in whole[len(steps) :] for action in session.handle(event)]
    said = next((action.text for action in following if isinstance(action, Say)), None)
    known = standing.show is None or isinstance(standing.show, Show)
    return said if known else None


def _find_next_prompt(steps: tuple[Step, ...]) -> str | None:
    actions = (action for _, actions in steps for action in actions)
    return next((action.text for action in actions if isinstance(action, Say)), None)


def _read_acted(path: Path) -> list[tuple[bool, Step]]:
    if not path.exists():
        return []
    acted = []
    for line in path.read_bytes().split(b"\n")[:-1]:
        noted = json.loads(line)
        event, *actions = map(decode_line, noted["lines"])
        acted.append((noted["late"], (event, tuple(actions))))
    return acted  # type: ignore[return-value]


# ---- power


class DatedFile(RecordingFile):
    """Remembers when each operation was done, too."""

    def __init__(self, pause_s: float) -> None:
        self.done_s: list[float] = []
        self._pause_s = pause_s
        super().__init__()

    def _note(self, operation: str, content: bytes = b"") -> None:
        time.sleep(self._pause_s if operation == "sync" else 0.0)
        super()._note(operation, content)
        self.done_s.append(time.monotonic())


class Flown:
    """A flight into a recording file, and what was acted on when."""

    def __init__(self, file: RecordingFile, pause_s: float, spokes: int) -> None:
        options = build_parser().parse_args([*FLOWN[:-3], "--set", f"spokes={spokes}"])
        plan, settings = read_plan(options)
        self.acted: list[tuple[int, float, bool, Step]] = []
        self._file, self._pause_s = file, pause_s
        with JournalWriter(
            lambda: file,
            post=lambda _: None,
            now_s=lambda: 0.0,
            header=header_of(options, plan),
            begin_within_s=5.0,
        ) as self._writer:
            conditions = Conditions(table=table_of(settings), settings=settings, typed=True, journal=self)
            rehearse(plan, conditions)

    def write(self, event: Event, actions: tuple[Action, ...]) -> None:
        before = self._writer.late_n
        self._writer.write(event, actions)
        is_late = self._writer.late_n > before
        self.acted.append((len(self._file.operations), time.monotonic(), is_late, (event, actions)))
        time.sleep(self._pause_s)


def try_power_losses(times: int, _chance: Chance) -> Iterator[Trial]:
    """The power cut after every single write and fsync of a flight, as fast as it goes and at a pace."""
    for pause_s, spokes in ((0.0, 2), (0.008, 8))[:times]:
        file = DatedFile(0.005)
        flown = Flown(file, pause_s, spokes)
        for cut in range(1, len(file.operations) + 1):
            yield _judge_cut(file, flown, cut)


def _judge_cut(file: DatedFile, flown: Flown, cut: int) -> Trial:
    there, safe = file.after_kill(cut), file.after_power_loss(cut)
    cut_s = file.done_s[cut - 1]
    acted = [
        (done_s, late, step)
        for done_n, done_s, late, step in flown.acted
        if done_n <= cut and done_s <= cut_s
    ]
    steps = parse_journal(split_lines(there)[0]).steps
    lost = sum(not late and (n >= len(steps) or steps[n] != step) for n, (_, late, step) in enumerate(acted))
    if lost:
        return Trial(why="acted on, neither there nor marked late", lost=lost)
    safe_n = len(parse_journal(split_lines(safe)[0]).steps) if safe else 0
    unsafe = [cut_s - done_s for done_s, _, _ in acted[safe_n:]]
    if not there.startswith(safe) or max(unsafe, default=0.0) > 1.0:
        return Trial(why=f"not safe after {max(unsafe, default=0.0):.2f} s", lost=len(unsafe))
    return Trial(detected_s=None, recovered_s=None)


# ---- not ours


def try_foreign(_times: int, _chance: Chance) -> Iterator[Trial]:
    """Two coaches on one journal, other versions, files of other programs: refused, nothing overwritten."""
    with tempfile.TemporaryDirectory(prefix="coach-faults-") as scratch:
        folder = Path(scratch)
        fly_noting(str(folder), str(folder / "acted"), 0.0, "--set", "spokes=1")
        (path,) = folder.glob("*.jsonl")
        content = path.read_bytes()
        header, rest = content.split(b"\n", 1)
        foreign = {
            "version 2": header.replace(b'"version":1', b'"version":2') + b"\n" + rest,
            "version 0": header.replace(b'"version":1', b'"version":0') + b"\n" + rest,
            "version text": header.replace(b'"version":1', b'"version":"1"') + b"\n" + rest,
            "no header": rest,
            "two headers": header + b"\n" + header + b"\n" + rest,
            "a line of text": header + b"\nDear diary\n" + rest,
            "another program's JSON": b'{"name": "x", "version": 1}\n{"a": 1}\n',
            "a picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20,
            "nothing": b"",
            "zeros": bytes(5000),
            "a line without end": b"[" * 100_000,
        }
        for name, foreign_content in foreign.items():
            yield _judge_foreign(folder / "foreign.jsonl", name, foreign_content)
        yield from _try_two_coaches(folder, path, content)


def _judge_foreign(path: Path, name: str, content: bytes) -> Trial:
    path.write_bytes(content)
    for use in (read_journal, lambda path: resume_journal(path, post=print, now_s=lambda: 0.0)):
        try:
            use(path)
        except JournalError as error:
            if not all(str(path) in str(problem) for problem in error.problems):
                return Trial(why=f"{name}: no clear line: {error}")
        else:
            return Trial(why=f"{name}: taken for a journal")
    return Trial() if path.read_bytes() == content else Trial(why=f"{name}: changed", lost=1)


def _try_two_coaches(folder: Path, path: Path, content: bytes) -> Iterator[Trial]:
    path.write_bytes(content.rsplit(b"\n", 2)[0] + b"\n")
    stored, writer = resume_journal(path, post=lambda _: None, now_s=lambda: 0.0)
    before = path.read_bytes()
    for use in (read_journal, lambda path: resume_journal(path, post=print, now_s=lambda: 0.0)):
        try:
            use(path)
            yield Trial(why="a second coach has the journal too")
        except JournalError as error:
            is_clear = "no other coach" in str(error) and path.read_bytes() == before
            yield Trial(why="" if is_clear else f"second coach: {error}")
    writer.close(is_in_order=False)
    header = replace(stored.journal.header, drill="other")
    with (
        begin_journal(folder, header, post=lambda _: None, now_s=lambda: 0.0),
        begin_journal(folder, header, post=lambda _: None, now_s=lambda: 0.0),
    ):
        names = {found.name for found in folder.glob("*-other*.jsonl")}
        yield Trial(why="" if len(names) == 2 else "two flights in one second share a journal")
    yield Trial(why="" if path.read_bytes() == before else "the first journal was changed")
