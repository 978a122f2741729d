"""Ways of getting wet, by hand."""

import numpy as np
import pytest
from nights import one_night
from scipy.optimize import brentq
from scipy.stats import gamma

from sheltermap.shelters.kit import load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.wet import wet_ways
from sheltermap.suitability.kernel import grown
from sheltermap.suitability.score import score

KITS = load_kits()
NO_PONDING = Settings(ponding=0.0)
USUAL_RAIN = Settings().usual_wet_day


def wet(kit, settings=NO_PONDING, **changes):
    """Return the chance that water spoils a night in a month where every day is wet."""
    soaking = {"wet_share": 1.0, "rain_per_day": USUAL_RAIN, "daytime_vapour_deficit": 0.0}
    return float(score(one_night(**soaking | changes), KITS[kit], settings=settings).wet)


# It rains every hour of every day: the kit leaks on its share of nights (0.25, 0.05 under
# the awning, 0.03, 0.01), half of the times it is pitched or struck the bed gets wet, and
# canvas that never dries spoils half of the nights.
@pytest.mark.parametrize(
    ("kit", "expected"),
    [
        ("bedroll", 1 - 0.75 * 0.5 * 0.5),
        ("bedroll-awning", 1 - 0.95 * 0.5 * 0.5),
        ("roof-tent", 1 - 0.97 * 0.5 * 0.5),
        ("ground-tent", 1 - 0.96 * 0.5),
        ("pop-up-body", 0.01),
    ],
)
def test_independent_ways_by_hand(kit, expected):
    """What is left dry after each way is multiplied."""
    assert wet(kit) == pytest.approx(expected, abs=1e-9)


def test_dry_air_takes_the_damp_away():
    """1.5 kPa for 12 h, half of it usable, halved on wet days: 4.5 kPa h dry 3 h of canvas."""
    assert wet("bedroll", daytime_vapour_deficit=1.5) == pytest.approx(1 - 0.75 * 0.5, abs=1e-9)
    # 0.5 kPa: 1.5 kPa h are half of what the bedroll needs, so it stays half as damp.
    half = wet("bedroll", daytime_vapour_deficit=0.5)
    assert half == pytest.approx(1 - 0.75 * 0.5 * 0.75, abs=1e-9)


def test_short_days_dry_less():
    """Six hours of light dry half of what twelve do."""
    dried = [wet("bedroll", daytime_vapour_deficit=0.5, daylight_hours=h) for h in (12.0, 6.0)]
    assert dried[1] == pytest.approx(1 - 0.75 * 0.5 * 0.625, abs=1e-9)
    assert dried[0] < dried[1]


def test_heavy_days_put_pitches_on_the_ground_under_water():
    """40 mm a day: gamma of mean 38.8, scale 1.83 x 38.8 - 2.16; a quarter floods past 25 mm."""
    scale = 1.83 * 38.8 - 2.16
    heavy = gamma.sf(25.0, 38.8 / scale, scale=scale)
    usual = Settings(ponding=0.25, usual_wet_day=40.0)
    flooded = wet("ground-tent", usual, rain_per_day=40.0)
    assert flooded == pytest.approx(1 - 0.96 * 0.5 * (1 - 0.25 * heavy), abs=1e-5)
    # Five times the usual rain: odds of 1/3 become 5/3, of 4/96 become 20/96.
    hard = Settings(ponding=0.25, usual_wet_day=8.0)
    flooded = wet("ground-tent", hard, rain_per_day=40.0)
    assert flooded == pytest.approx(1 - 96 / 116 * 0.5 * (1 - 5 / 8 * heavy), abs=1e-5)


def test_odds_of_a_leak_are_those_of_a_chance_a_millimetre():
    """What the formula stands for, by simulation: depths of rain are exponential, and each
    millimetre leaks with the chance that leaks in a quarter of nights of 8 mm in the mean."""
    draw = np.random.default_rng(3)
    usual, hard = (draw.exponential(depth, 400_000) for depth in (8.0, 32.0))
    each = brentq(lambda rate: 0.75 - np.exp(-rate * usual).mean(), 1e-4, 1.0)
    simulated = 1 - np.exp(-each * hard).mean()
    assert grown(0.25, 4.0) == pytest.approx(simulated, abs=0.005)
    assert grown(0.25, 1.0) == 0.25


def test_drizzle_is_no_better_than_usual_rain():
    """Light rain lasts longer: a kit's own share stands."""
    assert wet("bedroll", rain_per_day=2.0) == wet("bedroll")


def test_no_bedroll_stays_dry_in_the_wettest_months():
    """800 mm on 25 of 30 days, warm and humid: on the ground about half of the nights go wrong,
    where the same share of wet days with usual rain spoils three in ten; walls keep it out."""
    monsoon = one_night(
        bedtime_temperature=22.0,
        coldest_hours_temperature=20.0,
        ground_temperature=22.0,
        wet_share=25 / 30,
        rain_per_day=800 / 30,
        daytime_vapour_deficit=0.6,
    )
    shares = {
        name: float(score(monsoon, KITS[name]).wet)
        for name in ("bedroll", "ground-tent", "load-bed")
    }
    assert shares["bedroll"] > 0.45
    assert shares["bedroll"] > shares["ground-tent"] > shares["load-bed"]
    assert shares["load-bed"] < 0.05


def test_damp_canvas_over_a_dry_bed_endangers_nobody():
    """A roof tent that never dries in a wet, mild winter spoils nights, and soaks no bed: with
    cloth that sheds water it is as dangerous. A bedroll's canvas is the bed."""
    winter = one_night(
        coldest_hours_temperature=-2.0,
        bedtime_temperature=1.0,
        ground_temperature=2.0,
        wet_share=0.7,
        rain_per_day=4.0,
        daytime_vapour_deficit=0.1,
    )
    for name, soaks in (("roof-tent", False), ("bedroll", True)):
        damp, dry = (
            score(winter, KITS[name].model_copy(update={"canvas": canvas}))
            for canvas in (True, False)
        )
        assert float(damp.wet) > float(dry.wet) + 0.1
        assert (float(damp.dangerous) > float(dry.dangerous) + 1e-3) is soaks


def test_awning_counts_while_it_stands():
    """Where wind always takes it in, the bedroll leaks as one without; in calm it doesn't."""
    assert wet("bedroll-awning", wind_speed=1e-3) == pytest.approx(1 - 0.95 * 0.25, abs=1e-9)
    assert wet("bedroll-awning", wind_speed=1e5) == pytest.approx(1 - 0.75 * 0.25, abs=1e-6)


def test_only_kits_on_the_ground_stand_in_water():
    """A cot, a roof and a body are above it."""
    ways = {name: wet_ways(kit, Settings()) for name, kit in KITS.items()}
    flooded = {name for name, way in ways.items() if way.ponding > 0}
    assert flooded == {"bedroll", "bedroll-awning", "ground-tent"}


def test_only_canvas_stays_damp():
    """Cloth that sheds water does not need to dry."""
    assert wet_ways(KITS["bedroll"], Settings()).undried > 0
    assert wet_ways(KITS["ground-tent"], Settings()).undried == 0
