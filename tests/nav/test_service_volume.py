"""Standard service volumes: AIM 1-1-8 (rows V27 to V32)."""

import pytest

from coach.nav.service_volume import covering_classes, is_covered


@pytest.mark.parametrize(
    ("service", "height_ft", "distance_nm", "is_inside"),
    [
        ("T", 999, 1, False),
        ("T", 1_000, 25, True),
        ("T", 12_000, 25, True),
        ("T", 12_001, 1, False),
        ("T", 5_000, 25.1, False),
        ("L", 1_000, 40.0, True),
        ("L", 18_000, 40.1, False),
        ("L", 18_001, 1, False),
        ("H", 14_499, 41, False),
        ("H", 15_000, 99, True),
        ("H", 20_000, 129, True),
        ("H", 45_001, 101, False),
        ("H", 60_000, 100, True),
        ("VL", 4_999, 41, False),
        ("VL", 5_000, 70, True),
        ("VL", 17_999, 70, True),
        ("VL", 18_000, 1, False),
        ("VH", 14_499, 69, True),
        ("VH", 14_499, 71, False),
        ("VH", 14_500, 99, True),
        ("VH", 18_000, 130, True),
        ("VH", 18_000, 130.1, False),
    ],
)
def test_a_place_is_inside_as_published(service, height_ft, distance_nm, is_inside) -> None:
    assert is_covered(service, height_ft=height_ft, distance_nm=distance_nm) is is_inside


def test_below_1000_feet_above_the_transmitter_no_class_holds() -> None:
    assert covering_classes(height_ft=999, distance_nm=1) == ()


def test_a_drill_low_and_near_is_inside_every_class() -> None:
    assert covering_classes(height_ft=2_000, distance_nm=4) == ("T", "L", "H", "VL", "VH")


def test_height_takes_some_classes_away() -> None:
    assert covering_classes(height_ft=13_000, distance_nm=30) == ("L", "H", "VL", "VH")
