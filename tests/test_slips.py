"""Slips of people who write a trip file: what is told instead, worked out by hand."""

from __future__ import annotations

import pytest

from sheltermap.slips import line_mended, other_unit, points_for_thousands


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("15.05.2027", "2027-05-15"),
        ("3.12.2027", "2027-12-03"),  # With points the day comes first.
        ("5.6.2027", "2027-06-05"),
        ("12.12.2027", "2027-12-12"),
        ("5/13/2027", "2027-05-13"),  # No 13th month: only one of the two can be the month.
        ("13/5/2027", "2027-05-13"),
        ("12/13/2027", "2027-12-13"),
        ("13/12/2027", "2027-12-13"),
        ("3 May 2027", "2027-05-03"),
    ],
)
def test_a_date_is_told_with_its_year_first(written, meant):
    """Day and month as their numbers allow."""
    assert line_mended(f"made = {written}") == f"Dates have the year first: made = {meant}."


@pytest.mark.parametrize("written", ["12/5/2027", "5/12/2027", "31.02.2027", "32.13.2027"])
def test_a_date_that_may_be_two_or_none_is_shown_by_an_example(written):
    """Nobody knows whether 12/5 is in May or in December."""
    told = line_mended(f"made = {written}")
    assert told == "Dates have the year first: made = 2027-05-15 is 15 May."


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("nights = 8 to 21", "A range is a list: nights = [8, 14, 21]."),  # 29 / 2 is 14.5.
        ("nights = 8-20", "A range is a list: nights = [8, 14, 20]."),
        ("kilometres = 1,250", "Write thousands without a sign: kilometres = 1250."),
        ("place = 44,6, 15,6", "A list stands in brackets: place = [44,6, 15,6]."),
        (
            "daily_km = 44,65",
            "Numbers have a point: daily_km = 44.65. A list stands in brackets: "
            "daily_km = [44,65].",
        ),
        ("acclimatised = yes", "Write acclimatised = true."),
        ("acclimatised = False", "Write acclimatised = false."),
        ("[[legs", "A heading has both brackets: [[legs]]."),
        ("[party.sleepers", "A heading has both brackets: [[party.sleepers]]."),
        ("[[vehicle", "A heading has both brackets: [vehicle]."),
        ("sleep_from = 22:30", 'A clock time is text: sleep_from = "22:30".'),
    ],
)
def test_a_line_is_told_as_it_should_stand(line, told):
    """The whole line, ready to be copied."""
    assert line_mended(line) == told


@pytest.mark.parametrize(
    ("key", "value", "least", "most", "told"),
    [
        ("from_elevation_m", 10_000, -450, 6000, "If that is in feet, write 3048."),
        ("party.length_m", 6.25, 0.5, 2.4, "If that is in feet, write 1.905."),
        ("party.length_m", 240, 0.5, 2.4, "If that is in centimetres, write 2.4."),
        ("vehicle.weighed_kg", 5000, 0, 4500, "If that is in pounds, write 2268."),
        ("party.bedding", 77, -60, 25, "If that is in degrees Fahrenheit, write 25."),
        ("party.bedding", -76, -60, 25, "If that is in degrees Fahrenheit, write -60."),
        ("party.bedding", 78, -60, 25, ""),
        ("party.bedding", True, -60, 90, ""),
        ("party.people", 50, 1, 20, ""),
    ],
)
def test_a_number_is_told_in_our_unit_where_that_fits(key, value, least, most, told):
    """The foot of 0.3048 m, the pound of 0.45359237 kg; 77 F are (77 - 32) / 1.8 = 25 degC."""
    assert other_unit(key, value, least, most) == told


def test_points_between_thousands_are_told_with_their_lines():
    """1.250 a litre is a price; 30.000 a night, 1.250 km and 1.250.000 hardly are meant so."""
    text = (
        "[money]\nfuel_price = 1.250\n\nroom_price = 30.000\nbudget = 1.250.000\n"
        "kilometres = 1.250\n"
    )
    assert [one.partition(": ")[0] for one in points_for_thousands(text)] == [
        "room_price = 30.000 on line 4 is 30",
        "budget = 1.250.000 on line 5 is no number",
        "kilometres = 1.250 on line 6 is 1.25",
    ]
    assert points_for_thousands(text)[2].endswith("write 1250 if you mean thousands, 1.25 if not.")
