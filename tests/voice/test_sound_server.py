import json
import os
import sys
import threading

import pytest

from coach.voice import sound_server
from coach.voice.sound_server import OwnStream, SoundServer

SINKS = [{"index": 4, "name": "headset"}, {"index": 7, "name": "loudspeaker"}]


def stream(index, sink, process):
    return {"index": index, "sink": sink, "properties": {"application.process.id": str(process)}}


@pytest.fixture
def pactl(monkeypatch, tmp_path):
    """Stand in for pactl: prints the answers of a table, and keeps what it was asked."""
    answers = {"list sinks": json.dumps(SINKS), "list sink-inputs": json.dumps([stream(1, 7, 1)])}
    script = tmp_path / "pactl"

    def install():
        script.write_text(
            f"#!{sys.executable}\n"
            "import sys, time\n"
            f"answers = {answers!r}\n"
            f"open({str(tmp_path / 'asked')!r}, 'a').write(' '.join(sys.argv[1:]) + chr(10))\n"
            "asked = ' '.join(word for word in sys.argv[1:] if not word.startswith('--'))\n"
            "if asked not in answers: sys.exit('Failure: No such entity')\n"
            "print(answers[asked], flush=True)\n"
        )
        script.chmod(0o755)

    answers["install"] = install
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(sound_server, "ANSWER_WITHIN_S", 30.0)
    return answers


def asked(tmp_path):
    return (tmp_path / "asked").read_text().splitlines()


def set_up(pactl, **answers):
    install = pactl.pop("install")
    pactl.update(
        {key.replace("_", " ").replace("inputs", "sink-inputs"): value for key, value in answers.items()}
    )
    install()


def test_devices_are_listed(pactl):
    set_up(pactl)
    assert SoundServer("sink").list_devices() == ("headset", "loudspeaker")


def test_stream_of_this_process_is_found_with_its_device(pactl):
    set_up(pactl, list_inputs=json.dumps([stream(1, 7, 1), stream(2, 4, os.getpid())]))
    assert SoundServer("sink").find_own_stream() == OwnStream(index=2, device="headset")


def test_stream_of_another_process_is_not_ours(pactl):
    set_up(pactl)
    assert SoundServer("sink").find_own_stream() is None


def test_stream_on_no_known_device_is_not_found(pactl):
    set_up(pactl, list_inputs=json.dumps([stream(2, 99, os.getpid())]))
    assert SoundServer("sink").find_own_stream() is None


def test_stream_is_moved(pactl, tmp_path):
    set_up(pactl, **{"move-sink-input 2 headset": ""})
    assert SoundServer("sink").move_stream(OwnStream(index=2, device="loudspeaker"), "headset")
    assert asked(tmp_path) == ["move-sink-input 2 headset"]


def test_refused_move_is_told(pactl):
    set_up(pactl)
    assert not SoundServer("sink").move_stream(OwnStream(index=2, device="loudspeaker"), "nowhere")


@pytest.mark.parametrize("printed", ["", "no json", "{}", "[1"], ids=["nothing", "text", "object", "torn"])
def test_output_that_is_no_list_counts_as_nothing(pactl, printed):
    set_up(pactl, list_sinks=printed)
    assert SoundServer("sink").list_devices() == ()


def test_without_pactl_nothing_is_known_and_nothing_fails(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    server = SoundServer("sink")
    server.watch(lambda: None)
    server.close()
    assert (server.list_devices(), server.find_own_stream()) == ((), None)


def test_changes_of_sinks_are_called_back_and_others_are_not(pactl, monkeypatch):
    lines = [
        "Event 'remove' on sink #4",
        "Event 'change' on source #5",
        "Event 'change' on sink-input #1",
        "Event 'new' on client #9",
    ]
    set_up(pactl, subscribe="\n".join(lines))
    monkeypatch.setattr(sound_server, "RETRY_S", (60.0,))
    n_changes = threading.Semaphore(0)
    server = SoundServer("sink")
    server.watch(n_changes.release)
    # the start, two lines of four, and the end of the server
    assert all(n_changes.acquire(timeout=10) for _ in range(4))
    assert not n_changes.acquire(blocking=False)
    server.close()


def test_server_that_went_is_listened_to_again(pactl, monkeypatch):
    set_up(pactl, subscribe="Event 'remove' on sink #4")
    monkeypatch.setattr(sound_server, "RETRY_S", (0.0,))
    n_changes = threading.Semaphore(0)
    server = SoundServer("sink")
    server.watch(n_changes.release)
    assert all(n_changes.acquire(timeout=10) for _ in range(9))
    server.close()
