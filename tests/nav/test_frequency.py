"""VOR channels: rows V1 to V3 (AIM 1-1-3a; FAA-H-8083-15A p. 7-11; study notes for the counts)."""

import pytest

from coach.nav.frequency import find_frequency_fault


@pytest.mark.parametrize("frequency_khz", [108_000, 108_200, 108_250, 111_850, 112_000, 112_100, 117_950])
def test_a_vors_frequency_has_no_fault(frequency_khz: int) -> None:
    assert find_frequency_fault(frequency_khz) is None


@pytest.mark.parametrize(
    ("frequency_khz", "word"),
    [
        (107_950, "108000 to 117950"),
        (118_000, "108000 to 117950"),
        (11_495, "108000 to 117950"),
        (-1, "108000 to 117950"),
        (113_025, "multiple of 50"),
        (108_100, "localizer"),
        (110_300, "localizer"),
        (111_950, "localizer"),
    ],
)
def test_what_no_vor_can_have_is_told(frequency_khz: int, word: str) -> None:
    assert word in (find_frequency_fault(frequency_khz) or "")


def test_there_are_40_channels_below_112_mhz_and_120_above() -> None:
    channels = [khz for khz in range(100_000, 125_000) if find_frequency_fault(khz) is None]
    assert len(channels) == 160
    assert len([khz for khz in channels if khz < 112_000]) == 40
