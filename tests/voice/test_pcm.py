import wave

import numpy as np
import pytest

from coach.voice.pcm import (
    FADE_S,
    RATE_HZ,
    encode_samples,
    fade_out,
    read_sound_file,
    resample,
    sample_at,
    scale,
    seconds_at,
    trim,
    write_wav,
)


def sine(hz, rate_hz, length_s=0.5):
    return np.sin(2 * np.pi * hz * np.arange(int(rate_hz * length_s)) / rate_hz)


def loudest_db(sound):
    return 20 * np.log10(np.abs(sound).max() + 1e-12)


class TestTimes:
    def test_sample_and_time_are_each_others_inverse(self):
        assert [sample_at(seconds_at(sample)) for sample in (0, 1, 47_999, 158_400_001)] == [
            0,
            1,
            47_999,
            158_400_001,
        ]


class TestResample:
    @pytest.mark.parametrize(("from_hz", "to_hz"), [(22_050, 48_000), (48_000, 16_000), (44_100, 48_000)])
    @pytest.mark.parametrize("hz", [100, 1_000, 5_000])
    def test_tone_keeps_pitch_loudness_and_time(self, from_hz, to_hz, hz):
        got = resample(sine(hz, from_hz), from_hz, to_hz)
        expected = sine(hz, to_hz)
        assert got.size == expected.size
        assert loudest_db((got - expected)[1_000:-1_000]) < -90

    def test_nothing_is_heard_above_the_band_of_the_source(self):
        got = resample(sine(9_000, 22_050, 1.0), 22_050, 48_000)
        spectrum = np.abs(np.fft.rfft(got * np.hanning(got.size)))
        above = np.fft.rfftfreq(got.size, 1 / 48_000) > 11_500
        assert loudest_db(spectrum[above]) < loudest_db(spectrum) - 90

    def test_tone_above_the_new_band_is_taken_out(self):
        got = resample(sine(9_000, 48_000), 48_000, 16_000)
        assert loudest_db(got[500:-500]) < -90

    def test_same_rate_changes_nothing(self):
        assert np.array_equal(resample(sine(440, 48_000), 48_000, 48_000), sine(440, 48_000))

    @pytest.mark.parametrize("length", [1, 2, 7, 100])
    def test_short_sound_comes_out_at_its_length(self, length):
        assert resample(np.ones(length), 22_050, 48_000).size == -(-length * 320 // 147)

    def test_no_sound_stays_no_sound(self):
        assert resample(np.zeros(0), 22_050, 48_000).size == 0


class TestTrim:
    def test_sample_zero_is_the_onset(self):
        word = encode_samples(0.5 * sine(300, RATE_HZ, 0.2))
        silence = np.zeros(2_112, dtype=np.int16)
        trimmed = trim(np.concatenate([silence, word, silence]))
        assert np.abs(trimmed[0]) >= 0.01 * word.max()
        assert abs(trimmed.size - word.size) < sample_at(0.001)

    def test_silence_inside_a_word_stays(self):
        word = np.full(100, 9_000, dtype=np.int16)
        gap = np.zeros(4_800, dtype=np.int16)
        assert np.array_equal(
            trim(np.concatenate([gap, word, gap, word, gap])), np.concatenate([word, gap, word])
        )

    def test_faint_noise_before_the_word_is_not_the_onset(self):
        noise = np.full(1_000, 50, dtype=np.int16)
        word = np.full(1_000, 10_000, dtype=np.int16)
        assert np.array_equal(trim(np.concatenate([noise, word])), word)

    def test_silence_alone_leaves_nothing(self):
        assert trim(np.zeros(100, dtype=np.int16)).size == 0

    def test_nothing_leaves_nothing(self):
        assert trim(np.zeros(0, dtype=np.int16)).size == 0


class TestLoudness:
    def test_full_scale_is_clipped_not_wrapped(self):
        assert encode_samples(np.array([-2.0, -1.0, 0.0, 1.0, 2.0])).tolist() == [
            -32767,
            -32767,
            0,
            32767,
            32767,
        ]

    def test_gain_above_one_is_clipped(self):
        assert scale(np.array([20_000, -20_000], dtype=np.int16), 2.0).tolist() == [32_767, -32_767]

    def test_gain_of_one_gives_the_same_samples(self):
        sound = np.array([1, 2, 3], dtype=np.int16)
        assert scale(sound, 1.0) is sound

    def test_fade_ends_in_nothing(self):
        faded = fade_out(np.full(RATE_HZ, 10_000, dtype=np.int16))
        assert (faded.size, faded[0], faded[-1]) == (sample_at(FADE_S), 10_000, 0)

    def test_fade_of_a_sound_at_its_end_is_short(self):
        assert fade_out(np.full(3, 10_000, dtype=np.int16)).size == 3


class TestFiles:
    def test_written_sound_is_read_back(self, tmp_path):
        sound = encode_samples(0.5 * sine(440, RATE_HZ, 0.1))
        write_wav(tmp_path / "a.wav", sound)
        assert np.abs(read_sound_file(tmp_path / "a.wav").astype(int) - sound).max() <= 1

    def test_left_and_right_are_averaged(self, tmp_path):
        both = np.stack([np.full(480, 4_000), np.full(480, 2_000)], axis=1).astype(np.int16)
        write_wav(tmp_path / "a.wav", both)
        assert set(read_sound_file(tmp_path / "a.wav").tolist()) == {3_000}

    def test_voice_at_22050_hz_is_brought_to_48_khz(self, tmp_path):
        with wave.open(str(tmp_path / "a.wav"), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(22_050)
            file.writeframes(bytes(2 * 22_050))
        assert read_sound_file(tmp_path / "a.wav").size == RATE_HZ

    def test_broken_file_is_told(self, tmp_path):
        (tmp_path / "a.wav").write_bytes(b"RIFF....WAVE")
        with pytest.raises(ValueError, match=r"a\.wav: expected a WAV file, got something broken"):
            read_sound_file(tmp_path / "a.wav")

    def test_other_width_is_told(self, tmp_path):
        with wave.open(str(tmp_path / "a.wav"), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(1)
            file.setframerate(22_050)
            file.writeframes(bytes(100))
        with pytest.raises(ValueError, match=r"a\.wav: expected 16-bit sound, got 8-bit"):
            read_sound_file(tmp_path / "a.wav")

    def test_aiff_is_read_where_soundfile_is_there(self, tmp_path):
        soundfile = pytest.importorskip("soundfile")
        sound = encode_samples(0.5 * sine(440, RATE_HZ, 0.1))
        soundfile.write(tmp_path / "a.wav", sound, RATE_HZ, format="AIFF", subtype="PCM_16")
        assert np.abs(read_sound_file(tmp_path / "a.wav").astype(int) - sound).max() <= 1
