"""A sound card without hardware: a PulseAudio server of its own with two null sinks.

`headset` is what the pilot hears; what is played into `cabin` is what the microphone hears. Needs pulseaudio,
pulseaudio-utils and libasound2-plugins. Never touches the user's own sound server.
"""

from __future__ import annotations

import contextlib
import ctypes.util
import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 48_000
HEADSET = "headset"
CABIN = "cabin"

PROGRAMS = ("pulseaudio", "pactl", "parec", "pacat")
UP_WITHIN_S = 10.0


def find_lack() -> str | None:
    """Return what this machine lacks for the virtual sound card, or None."""
    missing = [program for program in PROGRAMS if shutil.which(program) is None]
    if missing:
        return f"{', '.join(missing)} not found: sudo apt install pulseaudio pulseaudio-utils"
    if ctypes.util.find_library("portaudio") is None:
        return "PortAudio not found: sudo apt install libportaudio2"
    if not list(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so")):
        return "ALSA cannot reach PulseAudio: sudo apt install libasound2-plugins"
    return None


class SoundCard:
    """The server and its two sinks; `start` and `stop` may follow one another."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._server: subprocess.Popen[bytes] | None = None
        self._modules: dict[str, str] = {}
        self.environment = {
            "PULSE_SERVER": f"unix:{folder}/native",
            "PULSE_RUNTIME_PATH": str(folder),
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_COOKIE": f"{folder}/cookie",
        }
        """What a process must have in its environment to use this card."""

    def start(self) -> None:
        """Start the server and plug both sinks in."""
        (self._folder / "native").unlink(missing_ok=True)
        arguments = ["-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "--realtime=no"]
        socket = f"module-native-protocol-unix socket={self._folder}/native auth-anonymous=1"
        with (self._folder / "server.log").open("ab") as log:
            self._server = subprocess.Popen(
                ["pulseaudio", *arguments, "-L", socket],
                env=os.environ | self.environment,
                stdout=log,
                stderr=log,
            )
        self._wait_for_server()
        for name in (HEADSET, CABIN):
            self.plug(name)
        self.control("set-default-sink", HEADSET)
        self.control("set-default-source", f"{CABIN}.monitor")

    def stop(self) -> None:
        """Stop the server: every stream on it is gone."""
        if self._server is not None:
            self._server.send_signal(signal.SIGCONT)
            self._server.terminate()
            self._server.wait()
        self._server = None
        self._modules.clear()

    def freeze(self) -> None:
        """Stop the server without ending it: it answers nobody until `thaw`."""
        assert self._server is not None
        self._server.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Let a frozen server go on."""
        assert self._server is not None
        self._server.send_signal(signal.SIGCONT)

    def plug(self, name: str) -> None:
        """Plug a sink in."""
        properties = f"sink_properties=device.description={name}"
        module = self.control(
            "load-module",
            "module-null-sink",
            f"sink_name={name}",
            f"rate={RATE_HZ}",
            "norewinds=1",
            properties,
        )
        self._modules[name] = module.strip()
        self._put_first()

    def _put_first(self) -> None:
        """Let the server go before all others where that is allowed: a real card waits for nobody."""
        assert self._server is not None
        with contextlib.suppress(PermissionError):
            for thread in Path(f"/proc/{self._server.pid}/task").iterdir():
                os.sched_setscheduler(int(thread.name), os.SCHED_RR, os.sched_param(10))

    def unplug(self, name: str) -> None:
        """Pull a sink out."""
        self.control("unload-module", self._modules.pop(name))

    def control(self, *arguments: str) -> str:
        """Run pactl against this server and return what it prints."""
        done = subprocess.run(
            ["pactl", *arguments],
            env=os.environ | self.environment,
            capture_output=True,
            text=True,
            timeout=10,
            check=True,
        )
        return done.stdout

    def _wait_for_server(self) -> None:
        give_up_s = time.monotonic() + UP_WITHIN_S
        while time.monotonic() < give_up_s:
            try:
                self.control("info")
                return
            except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
                time.sleep(0.05)
        raise RuntimeError(f"pulseaudio did not start: {(self._folder / 'server.log').read_text()[-500:]}")


@contextmanager
def sound_card() -> Iterator[SoundCard]:
    """Start a virtual sound card; this process and its children use it until the end of the block."""
    before = dict(os.environ)
    with tempfile.TemporaryDirectory(prefix="coach-card-") as folder:
        card = SoundCard(Path(folder))
        try:
            card.start()
            os.environ.update(card.environment)
            yield card
        finally:
            card.stop()
            os.environ.clear()
            os.environ.update(before)


class Monitor:
    """Records what a sink plays and when each sample arrived."""

    def __init__(self, sink: str) -> None:
        self._recorder = subprocess.Popen(
            [
                "parec",
                f"--device={sink}.monitor",
                "--raw",
                "--format=s16le",
                f"--rate={RATE_HZ}",
                "--channels=1",
                "--latency-msec=5",
            ],
            stdout=subprocess.PIPE,
        )
        self._chunks: list[bytes] = []
        self._arrivals: list[tuple[int, float]] = []
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def __enter__(self) -> Monitor:
        give_up_s = time.monotonic() + UP_WITHIN_S
        while not self._arrivals and time.monotonic() < give_up_s:
            time.sleep(0.02)
        return self

    def __exit__(self, *_: object) -> None:
        self._recorder.terminate()
        self._recorder.wait()
        self._thread.join()

    def _read(self) -> None:
        assert self._recorder.stdout is not None
        n_samples = 0
        while chunk := os.read(self._recorder.stdout.fileno(), 65_536):
            now_s = time.monotonic()
            n_samples += len(chunk) // 2
            self._chunks.append(chunk)
            self._arrivals.append((n_samples, now_s))

    @property
    def sound(self) -> NDArray[np.int16]:
        """All that was recorded until now."""
        return np.frombuffer(b"".join(self._chunks)[: 2 * self._arrivals[-1][0]], dtype="<i2")

    def times_s(self) -> NDArray[np.float64]:
        """Return the time.monotonic() of each recorded sample, by arrival.

        The sink's clock is not the system's (48,037 Hz was seen for 48,000), so samples cannot be counted
        from the first one: the earliest arrivals near a sample date it.
        """
        ends, arrivals = (np.array(column, dtype=float) for column in zip(*self._arrivals, strict=True))
        behind_s = arrivals - ends / RATE_HZ
        window_s = 0.25
        earliest = np.array([behind_s[np.abs(arrivals - at_s) <= window_s].min() for at_s in arrivals])
        samples = np.arange(ends[-1])
        times_s: NDArray[np.float64] = samples / RATE_HZ + np.interp(samples, ends, earliest)
        return times_s
