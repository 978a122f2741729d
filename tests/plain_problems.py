"""Questions of a planner whose answers can be worked out on paper."""

from __future__ import annotations

from datetime import date

import numpy as np

from sheltermap.planner.problem import PlanningProblem, Stop

MAY_1 = date(2027, 5, 1)


def stop(name, fewest=3, preferred=None, most=None, **details):
    """Return a stop whose id is its name; nights are fixed unless given."""
    most = fewest if most is None else most
    return Stop(name, name, fewest, fewest if preferred is None else preferred, most, **details)


def problem(*stops, kits=1, rough=0.1, **details):
    """Return a problem of equal nights that leaves on 1 May, unless given."""
    table = np.full((kits, len(stops), 365), rough) if np.isscalar(rough) else np.asarray(rough)
    details = {"earliest": MAY_1, "latest": MAY_1, "stay_weight": 0.0, "rough": table} | details
    return PlanningProblem(
        stops, tuple(f"kit {number}" for number in range(len(table))), **details
    )
