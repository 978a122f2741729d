"""Ways of getting wet, by hand."""

import pytest
from nights import one_night
from scipy.stats import gamma

from sheltermap.shelters.kit import load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.wet import wet_ways
from sheltermap.suitability.score import score

KITS = load_kits()
NO_PONDING = Settings(ponding=0.0)


def wet(kit, settings=NO_PONDING, **changes):
    """Return the chance that water spoils a night in a month where every day is wet."""
    soaking = {"wet_share": 1.0, "rain_per_day": 12.0, "daytime_vapour_deficit": 0.0}
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
    flooded = wet("ground-tent", Settings(ponding=0.25), rain_per_day=40.0)
    assert flooded == pytest.approx(1 - 0.96 * 0.5 * (1 - 0.25 * heavy), abs=1e-5)


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
