"""The log of a trip: what is done and how nights were slept, refused where it fits nothing."""

import pytest
from small_trips import leg, saved, trip

from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError

PAIR = '\n[[party.sleepers]]\nname = "Ana"\n'
LEGS = leg("A"), leg("B", (41.0, 30.0)), leg("C", (42.0, 31.0))


def only(folder, *parts, reader=read_trip, **options):
    """Return the one thing that is wrong with a trip of three legs, as one line."""
    with pytest.raises(InputError) as caught:
        reader(saved(folder, trip(*LEGS, *parts, **options)))
    (problem,) = caught.value.problems
    return f"{problem.key}: expected {problem.expected}, got {problem.got}. {problem.mend}"


def done(name, arrived, left=None, more=""):
    """Return a row of what is done."""
    end = "" if left is None else f"left = 2027-{left}\n"
    return f'\n[[done]]\nleg = "{name}"\narrived = 2027-{arrived}\n{end}{more}\n'


def slept(more, where='leg = "A"\nfirst = 2027-05-02\nwho = "Ana"'):
    """Return a row of nights."""
    return f"\n[[slept]]\n{where}\n{more}\n"


def test_a_log_is_read_as_written(tmp_path):
    """Stays in their order, the last one not left yet; counts that are not told are nought."""
    rows = (
        done("A", "05-01", "05-06"),
        done("B", "05-07"),
        slept("nights = 4\ncold = 1\nlow_c = 3"),
    )
    read = read_trip(saved(tmp_path, trip(*LEGS, PAIR, *rows)))
    assert [row.leg for row in read.done] == ["A", "B"]
    assert read.done[1].left is None
    assert read.slept[0].low_c == (3.0,)
    assert read.slept[0].cool == 0


DONE = {
    "unknown": ([done("a", "05-01")], "done[1].leg: expected the name of a leg, got 'a'. Did you"),
    "twice": (
        [done("A", "05-01", "05-03"), done("A", "05-04")],
        "done[2].leg: expected a leg that is not done already",
    ),
    "skipped": (
        [done("A", "05-01", "05-03"), done("C", "05-04")],
        "done[2].leg: expected 'B', the next leg of the trip, got 'C'. Put the rows",
    ),
    "still there": (
        [done("A", "05-01"), done("B", "05-04")],
        "done[1].left: expected the day you left; only the last row may lack it, got none",
    ),
    "overlap": (
        [done("A", "05-01", "05-06"), done("B", "05-04")],
        "done[2].arrived: expected 2027-05-06 or later, when the stay before it ends, got 2027-05",
    ),
    "no night": (
        [done("A", "05-06", "05-06")],
        "done[1]: expected left from 1 to 365 days after arrived, 2027-05-06, got 2027-05-06.",
    ),
}


@pytest.mark.parametrize("case", DONE)
def test_stays_that_cannot_have_been_are_told(tmp_path, case):
    """One sentence with what would do."""
    rows, told = DONE[case]
    assert only(tmp_path, *rows).startswith(told)


def test_a_journey_either_way_may_be_done_in_reverse(tmp_path):
    """The log says which way it was; forward alone, it is refused."""
    rows = done("C", "05-01", "05-06"), done("B", "05-07")
    either = trip(*LEGS, *rows, departure='direction = "either"')
    assert len(read_trip(saved(tmp_path, either)).done) == 2
    assert "expected 'A', the next leg of the trip, got 'C'" in only(tmp_path, *rows)


@pytest.mark.parametrize(
    ("direction", "legs", "told"),
    [
        ("reverse", "CB", None),
        ("reverse", "AB", "done[1].leg: expected 'C', the next leg of the trip, got 'A'."),
        ("either", "AC", "done[2].leg: expected 'B', the next leg of the trip, got 'C'."),
        ("either", "CA", "done[2].leg: expected 'B', the next leg of the trip, got 'A'."),
        ("either", "BC", "done[1].leg: expected 'A', the next leg of the trip, got 'B'."),
    ],
)
def test_the_next_leg_is_that_of_the_way_most_of_the_log_follows(tmp_path, direction, legs, told):
    """A, B, C one way, C, B, A the other; the way forward where neither fits."""
    first, second = legs
    rows = done(first, "05-01", "05-06"), done(second, "05-07")
    departure = f'direction = "{direction}"'
    if told is None:
        assert len(read_trip(saved(tmp_path, trip(*LEGS, *rows, departure=departure))).done) == 2
        return
    assert only(tmp_path, *rows, departure=departure).startswith(told)


@pytest.mark.parametrize(("left", "fits"), [("2028-04-30", True), ("2028-05-01", False)])
def test_a_stay_lasts_a_year_at_most(tmp_path, left, fits):
    """From 1 May 2027 to 30 April 2028 are 365 days, with 29 February."""
    row = f'\n[[done]]\nleg = "A"\narrived = 2027-05-01\nleft = {left}\n'
    if fits:
        assert read_trip(saved(tmp_path, trip(*LEGS, row))).done
        return
    assert "left from 1 to 365 days after arrived" in only(tmp_path, row)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("nights = 3\ncold = 1\ncool = 1\nwarm = 1\nrain = 3\nwet = 3\ndamp = 3", None),
        ("nights = 3\nwarm = 2\nhot = 2", "cold, cool, warm and hot together at most the 3"),
        ("nights = 3\nrain = 4", "rain at most the 3 nights"),
        ("nights = 3\ndamp = 4", "damp at most the 3 nights"),
        ("nights = 3\nrain = 2\nwet = 3", "wet at most the 2 nights of rain"),
        ("nights = 3\nlow_c = [1, 2, 3]\nbedtime_c = 9", None),
        ("nights = 3\nbedtime_c = [1, 2, 3, 4]", "bedtime_c with 1 number or 3, got 4"),
    ],
)
def test_counts_go_up_to_the_nights(tmp_path, more, told):
    """Every night may be wet, damp and badly slept; none is counted twice."""
    row = slept(more)
    if told is None:
        assert read_trip(saved(tmp_path, trip(*LEGS, PAIR, row))).slept
        return
    assert told in only(tmp_path, PAIR, row)


SLEPT = {
    "who": (
        slept("nights = 3", 'leg = "A"\nfirst = 2027-05-02'),
        "slept[1].who: expected the name of one of [[party.sleepers]], since more than one",
    ),
    "stranger": (
        slept("nights = 3", 'leg = "A"\nfirst = 2027-05-02\nwho = "Anna"'),
        "slept[1].who: expected the name of one of [[party.sleepers]], got 'Anna'. Did you mean",
    ),
    "when": (
        slept("nights = 3", 'leg = "A"\nwho = "Ana"'),
        "slept[1].first: expected the evening of the first night, of a leg that is not under",
    ),
    "nowhere": (
        slept("nights = 3", 'first = 2027-05-02\nwho = "Ana"'),
        "slept[1]: expected exactly one of leg and place, got none. Keep one of them.",
    ),
    "many": (
        slept("nights = 3\ncold = 2\ncool = 2"),
        "slept[1]: expected cold, cool, warm and hot together at most the 3 nights, got 4.",
    ),
    "wet": (
        slept("nights = 3\nwet = 2"),
        "slept[1]: expected wet at most the 0 nights of rain, got 2. Count the rain too.",
    ),
    "lows": (
        slept("nights = 3\nlow_c = [1, 2]"),
        "slept[1]: expected low_c with 1 number or 3, got 2. Give one for all nights",
    ),
}


@pytest.mark.parametrize("case", SLEPT)
def test_nights_that_say_nothing_are_told(tmp_path, case):
    """Whose, where, when, how many."""
    row, told = SLEPT[case]
    assert only(tmp_path, PAIR, row).startswith(told)


def test_the_first_night_is_that_of_the_leg_done(tmp_path):
    """A leg that is logged needs no date of its own."""
    rows = done("A", "05-01", "05-04"), slept("nights = 3", 'leg = "A"\nwho = "Ana"')
    assert read_trip(saved(tmp_path, trip(*LEGS, PAIR, *rows))).slept[0].first is None


def test_kits_and_addons_of_the_log_must_be_known(tmp_path):
    """Asked where the kit files are read."""
    row = done("A", "05-01", "05-04", 'kit = "bedrol"')
    told = only(tmp_path, row, reader=read_inputs)
    assert told == "done[1].kit: expected the id of a kit, got 'bedrol'. Did you mean 'bedroll'?"
    row = done("A", "05-01", "05-04", 'addons = ["fann"]')
    assert only(tmp_path, row, reader=read_inputs).startswith("done[1].addons[1]: expected the id")


def test_camps_of_one_leg_are_logged_one_by_one(tmp_path):
    """A leg of several heights is several stays, each with its name."""
    climb = leg("A", nights="[4, 6, 8]", more="camp_elevation_m = [300, 900]")
    rows = done("A, camp 1", "05-01", "05-04"), done("A, camp 2", "05-04")
    read = read_trip(saved(tmp_path, trip(climb, *rows)))
    assert [row.leg for row in read.done] == [one.name for one in read.legs]
    with pytest.raises(InputError) as caught:
        read_trip(saved(tmp_path, trip(climb, done("A", "05-01", "05-04"))))
    assert "A, camp 1" in str(caught.value)
