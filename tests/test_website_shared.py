"""A planned leg in words: which hazards stand out, and what the line on rough nights says."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sample_report import infeasible_report, sample_report

from sheltermap.report.report import MetHazard
from sheltermap.vocabulary import FACTORS, Level
from sheltermap.website.shared import Shared, chosen_kit

REPORT = sample_report()
SHARED = Shared(REPORT)


def told(**changed):
    """Return a leg of the sample as the pages show it, with something else than it has."""
    return SHARED.leg(replace(REPORT.best.legs[0], **changed))


def flood(level, stated=Level.PROHIBITIVE, part="", shield="behind the dyke"):
    """Return a hazard of a level."""
    return MetHazard("flood", "Flood", level, stated, shield, part, "Rises at night.", "own")


def test_the_kit_shown_is_the_plans():
    """Whichever of them that is; the first where there is no plan."""
    for kit in REPORT.kits:
        planned = replace(REPORT, best=replace(REPORT.best, kit=kit.id))
        assert chosen_kit(planned) is kit
    assert len(REPORT.kits) > 1
    assert chosen_kit(infeasible_report()) == infeasible_report().kits[0]


@pytest.mark.parametrize(
    ("level", "forbids", "stands_out", "words"),
    [
        (Level.ADVISORY, False, False, ""),
        (Level.SERIOUS, False, True, "serious hazard"),
        (Level.PROHIBITIVE, True, True, "prohibitive hazard"),
        (Level.CLOSURE, True, True, "closure"),
    ],
)
def test_a_hazard_stands_out_from_serious_and_forbids_from_prohibitive(
    level, forbids, stands_out, words
):
    """The ladder of the legend: care, go elsewhere, do not sleep here, closed."""
    leg = told(hazards=(flood(level),))
    (met,) = leg["hazards"]
    assert met["forbids"] is forbids
    assert met["grave"] is stands_out
    assert leg["grave"] == [met] * stands_out
    assert leg["hazard"] == words


def test_a_hazard_of_a_part_does_not_stand_out():
    """One can camp in the rest of the leg, so no line in red; the danger in it is marked."""
    leg = told(hazards=(flood(Level.PROHIBITIVE, part="on the valley floor"),))
    assert leg["grave"] == []
    assert leg["hazard"] == ""
    assert leg["hazards"][0]["forbids"]


def test_the_worst_of_several_is_the_legs():
    """Whatever their order."""
    hazards = (flood(Level.SERIOUS), flood(Level.CLOSURE), flood(Level.ADVISORY))
    assert told(hazards=hazards)["hazard"] == "closure"
    assert told(hazards=())["hazard"] == ""


@pytest.mark.parametrize(
    ("level", "stated", "part", "shield"),
    [
        (Level.SERIOUS, Level.PROHIBITIVE, "", "behind the dyke"),
        (Level.PROHIBITIVE, Level.PROHIBITIVE, "", ""),
        (Level.SERIOUS, Level.PROHIBITIVE, "on the floor", ""),
    ],
)
def test_a_shield_is_told_where_it_lowered_the_level(level, stated, part, shield):
    """Not where nothing was lowered, nor where it comes from keeping out of a part."""
    (met,) = told(hazards=(flood(level, stated, part),))["hazards"]
    assert met["shield"] == shield


@pytest.mark.parametrize(
    ("rough", "expected"),
    [
        (float("nan"), "An unknown number of nights rough, mostly from cold."),
        (0.049, "None of {} is expected to be rough (under 1 in 20)."),
        (0.05, "About 0.1 of {} rough, mostly from cold."),
        (2.34, "About 2.3 of {} rough, mostly from cold."),
    ],
)
def test_rough_nights_in_a_sentence(rough, expected):
    """Unknown is no number; under one in twenty nothing is blamed; else one decimal."""
    leg = REPORT.best.legs[0]
    said = told(rough_nights=rough, limiting_factor=FACTORS[0], dangerous_nights=0.0, remedy=None)
    assert said["sentence"].replace("\u202f", " ").replace("\u00a0", " ") == expected.format(
        f"{leg.nights} nights"
    )
