"""The spread of nightly lows against an independent relation."""

import numpy as np
import pytest
import xarray as xr
from published_tables import published

from sheltermap.climate.estimate import night_low_spread

RMSE = 0.92  # [K] of our relation at 55 sites, each left out in turn

_FROZEN = (3.567557, -0.1154459, 2.8244e-2, 1.95612e-3, 4.314e-5, 3.2e-7)
_MILD = (3.794117, 3.2987e-2, -1.504554e-2, 1.90346e-3, -1.1362e-4, 2.13e-6)


def older_spread(degrees):
    """Return Sommer and Kaplan's spread of daily minima on dry days. [K]"""
    if degrees > 25:
        return -4.619434 + 0.226056 * degrees
    return np.polynomial.polynomial.polyval(degrees, _FROZEN if degrees < 0 else _MILD)


def test_older_relation_gives_its_values():
    """All three branches."""
    table = published("night", "spread_of_minima")
    for degrees, expected in table["rows"]:
        assert older_spread(degrees) == pytest.approx(expected, abs=table["tolerance"])


# A mean and the range of monthly means that goes with it, from steppe to tropics.
CLIMATES = [(-10, 35), (-10, 25), (0, 25), (10, 20), (20, 15), (27, 5)]


def test_both_relations_agree():
    """Ours, which also knows the season, differs by no more than its own error: RMS 0.6 K."""
    differences = []
    for degrees, yearly in CLIMATES:
        months = xr.DataArray(np.full(12, float(degrees)), {"month": np.arange(1, 13)}, ["month"])
        months[0] += yearly if degrees < 10 else -yearly
        differences.append(float(night_low_spread(months)[6]) - older_spread(degrees))
    assert np.sqrt(np.mean(np.square(differences))) < RMSE
    # Ours holds the spread from year to year as well, so it is seldom the smaller.
    assert min(differences) > -0.5
