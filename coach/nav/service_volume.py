"""Standard service volumes: how high above a VOR and how far from it its signal may be relied on.

Never says that a signal is there: terrain and notices come first. Source: AIM 1-1-8, heights above the
transmitter, not above the sea (AIM 1-1-8c).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One cylinder of a service volume."""

    low_ft: float
    """Above the transmitter; included."""

    high_ft: float
    """Above the transmitter; included where `has_top`."""

    radius_nm: float
    """Included."""

    has_top: bool = True
    """False: another layer begins at its top."""


SERVICE_VOLUMES: dict[str, tuple[Layer, ...]] = {
    "T": (Layer(low_ft=1_000, high_ft=12_000, radius_nm=25),),
    "L": (Layer(low_ft=1_000, high_ft=18_000, radius_nm=40),),
    "H": (
        Layer(low_ft=1_000, high_ft=14_500, radius_nm=40, has_top=False),
        Layer(low_ft=14_500, high_ft=60_000, radius_nm=100),
        Layer(low_ft=18_000, high_ft=45_000, radius_nm=130),
    ),
    "VL": (
        Layer(low_ft=1_000, high_ft=5_000, radius_nm=40, has_top=False),
        Layer(low_ft=5_000, high_ft=18_000, radius_nm=70, has_top=False),
    ),
    "VH": (
        Layer(low_ft=1_000, high_ft=5_000, radius_nm=40, has_top=False),
        Layer(low_ft=5_000, high_ft=14_500, radius_nm=70, has_top=False),
        Layer(low_ft=14_500, high_ft=60_000, radius_nm=100),
        Layer(low_ft=18_000, high_ft=45_000, radius_nm=130),
    ),
}
"""By class: terminal, low, high, and the two of the VOR Minimum Operational Network."""


def is_covered(service: str, *, height_ft: float, distance_nm: float) -> bool:
    """Whether a place is inside the standard service volume of a class of `SERVICE_VOLUMES`."""
    return any(_is_inside(layer, height_ft, distance_nm) for layer in SERVICE_VOLUMES[service])


def covering_classes(*, height_ft: float, distance_nm: float) -> tuple[str, ...]:
    """Return the classes whose standard service volume holds a place, in the table's order."""
    return tuple(
        service
        for service in SERVICE_VOLUMES
        if is_covered(service, height_ft=height_ft, distance_nm=distance_nm)
    )


def _is_inside(layer: Layer, height_ft: float, distance_nm: float) -> bool:
    is_below = height_ft <= layer.high_ft if layer.has_top else height_ft < layer.high_ft
    return layer.low_ft <= height_ft and is_below and distance_nm <= layer.radius_nm
