"""The simulated pilot's card where surprises amend it: he hears one and flies the drill as it goes on.

Never hears anything itself and never decides what is sprung on him.
"""

from __future__ import annotations

from dataclasses import replace

from coach.drill.plan import Plan
from coach.rehearsal.card import Card, print_card
from coach.session.surprised import HOLD_LEGS, Surprises
from coach.session.surprises import SurpriseKind, find_altered


class Amended:
    """The pilot's card as each surprise that he hears amends it."""

    def __init__(self, plan: Plan, surprises: Surprises | None) -> None:
        self._plan = plan
        self._planned = () if surprises is None else surprises.planned

    @property
    def plan(self) -> Plan:
        """The drill as it came to be flown."""
        return self._plan

    def amend(self, text: str) -> Card | None:
        """The card after a prompt; None where it is no surprise."""
        told = next((one for one in self._planned if one.text == text), None)
        if told is None:
            return None
        # Legs put in before by a hold move those that follow.
        later = sum(one.kind is SurpriseKind.HOLD for one in self._planned if one.leg_i < told.leg_i)
        there = replace(told, leg_i=told.leg_i + HOLD_LEGS * later)
        self._plan = find_altered(self._plan, there) or self._plan
        return print_card(self._plan)
