"""How the numbers of a kit reach the kernel."""

import pytest

from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.combination import kit_modes, numbers_of

KITS = load_kits()


@pytest.mark.parametrize("name", [name for name, kit in KITS.items() if kit.awning is not None])
def test_wind_that_takes_the_awning_leaves_the_leak_of_a_bare_kit(name):
    """What leaks under the awning and what wind adds are together what leaks without one."""
    kit = KITS[name]
    numbers = numbers_of(kit_modes(kit, [Sleeper()], Settings(), hours=8.0))
    assert numbers.leak == kit.leak_under_awning < kit.leak
    assert numbers.leak + numbers.leak_in_wind == pytest.approx(kit.leak)
    assert numbers.danger_leak + numbers.danger_leak_in_wind == pytest.approx(
        kit.leaks_in_danger[0]
    )
