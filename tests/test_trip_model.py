"""The trip file: what people write is read as they mean it, or refused with its place."""

from __future__ import annotations

from datetime import date

import pytest
from small_trips import leg, saved, trip

from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError


def read(folder, text):
    """Return the trip of a text."""
    return read_trip(saved(folder, text))


def problems(folder, text):
    """Return what is wrong with a text: key, expected, got, mend."""
    with pytest.raises(InputError) as caught:
        read(folder, text)
    return [(p.key, p.expected, p.got, p.mend) for p in caught.value.problems]


def only(folder, text):
    """Return the one thing that is wrong with a text, as one line."""
    ((key, expected, got, mend),) = problems(folder, text)
    return f"{key}: expected {expected}, got {got}. {mend}"


def test_folder_stands_for_its_trip_file(tmp_path):
    """People name the folder."""
    saved(tmp_path, trip(leg("A")))
    assert read_trip(tmp_path) == read_trip(tmp_path / "trip.toml")


@pytest.mark.parametrize(
    ("written", "nights"), [("12", (12, 12, 12)), ("[8, 12, 20]", (8, 12, 20))]
)
def test_nights_are_one_number_or_three(tmp_path, written, nights):
    """The short form means exactly so many."""
    stay = read(tmp_path, trip(leg("A", nights=written))).legs[0].nights
    assert (stay.least, stay.preferred, stay.most) == nights


@pytest.mark.parametrize("written", ["true", "12.5", '"12"', "[8, 12]", "[1, 2, 3, 4]"])
def test_other_forms_of_nights_name_the_two_that_exist(tmp_path, written):
    """A message that asked for a table would send people astray."""
    assert "one whole number or three: [least, preferred, most]" in only(
        tmp_path, trip(leg("A", nights=written))
    )


@pytest.mark.parametrize(
    ("written", "hours"),
    [
        (('"21:00"', '"04:00"'), (21.0, 4.0)),
        (("22:30:00", "6:00:00".rjust(8, "0")), (22.5, 6.0)),
        (('"0:30"', '"8:15"'), (0.5, 8.25)),
    ],
)
def test_clock_times_may_cross_midnight(tmp_path, written, hours):
    """In quotes or as times of TOML, before or after midnight."""
    party = f"\n[party]\nsleep_from = {written[0]}\nsleep_to = {written[1]}\n"
    read_party = read(tmp_path, trip(leg("A"), party)).party
    assert (read_party.sleep_from, read_party.sleep_to) == hours


@pytest.mark.parametrize(
    "hours", [("12:00", "06:00"), ("22:00", "22:00"), ("22:00", "13:00"), ("06:00", "22:00")]
)
def test_hours_that_make_no_night_are_refused(tmp_path, hours):
    """Noon, no time at all, and by day: each with what a night is."""
    party = f'\n[party]\nsleep_from = "{hours[0]}"\nsleep_to = "{hours[1]}"\n'
    found = only(tmp_path, trip(leg("A"), party))
    assert "a night of at least 1 h" in found and f"not {hours[0]} to {hours[1]}" in found
    assert found.endswith('Write for example sleep_from = "22:00" and sleep_to = "06:00".')


@pytest.mark.parametrize("written", ["2200", '"24:00"', '"7 pm"', "2027-05-01T22:00:00"])
def test_other_clock_times_are_refused(tmp_path, written):
    """A number could be hours or minutes."""
    party = f"\n[party]\nsleep_from = {written}\n"
    assert 'a clock time like "22:00"' in only(tmp_path, trip(leg("A"), party))


@pytest.mark.parametrize(
    "written",
    [
        "2027-05-01T00:00:00",
        "2027-05-01T10:00:00Z",
        '"01.05.2027"',
        '"5/1/2027"',
        "20270501",
        "true",
    ],
)
def test_dates_are_dates(tmp_path, written):
    """A time of day would shift a night, a number would be read as seconds."""
    text = trip(leg("A"), changed=[("earliest = 2027-05-01", f"earliest = {written}")])
    assert "departure.earliest: expected a date YYYY-MM-DD" in only(tmp_path, text)


@pytest.mark.parametrize("year", ["0001", "1899", "2200", "9999"])
def test_years_no_journey_is_planned_in_are_refused(tmp_path, year):
    """A slip of the pen must not end in a traceback of the calendar."""
    closed = f"closed = [{{ first = {year}-01-01, last = {year}-12-31 }}]"
    found = problems(tmp_path, trip(leg("A", more=closed)))
    assert [key for key, *_ in found] == ["legs[1].closed[1].first", "legs[1].closed[1].last"]
    assert all("a year from 1900 to 2199" in expected for _, expected, *_ in found)


@pytest.mark.parametrize(
    ("place", "expected"),
    [
        ('"44.6; 15.6"', "place: expected two numbers [latitude, longitude], got '44.6; 15.6'."),
        ('["44.6N", "15.6E"]', "place: expected two numbers [latitude, longitude], got ['44.6N'"),
        ("[44.6]", "place: expected two numbers [latitude, longitude], got [44.6]."),
        ("[44,6, 15,6]", "place: expected two numbers [latitude, longitude], got [44, 6, 15, 6]."),
        ("{ lat = 44.6, lon = 15.6 }", "place: expected two numbers [latitude, longitude], got {"),
        ("[true, 15.6]", "place: expected two numbers [latitude, longitude], got [True, 15.6]."),
        ("[144.6, 15.6]", "place: expected [latitude, longitude], at most 89 and 180, got [144.6"),
        ("[44.6, nan]", "place: expected [latitude, longitude], at most 89 and 180, got [44.6, n"),
        ("[0x" + "f" * 400 + ", 1]", "place: expected [latitude, longitude], at most 89 and 180"),
    ],
)
def test_a_wrong_place_is_one_problem_that_shows_the_form(tmp_path, place, expected):
    """Commas, letters and swapped numbers are what people write first."""
    text = trip(leg("A"), changed=[("place = [40.0, 29.0]", f"place = {place}")])
    assert only(tmp_path, text).startswith(f"legs[1].{expected}")
    text = trip(leg("A"), changed=[("place = [40.0, 29.0]", f"points = [[40.0, 29.0], {place}]")])
    assert only(tmp_path, text).startswith(f"legs[1].{expected.replace('place', 'points[2]', 1)}")


def test_closures_keep_their_form(tmp_path):
    """Yearly dates stay words, full dates become dates, the leap day is a day."""
    closed = (
        'closed = [{ first = "11-01", last = "02-29", margin_days = 7 },'
        " { first = 2027-06-01, last = 2027-06-03 }]"
    )
    yearly, once = read(tmp_path, trip(leg("A", more=closed))).legs[0].closed
    assert (yearly.first, yearly.last, yearly.margin_days) == ("11-01", "02-29", 7)
    assert (once.first, once.last) == (date(2027, 6, 1), date(2027, 6, 3))


@pytest.mark.parametrize(
    ("closed", "first", "last"),
    [
        ('"November to April"', "11-01", "04-30"),
        ('["15 November to 28 February"]', "11-15", "02-28"),
        ('[{ first = "Dec", last = "February" }]', "12-01", "02-29"),
        ('[{ first = "15 May", last = "June 3rd" }]', "05-15", "06-03"),
        ('["all year"]', "01-01", "12-31"),
        ('[{ first = "15 May 2027", last = "2027-06-01" }]', date(2027, 5, 15), date(2027, 6, 1)),
    ],
)
def test_closures_are_read_as_people_write_them(tmp_path, closed, first, last):
    """Months have their first day at one end and their last at the other."""
    (span,) = read(tmp_path, trip(leg("A", more=f"closed = {closed}"))).legs[0].closed
    assert (span.first, span.last) == (first, last)


@pytest.mark.parametrize("written", ['"2027-05-01"', '"1 May 2027"', '"May 1, 2027"'])
def test_dates_may_be_words(tmp_path, written):
    """Quotes round a date are no mistake."""
    text = trip(leg("A"), changed=[("earliest = 2027-05-01", f"earliest = {written}")])
    assert read(tmp_path, text).departure.earliest == date(2027, 5, 1)


def test_hazard_rows_take_months(tmp_path):
    """As closures do."""
    row = (
        '\n[[hazards]]\nlegs = ["A"]\nkind = "flood"\nlevel = "serious"\nfirst = "June"\n'
        'last = "August"\nsource = "invented"\n'
    )
    (hazard,) = read(tmp_path, trip(leg("A"), row)).hazards
    assert (hazard.first, hazard.last) == ("06-01", "08-31")


@pytest.mark.parametrize(
    ("closed", "expected"),
    [
        ('first = "11-01", last = 2027-06-01', "`first` and `last` of one form"),
        ("first = 2027-06-02, last = 2027-06-01", "a day from `first`, 2027-06-02, on"),
        ('first = "02-30", last = "03-01"', "a day from 1 to 29"),
        ('first = "5-1", last = "06-01"', "a month ('June') or a day ('15 May', '05-15')"),
        ('first = "May 2027", last = "June"', "a date YYYY-MM-DD"),
        ('first = 5, last = "June"', "a month ('June') or a day ('15 May', '05-15'), in quotes"),
    ],
)
def test_impossible_closures_are_refused(tmp_path, closed, expected):
    """A closure that nobody can read would leave a road open."""
    assert expected in only(tmp_path, trip(leg("A", more=f"closed = [{{ {closed} }}]")))


@pytest.mark.parametrize("key", ["region", "points"])
def test_leg_lies_in_one_place(tmp_path, key):
    """Two places for one leg leave open which is meant."""
    value, given = {
        "region": ('"x"', "region and place"),
        "points": ("[[40.0, 29.0]]", "place and points"),
    }[key]
    text = trip(leg("A", more=f"{key} = {value}"))
    assert f"exactly one of region, place, points, got {given}." in only(tmp_path, text)


def test_a_leg_without_a_place_is_told_how_to_write_one(tmp_path):
    """The shortest way out is a pair of coordinates."""
    found = only(tmp_path, trip(leg("A"), changed=[("place = [40.0, 29.0]", "")]))
    assert "got none" in found and found.endswith("Add place = [latitude, longitude].")


@pytest.mark.parametrize(
    ("key", "day", "expected"),
    [
        ("earliest", "2027-05-11", "latest: expected a day from `earliest`, 2027-05-11, on"),
        ("latest", "2027-04-30", "latest: expected a day from `earliest`, 2027-05-01, on"),
        ("latest", "2027-07-01", "finish_by: expected a day after `latest`, 2027-07-01"),
        ("finish_by", "2027-05-10", "finish_by: expected a day after `latest`, 2027-05-10"),
        ("finish_by", "2030-05-01", "finish_by: expected at most three years after `earliest`"),
    ],
)
def test_dates_out_of_order_name_the_two_that_do_not_fit(tmp_path, key, day, expected):
    """The date itself is told, not a table cut short; one wrong date is one problem."""
    former = {"earliest": "2027-05-01", "latest": "2027-05-10", "finish_by": "2027-07-01"}
    found = only(tmp_path, trip(leg("A"), changed=[(f"{key} = {former[key]}", f"{key} = {day}")]))
    named = expected.partition(":")[0]
    assert found.startswith(f"departure.{expected}")
    assert f", got {(former | {key: day})[named]}. " in found


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("0", "legs[1].nights: expected from 1 to 365 nights, got 0."),
        ("-3", "legs[1].nights: expected from 1 to 365 nights, got -3."),
        ("366", "legs[1].nights: expected from 1 to 365 nights, got 366."),
        ("[8, 5, 3]", "most nights in rising order, got [8, 5, 3]."),
        ("{ least = 8, preferred = 5, most = 9 }", "in rising order, got {'least': 8, "),
        ("[0, 5, 8]", "legs[1].nights.least: expected at least 1, got 0."),
    ],
)
def test_wrong_nights_are_one_problem_as_they_were_written(tmp_path, written, expected):
    """A number stands for three, but is one mistake; a list is shown as a list."""
    assert expected in only(tmp_path, trip(leg("A", nights=written)))


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ("camp_elevation_m = nan", "legs[1].camp_elevation_m"),
        ("kilometres = inf", "legs[1].kilometres"),
        ("water_gap_days = -1", "legs[1].water_gap_days"),
        ("room_price = 1e300", "legs[1].room_price"),
        ("kilometres = 1" + "0" * 400, "legs[1].kilometres"),
        ("kilometres = 0x" + "f" * 5000, "legs[1].kilometres"),
        ("room_price" + ".a" * 3000 + " = 1", "legs[1].room_price"),
    ],
)
def test_numbers_are_numbers(tmp_path, more, key):
    """Not-a-number, infinity and figures longer than any page are refused by name."""
    found = only(tmp_path, trip(leg("A", more=more)))
    assert found.startswith(f"{key}: expected") and len(found) < 250


@pytest.mark.parametrize("text", ["a = " + "[" * 100_000, "a = 1" + "0" * 5000])
def test_text_that_exhausts_the_parser_is_refused(tmp_path, text):
    """Hostile nesting and endless numbers end in a message."""
    assert "valid TOML" in only(tmp_path, text)


HOSTILE = [
    "<script>alert(1)</script>",
    "\"quotes' ${HOME} $(id) `id` {{ 7*7 }} {% raw %}",
    "\u200fשלום\u200e \u202eright to left",
    "𝔘𝔫𝔦𝔠𝔬𝔡𝔢 🏕",
    "../../etc/passwd",
    "%s %n {0} \\N",
]


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_are_kept_as_written(tmp_path, words):
    """Whoever shows them escapes them: nothing is lost or run here."""
    quoted = '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'
    read_back = read(
        tmp_path,
        trip(
            f"\n[permits.{quoted}]\nlongest_stay_days = 30\n",
            leg("A", more=f"note = {quoted}\npermit = {quoted}"),
            f'\n[[hazards]]\nlegs = ["A"]\nkind = "flood"\nlevel = "none"\nsource = {quoted}\n',
            changed=[('"Two camps"', quoted)],
        ),
    )
    assert read_back.title == read_back.legs[0].note == read_back.legs[0].permit == words
    assert read_back.hazards[0].source == words


@pytest.mark.parametrize("escape", ["\\u0000", "\\u001b[31m", "\\u0085", "\\u009b", "\\u2028"])
def test_control_characters_are_refused_in_every_text(tmp_path, escape):
    """They would steer a terminal, and no XML file can hold them."""
    bad = f'"x{escape}y"'
    text = trip(
        f"\n[permits.{bad}]\nlongest_stay_days = 30\n",
        leg(
            "A",
            more=f'note = {bad}\npermit = {bad}\nclosed = [{{ first = "01-01", last = '
            f'"01-02", note = {bad} }}]',
        ),
        f'\n[[hazards]]\nlegs = [{bad}]\nkind = "flood"\nlevel = "none"\nnote = {bad}\n'
        f"source = {bad}\n",
        f"\n[[links]]\nlegs = [{bad}, {bad}]\nkilometres = 1\n",
        f"\n[files]\nregions = {bad}\nhazards = [{bad}]\nkits = [{bad}]\nroute = {bad}\n",
        f"\n[vehicle]\nname = {bad}\n\n[money]\ncurrency = {bad}\n\n[[party.sleepers]]\n"
        f"name = {bad}\n",
        changed=[('"Two camps"', bad), ('"bedroll"', bad)],
    )
    keys = {key.partition("'")[0] for key, *_ in problems(tmp_path, text)}
    assert keys == {
        "title",
        "party.sleepers[1].name",
        "shelter.kits[1]",
        "vehicle.name",
        "money.currency",
        "permits.",
        "legs[1].note",
        "legs[1].permit",
        "legs[1].closed[1].note",
        "hazards[1].legs[1]",
        "hazards[1].note",
        "hazards[1].source",
        "links[1].legs[1]",
        "links[1].legs[2]",
        "files.regions",
        "files.hazards[1]",
        "files.kits[1]",
        "files.route",
    }


@pytest.mark.parametrize("name", ['""', '"   "', '"' + "x" * 201 + '"', '"two\\nlines"'])
def test_names_are_one_line_of_words(tmp_path, name):
    """A name heads a table row."""
    text = trip(leg("A"), changed=[('name = "A"', f"name = {name}")])
    assert only(tmp_path, text).startswith("legs[1].name: expected")


def test_notes_may_be_long_and_have_lines(tmp_path):
    """Ten thousand characters of advice are somebody's travel diary."""
    note = "line\n\tanother line\r\n" + "x" * 10_000
    more = f'note = """{note}"""'
    assert len(read(tmp_path, trip(leg("A", more=more))).legs[0].note) > 10_000
    assert "at most 20000 characters" in only(
        tmp_path, trip(leg("A", more=f'note = "{"x" * 20_001}"'))
    )


def test_problems_inside_named_tables_say_the_name(tmp_path):
    """Permits carry names people choose, capitals and spaces included."""
    text = trip(
        leg("A"),
        '\n[permits."East Land"]\nlongest_stay_days = 0\n\n[permits.West]\nlongest_stay = 3\n',
    )
    found = {key: (expected, mend) for key, expected, _, mend in problems(tmp_path, text)}
    assert set(found) == {
        "permits.'East Land'.longest_stay_days",
        "permits.West.longest_stay",
    }
    assert found["permits.West.longest_stay"][1] == "Did you mean 'longest_stay_days'?"


def test_names_that_are_almost_right_are_recognised(tmp_path):
    """Hazards, links and permits go by names, which people mistype."""
    links = '\n[[links]]\nlegs = ["Lake", "dunes"]\nkilometres = 1\n'
    flood = 'kind = "flood"\nlevel = "none"\nsource = "x"\n'
    rows = f'\n[[hazards]]\nlegs = ["Lakes", "Moon"]\n{flood}'
    text = trip(leg("Lake", more='permit = "Est"'), leg("Dunes"), links, rows, PERMIT)
    assert [(key, got, mend) for key, _, got, mend in problems(tmp_path, text)][:4] == [
        ("legs[1].permit", "'Est'", "Did you mean 'East'?"),
        ("hazards[1].legs", "'Lakes'", "Did you mean 'Lake'?"),
        ("hazards[1].legs", "'Moon'", "Choose from Lake, Dunes."),
        ("links[1].legs", "'dunes'", "Did you mean 'Dunes'?"),
    ]


PERMIT = "\n[permits.East]\nlongest_stay_days = 30\n"
FREE = 'order = "free"'
EAST = 'permit = "East"'
HIGH = "camp_elevation_m = 3500"
LOW = "camp_elevation_m = 100"


@pytest.mark.parametrize(
    ("text", "key", "expected"),
    [
        (
            trip(
                leg("A"),
                '\n[party]\npeople = 1\n[[party.sleepers]]\nname = "x"\n'
                '[[party.sleepers]]\nname = "y"\n',
            ),
            "party.sleepers",
            "at most the 1 of party.people",
        ),
        (
            trip(leg("A"), "\n[vehicle]\nweighed_kg = 2.15\ntank_l = 140\n"),
            "vehicle.weighed_kg",
            "more than the 116 kg of fuel in the tank, got 2.15.",  # 140 L of 0.83 kg.
        ),
        (
            trip(leg("A"), "\n[vehicle]\nweighed_kg = 1200\nweighed_rear_kg = 2150\n"),
            "vehicle.weighed_rear_kg",
            "at most weighed_kg, 1200",
        ),
        (
            trip(leg("A"), "\n[money]\neuro = 20\n"),
            "money.euro",
            "no price of a euro where the currency is EUR",
        ),
        (trip(leg("A"), leg("A")), "legs[2].name", "a name of its own"),
        (
            trip(leg("A", more='permit = "West"'), PERMIT),
            "legs[1].permit",
            "one of [permits]: East",
        ),
        (
            trip(leg("A", more="be_there = [2027-07-01]")),
            "legs[1].be_there",
            "an evening from 2027-05-01 to the one before 2027-07-01",
        ),
        (
            trip(
                leg("A", more="be_there = [2027-06-01]"), leg("B", more="be_there = [2027-06-01]")
            ),
            "legs[2].be_there",
            "an evening that no other leg claims",
        ),
        (trip(leg("A", nights="40"), leg("B", nights="30")), "departure.finish_by", "at least 70"),
        (
            trip(leg("A"), '\n[[links]]\nlegs = ["A", "A"]\nkilometres = 1\n', departure=FREE),
            "links[1].legs",
            "two different legs",
        ),
        (
            trip(leg("A"), leg("B"), '\n[[links]]\nlegs = ["A", "B"]\nkilometres = 1\n'),
            "links",
            'departure.order = "free"',
        ),
        (
            trip(
                *map(leg, "ABCD"),
                '\n[[links]]\nlegs = ["A", "B"]\nkilometres = 1\n',
                '\n[[links]]\nlegs = ["C", "B"]\nkilometres = 1\n',
                departure=FREE,
            ),
            "links",
            "ways that join every leg to 'A', over others too, got none to 'D'.",
        ),
        (
            trip(leg("A", more=EAST), PERMIT, departure=FREE),
            "legs[1].permit",
            "no permit in a free order",
        ),
        (
            trip(*(leg(f"L{n}", nights="1") for n in range(13)), departure=FREE),
            "departure.order",
            "at most 12 legs",
        ),
        (
            trip(leg("A", more=EAST), leg("B"), leg("C", more=EAST), PERMIT),
            "permits.East",
            "legs that follow each other",
        ),
        (
            trip(
                leg("A"),
                '\n[permits.East]\nlongest_stay_days = 30\nvalid = { first = "05-01", '
                'last = "06-01", margin_days = 3 }\n',
            ),
            "permits.East",
            "`valid` without margin_days",
        ),
    ],
)
def test_tables_that_do_not_fit_each_other_are_refused(tmp_path, text, key, expected):
    """`check` must find what `build` would stumble over."""
    found = only(tmp_path, text)
    assert found.startswith(f"{key}: expected {expected}"), found


@pytest.mark.parametrize(
    ("legs", "direction", "number"),
    [
        ((LOW, HIGH), "forward", 2),
        ((HIGH, LOW), "reverse", 1),
        ((HIGH, LOW), "forward", 1),
        ((LOW, HIGH), "reverse", 2),
        ((LOW, HIGH), "either", 2),
    ],
)
def test_100_m_to_3500_m_in_a_day_is_refused_both_ways(tmp_path, legs, direction, number):
    """By hand: 1,000 m above 2,500 m take two nights, and one more to rest.

    Home is at sea level unless stated, so starting at the high camp is a climb too.
    """
    text = trip(
        *(leg(name, nights="1", more=more) for name, more in zip("AB", legs, strict=True)),
        departure=f'direction = "{direction}"\nfrom_elevation_m = 0',
    )
    found = only(tmp_path, text)
    assert found.startswith(
        f"legs[{number}].nights: expected 3 nights or more, 1 of them for rest, got at most 1."
    )
    assert "Add 2 nights" in found


@pytest.mark.parametrize(
    ("nights", "home"),
    [("3", 0), ("1", 3500), ("1", 3000)],
)
def test_slow_climbs_and_high_homes_pass(tmp_path, nights, home):
    """Three nights are enough; from 3,000 m one is, since 500 m take one night."""
    text = trip(leg("A", nights=nights, more=HIGH), departure=f"from_elevation_m = {home}")
    assert read(tmp_path, text).legs[0].camp_elevation_m == 3500


def test_a_climb_too_fast_one_way_round_passes_where_the_other_is_allowed(tmp_path):
    """Going down needs no nights: the planner then takes that way."""
    climb = (leg("A", nights="3", more="camp_elevation_m = 3000"), leg("B", nights="1", more=HIGH))
    home = "\nfrom_elevation_m = 2500"
    only_forward = trip(*climb, departure=f'direction = "reverse"{home}')
    assert "legs[2].nights" in only(tmp_path, only_forward)
    for legs in (climb, climb[::-1]):
        assert read(tmp_path, trip(*legs, departure=f'direction = "either"{home}'))


@pytest.mark.parametrize(
    ("below", "above", "most"),
    [(30, 4400, 3500), (2600, 4400, 3500), (2900, 3600, 3500), (3100, 3650, 3600)],
)
def test_moves_that_climb_too_far_are_refused_whatever_the_nights(tmp_path, below, above, most):
    """At most 500 m above 3,000 m or the camp before, if that is higher."""
    low, high = (f"camp_elevation_m = {height}" for height in (below, above))
    legs = (leg("A", nights="9", more=low), leg("B", nights="30", more=high))
    text = trip(*legs, departure='direction = "forward"\nfrom_elevation_m = 2600')
    found = only(tmp_path, text)
    assert found.startswith(f"legs[2].camp_elevation_m: expected at most {most:,} m after a camp")
    assert "Put camps between" in found


@pytest.mark.parametrize(("below", "above"), [(2700, 3150), (0, 3400)])
def test_moves_of_500_m_above_3000_m_pass(tmp_path, below, above):
    """With nights enough."""
    low, high = (f"camp_elevation_m = {height}" for height in (below, above))
    legs = (leg("A", nights="9", more=low), leg("B", nights="30", more=high))
    text = trip(*legs, departure='direction = "forward"\nfrom_elevation_m = 2600')
    assert read(tmp_path, text).legs[1].camp_elevation_m == above


@pytest.mark.parametrize(("height", "asked"), [(2500, False), (2600, True)])
def test_the_height_before_a_high_first_camp_is_asked_for(tmp_path, height, asked):
    """From the sea or from a plateau makes the difference between a plan and an illness."""
    text = trip(leg("A", nights="5", more=f"camp_elevation_m = {height}"))
    if not asked:
        assert read(tmp_path, text)
        return
    assert only(tmp_path, text).startswith("departure.from_elevation_m: expected the height at")


@pytest.mark.parametrize(
    ("party", "key"),
    [
        ('[party]\npreset = "infant"\n', "party.preset"),
        ('[[party.sleepers]]\nname = "Ada"\npreset = "infant"\n', "party.sleepers[1].preset"),
    ],
)
def test_infants_are_refused_with_the_reason(tmp_path, party, key):
    """No share of sound nights can be given for them, and the file says why."""
    told = only(tmp_path, trip(leg("A")) + party)
    assert told.startswith(f"{key}: expected one of light sleeper, usual, hardened, careful, got")
    assert "No standard models how infants bear cold or heat" in told


def test_a_way_to_the_first_camp_is_part_of_the_leg(tmp_path):
    """It cannot be longer than the leg, and in a free order the links state it."""
    text = trip(leg("A", more="kilometres = 300\napproach_km = 400"))
    assert only(tmp_path, text).startswith(
        "legs[1].approach_km: expected at most the leg's kilometres, 300, got 400."
    )
    text = trip(leg("A", more="approach_km = 40"), departure='order = "free"')
    assert only(tmp_path, text).startswith("legs[1].approach_km: expected none in a free order")


@pytest.mark.parametrize("bedding", ["[]", "['winter']", "{ a = 1 }", "true", "26"])
def test_bedding_is_a_word_or_a_comfort_temperature(tmp_path, bedding):
    """Whatever else stands there is told, a list and a table too."""
    text = trip(leg("A"), f"\n[party]\nbedding = {bedding}\n")
    with pytest.raises(InputError, match=r"party.bedding: expected '.*or a comfort temperature"):
        read_trip(saved(tmp_path, text))
