import os

import numpy as np
import pytest

from coach.voice.synthesis_cache import SoundCache, cache_key


def sound(n=1_000, seed=1):
    return np.random.default_rng(seed).integers(-9_000, 9_000, n).astype(np.int16)


def the_file(folder):
    (path,) = folder.glob("*.pcm")
    return path


PARTS = {"text": "Left", "voice": "v", "rate_wpm": 156, "engine": "e 1"}


class TestKey:
    def test_same_parts_give_the_same_key(self):
        assert cache_key(**PARTS) == cache_key(**PARTS)

    @pytest.mark.parametrize(
        "change",
        [{"text": "Right"}, {"voice": "w"}, {"rate_wpm": 157}, {"engine": "e 2"}],
        ids=lambda c: next(iter(c)),
    )
    def test_another_part_gives_another_key(self, change):
        assert cache_key(**PARTS | change) != cache_key(**PARTS)


class TestDisk:
    def test_sound_is_there_for_the_next_session(self, tmp_path):
        SoundCache(tmp_path).keep("a", sound())
        assert np.array_equal(SoundCache(tmp_path).find("a"), sound())

    def test_unknown_key_is_not_there(self, tmp_path):
        assert SoundCache(tmp_path).find("a") is None

    def test_file_cut_at_any_place_counts_as_not_there(self, tmp_path):
        SoundCache(tmp_path).keep("a", sound())
        whole = the_file(tmp_path).read_bytes()
        for length in range(0, len(whole), 37):
            the_file(tmp_path).write_bytes(whole[:length])
            assert SoundCache(tmp_path).find("a") is None

    def test_file_with_a_flipped_byte_is_never_read_as_another_sound(self, tmp_path):
        SoundCache(tmp_path).keep("a", sound())
        whole = the_file(tmp_path).read_bytes()
        for place in range(0, len(whole), 11):
            broken = bytearray(whole)
            broken[place] ^= 0x5A
            the_file(tmp_path).write_bytes(broken)
            found = SoundCache(tmp_path).find("a")
            assert found is None or np.array_equal(found, sound())

    def test_file_with_other_content_counts_as_not_there(self, tmp_path):
        (tmp_path / "a.pcm").write_text("something else altogether")
        assert SoundCache(tmp_path).find("a") is None

    def test_folder_in_its_place_counts_as_not_there(self, tmp_path):
        (tmp_path / "a.pcm").mkdir()
        assert SoundCache(tmp_path).find("a") is None

    def test_broken_file_is_replaced_by_the_next_rendering(self, tmp_path):
        (tmp_path / "a.pcm").write_bytes(b"broken")
        SoundCache(tmp_path).keep("a", sound())
        assert np.array_equal(SoundCache(tmp_path).find("a"), sound())

    def test_no_half_written_file_stays(self, tmp_path):
        SoundCache(tmp_path).keep("a", sound())
        assert [path.name for path in tmp_path.iterdir()] == ["a.pcm"]

    def test_folder_that_cannot_be_made_leaves_the_sound_in_memory(self, tmp_path):
        (tmp_path / "file").write_text("in the way")
        cache = SoundCache(tmp_path / "file" / "sounds")
        cache.keep("a", sound())
        cache.prune()
        assert np.array_equal(cache.find("a"), sound())

    def test_without_a_folder_nothing_is_written(self):
        cache = SoundCache(None)
        cache.keep("a", sound())
        cache.prune()
        assert np.array_equal(cache.find("a"), sound())

    def test_prune_deletes_the_sounds_unused_for_longest(self, tmp_path):
        cache = SoundCache(tmp_path)
        for age, key in enumerate("abcd"):
            cache.keep(key, sound())
            os.utime(tmp_path / f"{key}.pcm", (1_000 - age, 1_000 - age))
        size = (tmp_path / "a.pcm").stat().st_size
        SoundCache(tmp_path, disk_bytes=2 * size).prune()
        assert sorted(path.stem for path in tmp_path.iterdir()) == ["a", "b"]

    def test_use_makes_a_sound_young_again(self, tmp_path):
        SoundCache(tmp_path).keep("a", sound())
        os.utime(tmp_path / "a.pcm", (1_000, 1_000))
        SoundCache(tmp_path).find("a")
        assert (tmp_path / "a.pcm").stat().st_mtime > 1_000

    def test_sound_on_a_disk_not_to_be_written_is_found(self, tmp_path, monkeypatch):
        SoundCache(tmp_path).keep("a", sound())

        def refuse(path):
            raise PermissionError(30, "Read-only file system")

        monkeypatch.setattr(os, "utime", refuse)
        assert np.array_equal(SoundCache(tmp_path).find("a"), sound())


class TestMemory:
    def test_bound_holds_and_the_least_used_goes_first(self):
        cache = SoundCache(None, memory_bytes=3 * sound().nbytes)
        for key in "abc":
            cache.keep(key, sound())
        cache.find("a")
        cache.keep("d", sound())
        assert [key for key in "abcd" if cache.find_held(key) is not None] == ["a", "c", "d"]

    def test_held_sound_is_found_without_the_disk(self, tmp_path):
        cache = SoundCache(tmp_path)
        cache.keep("a", sound())
        the_file(tmp_path).unlink()
        assert np.array_equal(cache.find_held("a"), sound())

    def test_shared_sound_cannot_be_written_to(self, tmp_path):
        SoundCache(tmp_path).keep("a", sound())
        with pytest.raises(ValueError, match="read-only"):
            SoundCache(tmp_path).find("a")[0] = 1
