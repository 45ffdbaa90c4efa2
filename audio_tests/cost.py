"""What the ear costs over a whole rehearsed drill: `python -m audio_tests.cost DRILL [--cabin SNR_DB] …`.

Runs `coach rehearse` with these arguments and reads the processor time of its ear's child from /proc (Linux
only) until it ends. Prints one JSON object. The share of one core is that time over the drill's length.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

EAR = "coach.voice.ear_child"
LOOK_EVERY_S = 0.2
TICK_S = 1 / os.sysconf("SC_CLK_TCK") if hasattr(os, "sysconf") else 0.01


def find_ears(parent: int) -> tuple[int, ...]:
    """The ear's processes below a parent."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            command = (folder / "cmdline").read_bytes().decode(errors="replace")
            above = int(_read_fields(folder)[1])
        except (OSError, ValueError, IndexError):
            continue  # it ended meanwhile
        if EAR in command and above == parent:
            found.append(int(folder.name))
    return tuple(found)


def read_cpu_s(pid: int) -> float | None:
    """User and system time of a process so far; None once it is gone."""
    try:
        fields = _read_fields(Path("/proc") / str(pid))
    except (OSError, IndexError):
        return None
    return (int(fields[11]) + int(fields[12])) * TICK_S


def _read_fields(folder: Path) -> list[str]:
    """The fields of /proc/PID/stat after the command's name, which may hold spaces."""
    return (folder / "stat").read_text().rpartition(")")[2].split()


def watch(arguments: list[str]) -> dict[str, object]:
    """Rehearse once and watch the ear."""
    command = [sys.executable, "-m", "coach", "rehearse", *arguments, "--json"]
    spent_s: dict[int, float] = {}
    with tempfile.TemporaryFile("w+") as printed:
        process = subprocess.Popen(command, stdout=printed)
        while process.poll() is None:
            for pid in find_ears(process.pid):
                spent_s[pid] = read_cpu_s(pid) or spent_s.get(pid, 0.0)
            time.sleep(LOOK_EVERY_S)
        printed.seek(0)
        summary = json.load(printed)
    ear_s, simulated_s = sum(spent_s.values()), summary["simulated_s"]
    right = sum(word["said"] == word["understood"] for word in summary["heard"])
    return {
        "ear_cpu_s": round(ear_s, 2),
        "simulated_s": simulated_s,
        "share_of_a_core": round(ear_s / simulated_s, 4),
        "words_said": len(summary["heard"]),
        "words_right": right,
    }


if __name__ == "__main__":
    print(json.dumps(watch(sys.argv[1:])))
