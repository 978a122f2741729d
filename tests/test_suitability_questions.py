"""Kits' questions: each distinct one once, and every kit finds its own answers."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.special import ndtr

from sheltermap.shelters.fitting import with_addons
from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.combination import numbers_of, plan_of
from sheltermap.suitability.kernel import normal
from sheltermap.suitability.questions import ROWS, TOPICS, questions_of

KITS = load_kits()


def numbers(kit, *sleepers):
    return numbers_of(plan_of(kit, sleepers or (Sleeper(),), Settings()), 8.0)


def asked_by(*kits, drops=True, windy=True):
    return questions_of(kits, np.dtype(float), drops=drops, windy=windy)


def topic_starts(asked):
    """Return where each topic's answers begin, and where all end."""
    counts = [
        len(part)
        for part in (
            asked.cold.drop,
            asked.heat.heating,
            asked.drip.face,
            asked.rain,
            asked.pond,
            asked.damp.undried,
            asked.gale,
        )
    ]
    return dict(zip((*TOPICS, "end"), np.cumsum([0, *counts]), strict=True))


def test_a_kit_twice_asks_once():
    """The same kit again adds a column to the table and not one question."""
    one = numbers(KITS["ground-tent"])
    alone, _ = asked_by(one)
    twice, table = asked_by(one, one)
    assert twice.count == alone.count
    assert table.rows.shape == (len(ROWS), 2)
    assert (table.rows[:, 0] == table.rows[:, 1]).all()


def test_every_kit_finds_its_own_numbers():
    """Whatever was asked before, a kit's rows lead to its own limits, exponents and speeds."""
    kits = [numbers(kit) for kit in KITS.values()]
    asked, table = asked_by(*kits)
    first = topic_starts(asked)
    assert first["end"] == asked.count < table.rows.size
    for kit, rows in zip(kits, table.rows.T, strict=True):
        found = dict(zip(ROWS, rows, strict=True))
        for name, mode, sky in (
            ("cold_dry", kit.closed, 1.0),
            ("cold_wet", kit.closed, 0.0),
            ("closes", kit.dry, 1.0),
        ):
            place = found[name] - first["cold"]
            assert asked.cold.base[0, place] == mode.cold[0].base
            assert asked.cold.sky[0, place] == sky * mode.cold[0].sky
            assert asked.cold.drop[place] == sky
        for name, mode in (
            ("heat_dry", kit.dry),
            ("heat_wet", kit.wet),
            ("heat_shut", kit.closed),
        ):
            place = found[name] - first["heat"]
            assert asked.heat.dry[0, place] == mode.hot[0].dry
            assert asked.heat.vapour[place] == mode.vapour
        for name, mode, sky in (
            ("drips_open", kit.dry, 1.0),
            ("drips_closed", kit.closed, 1.0),
            ("drips_wet", kit.wet, 0.0),
            ("drips_shut", kit.closed, 0.0),
        ):
            place = found[name] - first["drip"]
            assert asked.dewpoint[asked.drip.dewpoint[place]] == mode.vapour
            assert asked.drip.face[place] == mode.face
            assert asked.drip.face_sky[place] == sky * mode.face_sky
        assert asked.rain[found["asleep"] - first["rain"]] == kit.asleep
        assert asked.rain[found["at_work"] - first["rain"]] == kit.at_work
        assert asked.pond[found["unponded"] - first["pond"]] == kit.ponding
        assert asked.damp.undried[found["dried"] - first["damp"]] == kit.undried
        assert asked.damp.per_soaked[found["dried"] - first["damp"]] == kit.per_soaked
        assert asked.gale[found["gale"] - first["gale"]] == kit.wind_limit


def test_where_no_night_is_colder_dry_ones_ask_what_wet_ones_ask():
    """Under a roof and without a drop the two cold questions are one."""
    tent = numbers(KITS["ground-tent"])
    rows = dict(zip(ROWS, asked_by(tent, drops=False)[1].rows[:, 0], strict=True))
    assert rows["cold_dry"] == rows["cold_wet"]
    rows = dict(zip(ROWS, asked_by(tent, drops=True)[1].rows[:, 0], strict=True))
    assert rows["cold_dry"] != rows["cold_wet"]


def test_without_wind_nobody_asks_for_it():
    """No gale is worked out, and no awning is taken in, where wind is not assessed."""
    kit = numbers(with_addons(KITS["bedroll"], ["awning"]))
    asked, table = asked_by(kit, windy=False)
    assert len(asked.gale) == 0
    assert not table.awning.any()
    assert table.rows.max() < asked.count
    assert asked_by(kit, windy=True)[1].awning.all()


def test_parties_of_different_size_stand_in_one_table():
    """A kit whose sleepers bear the same is padded by what it has already."""
    pair = (Sleeper(), Sleeper(cold_sleeper=True, preset="careful"))
    single, couple = numbers(KITS["roof-tent"]), numbers(KITS["roof-tent"], *pair)
    asked, table = asked_by(single, couple)
    place = table.rows[ROWS.index("heat_dry"), 0] - topic_starts(asked)["heat"]
    assert len(asked.heat.dry) == 2
    assert asked.heat.dry[0, place] == asked.heat.dry[1, place] == single.dry.hot[0].dry


@pytest.mark.parametrize("kind", [np.float32, float])
def test_normal_against_scipy(kind):
    """In single precision within 4e-7 of scipy's, beyond the fit's end too; in place as well."""
    deviations = np.concatenate(
        [np.linspace(-9, 9, 20_001), [np.nan, -np.inf, np.inf, -0.0, 0.0]]
    ).astype(kind)
    expected = ndtr(deviations.astype(float))
    assert normal(deviations).dtype == kind
    assert_allclose(normal(deviations), expected, rtol=0, atol=4e-7)
    assert normal(deviations, out=deviations) is deviations
    assert_allclose(deviations, expected, rtol=0, atol=4e-7)
