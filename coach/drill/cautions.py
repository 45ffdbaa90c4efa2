"""The cautions: what every pilot is told before the coach is used, with the rule behind each.

Never shortened or reworded elsewhere: README, the start of a flight, card and report all take them from here.
Sources are titles and sections of 14 CFR unless they say otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One thing to be told."""

    text: str
    """Whole sentences."""

    source: str | None = None
    """The rule it rests on; None: the makers' own."""


CAUTIONS: tuple[Caution, ...] = (
    Caution(text="A training aid, not for navigation."),
    Caution(
        text="The pilot in command, ATC and the aircraft's own instruments come first. "
        "Local rules and your licensed instructor come before anything the coach says.",
    ),
    Caution(text="The clock on the panel stays the clock.", source="14 CFR 91.205(d)(6)"),
    Caution(
        text="Under a view-limiting device: a safety pilot at the other control seat, at least a private "
        "pilot with category and class ratings for the aircraft, with adequate vision forward and to each "
        "side, and dual controls.",
        source="14 CFR 91.109(c)",
    ),
    Caution(
        text="The safety pilot is a required crew member and so must be medically qualified. "
        "Agree who is pilot in command before take-off.",
        source="value from memory",
    ),
    Caution(
        text="Alone in an aircraft: no view-limiting device, eyes outside. "
        "The drill is then for a simulator.",
    ),
    Caution(text="Not in cloud, and not on an IFR clearance unless ATC has approved the manoeuvre."),
    Caution(
        text="Under IFR the operator or the pilot in command must have determined that this device does not "
        "interfere with the navigation or communication system.",
        source="14 CFR 91.21",
    ),
    Caution(text="Traffic gathers over VORs: look out."),
)
"""All of them, in the order they are told."""
