"""The fault bench in its short form: what needs no waiting, a few of each. The whole of it takes hours."""

from __future__ import annotations

import json
import subprocess
import sys


def test_every_fault_of_the_short_bench_is_held() -> None:
    command = [sys.executable, "-m", "audio_tests.faults", "--short", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    print(f"\n{done.stderr}")
    faults = json.loads(done.stdout)["faults"]
    assert [row for row in faults if row["held"] < row["tried"]] == []
    assert len(faults) >= 15
    assert all(row["tried"] for row in faults)
