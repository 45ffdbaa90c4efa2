import sys
from types import SimpleNamespace

import pytest

from coach.errors import SetupError
from coach.voice import output_device
from coach.voice.output_device import OutputDevice, check_output_device, list_output_devices, open_output

CARDS = [
    {"name": "microphone", "max_output_channels": 0},
    {"name": "USB headset", "max_output_channels": 2},
    {"name": "loudspeaker", "max_output_channels": 2},
    {"name": "USB headset two", "max_output_channels": 2},
]


class FakeSounddevice:
    PortAudioError = OSError

    def __init__(self, cards, default):
        self._cards = cards
        self.default = SimpleNamespace(device=(0, default))
        self.opened = []
        self.refusal = None

    def query_devices(self):
        if self._cards is None:
            raise self.PortAudioError("not initialized")
        return self._cards

    def RawOutputStream(self, **settings):  # noqa: N802
        if self.refusal:
            raise self.PortAudioError(self.refusal)
        self.opened.append(settings)
        return SimpleNamespace(start=lambda: None, close=lambda ignore_errors: None)


@pytest.fixture
def sinks(monkeypatch):
    names = []
    monkeypatch.setattr(output_device.SoundServer, "list_devices", lambda self: tuple(names))
    return names


@pytest.fixture
def cards(monkeypatch, sinks):
    fake = FakeSounddevice(CARDS, default=2)
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake


def test_outputs_are_listed_with_the_default_one(cards):
    assert list_output_devices() == (
        OutputDevice(name="USB headset", is_default=False),
        OutputDevice(name="loudspeaker", is_default=True),
        OutputDevice(name="USB headset two", is_default=False),
    )


def test_sinks_of_the_sound_server_are_listed_last(cards, sinks):
    sinks.append("headset")
    assert list_output_devices()[-1] == OutputDevice(name="headset", is_default=False, is_sink=True)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        (None, "loudspeaker"),
        ("loud", "loudspeaker"),
        ("LOUDSPEAKER", "loudspeaker"),
        ("USB headset", "USB headset"),
    ],
)
def test_device_is_found_by_name_or_a_part_that_only_one_has(cards, asked, found):
    assert check_output_device(asked).name == found


def test_part_of_several_names_is_told_with_them(cards):
    with pytest.raises(SetupError) as caught:
        check_output_device("usb")
    assert str(caught.value) == "speaker: expected one of USB headset, USB headset two, got 'usb'"


def test_unknown_device_is_told_with_the_nearest(cards):
    with pytest.raises(SetupError) as caught:
        check_output_device("loudspaeker")
    assert str(caught.value) == "speaker: expected one of loudspeaker, got 'loudspaeker'"


def test_machine_without_output_is_told_the_remedy(monkeypatch, sinks):
    monkeypatch.setitem(sys.modules, "sounddevice", FakeSounddevice([], default=-1))
    with pytest.raises(SetupError, match=r"this machine has no sound output; sudo apt install libportaudio2"):
        check_output_device(None)


def test_devices_that_cannot_be_listed_are_told(monkeypatch, sinks):
    monkeypatch.setitem(sys.modules, "sounddevice", FakeSounddevice(None, default=-1))
    with pytest.raises(SetupError, match=r"the sound devices cannot be listed \(not initialized\)"):
        list_output_devices()


def test_missing_portaudio_is_told_the_remedy(monkeypatch, tmp_path):
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')")
    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.syspath_prepend(tmp_path)
    with pytest.raises(SetupError, match=r"speaker: PortAudio is missing; sudo apt install libportaudio2"):
        list_output_devices()


def test_block_is_filled_with_the_delay_and_the_gap_that_the_device_reports(cards):
    filled = []
    open_output(check_output_device(None), lambda *block: filled.append(block), lambda: None)
    times = SimpleNamespace(currentTime=1_000.0, outputBufferDacTime=1_000.5)
    for has_gap in (False, True):
        cards.opened[0]["callback"]("buffer", 480, times, SimpleNamespace(output_underflow=has_gap))
    assert filled == [("buffer", 480, 0.5, False), ("buffer", 480, 0.5, True)]


def test_stream_is_mono_16_bit_at_48_khz(cards):
    open_output(check_output_device("loud"), lambda *_: None, lambda: None)
    (settings,) = cards.opened
    asked = {key: settings[key] for key in ("samplerate", "channels", "dtype", "device")}
    assert asked == {"samplerate": 48_000, "channels": 1, "dtype": "int16", "device": "loudspeaker"}


def test_sink_is_opened_through_the_sound_server(cards, sinks, monkeypatch):
    monkeypatch.setenv("PULSE_SINK", "other")
    sinks.append("headset")
    open_output(check_output_device("headset"), lambda *_: None, lambda: None)
    assert (cards.opened[0]["device"], output_device.os.environ["PULSE_SINK"]) == ("pulse", "headset")


def test_refusal_is_told_in_one_line(cards):
    cards.refusal = "Invalid sample rate\nmore"
    with pytest.raises(SetupError) as caught:
        open_output(check_output_device(None), lambda *_: None, lambda: None)
    assert str(caught.value) == "speaker: loudspeaker did not open (Invalid sample rate)"
