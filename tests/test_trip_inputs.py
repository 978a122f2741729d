"""All files of a trip together: kits, sleepers, regions, layers, and every problem at once."""

from __future__ import annotations

import pytest
from small_trips import leg, saved, trip

from sheltermap.trip.inputs import read_inputs, sleepers_of
from sheltermap.trip.model import read_trip
from sheltermap.vocabulary import InputError


def problems(path):
    """Return what is wrong with a trip's files: file name, key and message."""
    with pytest.raises(InputError) as caught:
        read_inputs(path)
    return [(p.file.rpartition("/")[2], p.key, str(p)) for p in caught.value.problems]


def party(folder, lines):
    """Return the sleepers of a party."""
    return sleepers_of(read_trip(saved(folder, trip(leg("A"), f"\n[party]\n{lines}\n"))))


def test_trip_without_files_has_the_bundled_layer_alone(tmp_path):
    """Tropical cyclones are looked at everywhere; nothing else is."""
    found = read_inputs(saved(tmp_path, trip(leg("A"))))
    kinds = {kind for layer in found.layers for kinds, _ in layer.covered for kind in kinds}
    assert kinds == {"tropical-cyclone"}
    assert found.regions is None and found.route is None


def test_party_sleeps_alike_unless_somebody_differs(tmp_path):
    """Those who differ come first; what they leave out is the party's."""
    sleepers = party(
        tmp_path,
        'people = 3\npreset = "careful"\nbedding = "winter"\nlength_m = 1.9\n'
        '[[party.sleepers]]\nname = "Ann"\nbedding = -5\ncold_sleeper = true\nlength_m = 1.6',
    )
    ann, *others = sleepers
    assert len(sleepers) == 3 and others[0] == others[1]
    assert (ann.preset, ann.bedding.comfort_c, ann.cold_sleeper, ann.length_m) == (
        "careful",
        -5.0,
        True,
        1.6,
    )
    assert (others[0].bedding.word, others[0].cold_sleeper, others[0].length_m) == (
        "winter",
        False,
        1.9,
    )


def test_sleeper_may_be_warmer_than_the_party(tmp_path):
    """False is an answer, not a missing one."""
    (warm,) = party(
        tmp_path,
        'people = 1\ncold_sleeper = true\n[[party.sleepers]]\nname = "Bo"\ncold_sleeper = false',
    )
    assert warm.cold_sleeper is False


@pytest.mark.parametrize("label", [25, -60])
def test_every_bedding_label_a_trip_may_state_is_one_a_kit_can_use(tmp_path, label):
    """The bounds of trip and kit files agree."""
    (sleeper, _) = party(tmp_path, f"bedding = {label}")
    assert sleeper.bedding.comfort_c == label


def test_kits_named_twice_are_compared_once(tmp_path):
    """The first mention keeps its place."""
    found = read_inputs(saved(tmp_path, trip(leg("A"), kits="roof-tent bedroll roof-tent")))
    assert [kit.id for kit in found.kits] == ["roof-tent", "bedroll"]


def test_addons_go_to_the_first_kit(tmp_path):
    """The others are compared as they are."""
    with_mat = ('"ground-tent"]', '"ground-tent"]\naddons = ["mat"]')
    text = trip(leg("A"), kits="bedroll ground-tent", changed=[with_mat])
    first, other = read_inputs(saved(tmp_path, text)).kits
    plain = read_inputs(saved(tmp_path, trip(leg("A"), kits="bedroll ground-tent"))).kits
    assert first.mass_kg > plain[0].mass_kg
    assert other == plain[1]


def test_addon_that_changes_nothing_is_named_with_its_place(tmp_path):
    """A roof tent lies off the ground without a cot."""
    second = ('"roof-tent"]', '"roof-tent"]\naddons = ["mat", "cot"]')
    ((_, key, message),) = problems(
        saved(tmp_path, trip(leg("A"), kits="roof-tent", changed=[second]))
    )
    assert key == "shelter.addons[2]"
    assert "an add-on that changes roof-tent, got 'cot'. Leave it out." in message


def test_unknown_kit_names_its_neighbour(tmp_path):
    """One letter off is the usual mistake."""
    ((file, key, message),) = problems(saved(tmp_path, trip(leg("A"), kits="bedrol")))
    assert (file, key) == ("trip.toml", "shelter.kits[1]")
    assert "Did you mean 'bedroll'?" in message


def test_problems_of_all_files_come_at_once(tmp_path):
    """Regions, hazards, route and kits are read before anybody is told off."""
    files = (
        '\n[files]\nregions = "r.geojson"\nhazards = ["h.geojson", "gone.geojson"]\n'
        'route = "way.txt"\nkits = ["k.toml"]\n'
    )
    (tmp_path / "r.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    (tmp_path / "h.geojson").write_text("[")
    (tmp_path / "way.txt").write_text("")
    (tmp_path / "k.toml").write_text("kit = 3")
    found = problems(saved(tmp_path, trip(leg("A"), files)))
    assert [file for file, *_ in found] == [
        "r.geojson",
        "h.geojson",
        "trip.toml",
        "way.txt",
        "k.toml",
    ]
    assert found[2][1] == "files.hazards[2]"


def test_a_folder_is_no_file_and_the_key_is_named(tmp_path):
    """Which of several keys names the wrong thing is what a reader looks for."""
    files = '\n[files]\nregions = "."\nhazards = ["gone.geojson"]\nroute = ".."\nkits = ["."]\n'
    found = problems(saved(tmp_path, trip(leg("A"), files)))
    assert {file for file, *_ in found} == {"trip.toml"}
    assert {key: "a folder" in message for _, key, message in found} == {
        "files.regions": True,
        "files.hazards[1]": False,
        "files.route": True,
        "files.kits[1]": True,
    }
    assert all("Check the name and the folder." in message for *_, message in found)


def test_unknown_addon_is_named_with_its_place_beside_unknown_kits(tmp_path):
    """Where it stands and what was meant, as for a kit."""
    text = trip(
        leg("A"),
        kits="bedroll hammok",
        changed=[
            ('kits = ["bedroll", "hammok"]', 'kits = ["bedroll", "hammok"]\naddons = ["fans"]')
        ],
    )
    with pytest.raises(InputError) as caught:
        read_inputs(saved(tmp_path, text))
    kit, addon = caught.value.problems
    assert (kit.key, addon.key) == ("shelter.kits[2]", "shelter.addons[1]")
    assert (addon.got, addon.mend) == ("'fans'", "Did you mean 'fan'?")


def test_kit_file_with_a_mistake_hides_no_kit(tmp_path):
    """A kit that only seems unknown is not a second mistake."""
    (tmp_path / "k.toml").write_text("kit = 3")
    text = trip(leg("A"), '\n[files]\nkits = ["k.toml"]\n', kits="our-own")
    assert [file for file, *_ in problems(saved(tmp_path, text))] == ["k.toml"]
