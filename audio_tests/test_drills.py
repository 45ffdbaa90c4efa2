"""Every drill that ships, flown once with the ear: the pilot speaks each word, the coach hears it.

By default the shortest one; with COACH_LONG=1 all of them.
"""

from __future__ import annotations

import os

import pytest

from coach.drill.plan import plan_drill
from coach.rehearsal.rehearse import Conditions, rehearse
from coach.session.prompts import COMPLETE
from coach.store.drills import list_drills, read_drill
from coach.store.phrases import read_phrases

SHORTEST = "teardrop-30"
NAMES = [listing.name for listing in list_drills()] if os.environ.get("COACH_LONG") == "1" else [SHORTEST]


@pytest.mark.parametrize("name", NAMES)
def test_drill_is_flown_to_its_end_by_words_that_are_heard(name, tmp_path):
    plan = plan_drill(read_drill(name, {}), tas_kt=90)
    rehearsal = rehearse(plan, Conditions(table=read_phrases("en"), cache_dir=tmp_path))
    assert [leg.n for leg in rehearsal.legs] == [leg.leg.n for leg in plan.legs]
    assert rehearsal.calls[-1].what == COMPLETE
    assert [heard.said for heard in rehearsal.heard if heard.said != heard.understood] == []
    assert not any(said.by_key for said in rehearsal.said)
