"""What stands in the report."""

from __future__ import annotations

from coach.debrief.report import make_report
from coach.drill.cautions import CAUTIONS
from tests.debrief import debriefed


def test_a_report_has_all_its_parts():
    report = make_report(debriefed.flown())
    assert report.title == "Eight spokes over a VOR"
    assert len(report.sentences) == 3
    assert report.above is not None
    assert report.over_time is not None
    assert [grid.name for grid in report.tables][:4] == ["legs", "held", "workflow", "consistency"]
    assert len(report.cautions) == len(CAUTIONS)
    assert dict(report.facts)["Planned for"] == "90 kt TAS, wind 250/15"


def test_every_standard_is_named_once_with_its_source():
    standards = make_report(debriefed.flown()).standards
    assert len(set(standards)) == len(standards)
    assert "needle: within 3/4 of full scale (7.5 of 10 degrees) (FAA-S-ACS-8C V.A.S6)" in standards


def test_icaos_allowance_is_called_one_for_design():
    (leg_time,) = [text for text in make_report(debriefed.flown()).standards if text.startswith("leg time:")]
    assert "design" in leg_time


def test_a_report_never_says_current():
    report = make_report(debriefed.flown())
    words = [*report.sentences, *report.notes, *report.standards, *report.cautions]
    assert not any("current" in word.lower() for word in words)


def test_a_session_without_a_track_has_a_report_too():
    report = make_report(debriefed.without_track())
    assert report.above is None
    assert dict(report.facts)["Planned for"] == "90 kt TAS, wind calm"
    assert dict(report.facts)["Legs"] == "4 of 4 begun, no track to see them by"
    assert [grid.name for grid in report.tables][:1] == ["legs"]
    assert any("no track" in note for note in report.notes)
