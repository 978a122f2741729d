"""Own nights on the pages: how far from the usual, what they move, what would teach."""

import re
from dataclasses import replace

import pytest
from small_trips import leg, saved, stored, trip

from sheltermap.pipeline import plan
from sheltermap.website.basemap import shipped
from sheltermap.website.ownnights import own_rows, own_sentences
from sheltermap.website.pages import site

MEAN = [2.0, 3.0, 6.0, 9.0, 10.0, 17.0, 20.0, 20.0, 16.0, 11.0, 6.0, 3.0]
PARTY = '\n[party]\npeople = 2\n[[party.sleepers]]\nname = "A<b>na"\n'
LOWS = [2.0, 3.0, 1.0, 0.0, 4.0, 5.0, -1.0, 2.0, 3.0, 6.0]


def slept(more):
    """Return nights of the first sleeper."""
    return f'\n[[slept]]\nwho = "A<b>na"\nleg = "Hills"\nfirst = 2026-04-12\n{more}\n'


@pytest.fixture(scope="module")
def reports(tmp_path_factory):
    """Return a journey before and after a cold sleeper's nights."""
    folder = tmp_path_factory.mktemp("own")
    world = stored(folder, mean=MEAN, spread=3.0)
    legs = leg("Hills", nights="5"), leg("Summer", (41.0, 31.0), "60")
    row = f"nights = 10\ncold = 5\ncool = 3\nlow_c = {LOWS}"
    head = (("finish_by = 2027-07-01", "finish_by = 2027-08-01\nmost_danger = 1"),)
    return [
        plan(
            saved(folder, trip(*legs, PARTY, *rows, kits="ground-tent", changed=head)),
            climate=world,
        )
        for rows in ((), (slept(row), slept(row)))
    ]


def plain(markup):
    """Return the metric text of markup."""
    text = re.sub(r'<span class="imperial">.*?</span>', "", str(markup))
    return re.sub(r"<[^>]*>", "", text).replace("\u202f", " ")


def test_without_nights_nothing_is_said(reports):
    """No heading, no column, no table."""
    before, _ = reports
    assert before.own is None
    assert own_sentences(before) == [] == own_rows(before)


def test_figures_of_the_usual_are_those_before(reports):
    """Everyone's figures on the same dates are what the plan without nights had."""
    before, after = reports
    assert after.own.rough_nights == before.best.rough_nights
    assert (after.own.rough_low, after.own.rough_high) == (
        before.best.rough_low,
        before.best.rough_high,
    )
    assert after.own.cards == before.cards
    assert after.best.dangerous_nights >= before.best.dangerous_nights


def test_sentences_tell_who_what_moved_and_what_would_teach(reports):
    """Numbers in words are those of the records."""
    _, after = reports
    who, moved, teach = map(plain, own_sentences(after))
    assert after.own.sleepers[0].slept_in  # The nights were in the bedding of the plan's kit.
    cold = after.own.sleepers[0].cold
    assert cold.mean < -0.5
    assert who.startswith(
        f"A&lt;b&gt;na needs nights about {abs(cold.mean):.1f} °C warmer than the usual sleeper, "
        f"give or take {cold.spread:.1f} °C (20 nights, 20 of them measured)."
    )
    best, own = after.best, after.own
    assert f"usual sleepers would have {own.rough_nights:.1f} rough nights" in moved
    ranged = f"there are {best.rough_nights:.1f}, {best.rough_low:.1f} to {best.rough_high:.1f}."
    assert ranged in moved
    # The hills are cold in May; the other camp has 60 nights of summer.
    assert teach.startswith("Nights that would teach most of A&lt;b&gt;na: Hills, ")
    assert "Summer" not in teach


def test_legs_far_from_any_limit_teach_nothing(reports):
    """Nothing is named that would not settle a twentieth."""
    _, after = reports
    (sleeper,) = after.own.sleepers
    told = replace(after, own=replace(after.own, sleepers=(replace(sleeper, teaching=()),)))
    assert "No night ahead is near enough to a limit" in plain(own_sentences(told)[-1])


def test_pages_show_own_limits_beside_the_usual(reports):
    """Plan, Kits, the card and Methods; text from the file stays text."""
    before, after = reports
    told, usual = (
        {name: files[name].decode() for name in ("index.html", "kits.html", "methods.html")}
        | {"card": files["kit-ground-tent.html"].decode()}
        for files in (site(report, base_map=shipped) for report in (after, before))
    )
    assert "Your own nights" in told["index.html"] and "<b>na" not in told["index.html"]
    assert "Your own nights" not in usual["index.html"]
    for page in ("kits.html", "card"):
        assert 'class="fine">usual ' in told[page] and 'class="fine">usual ' not in usual[page]
    assert "by how much each row moves" in told["methods.html"]
    assert "by how much each row moves" not in usual["methods.html"]
    assert "What own nights teach" in usual["methods.html"]
