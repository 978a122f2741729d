"""Names that several places have, on a list of some towns: which is meant, and what is offered."""

import pytest

from sheltermap.places.names import Gazetteer, folded

DEGREE_KM = 111.195  # of a great circle


def listed(*rows, countries="#Nowhere|NW|NWH"):
    """Return a list of towns: "names latitude longitude people", under one country."""
    lines = ["header", countries, *("\t".join(row.rsplit(" ", 3)) for row in rows)]
    return Gazetteer("\n".join(lines))


TWO_LANDS = Gazetteer(
    "header\n"
    "#Aland|AL|ALD|Alia\n"
    "Osh|Oche\t10.0\t20.0\t6000\n"
    "Dorf\t10.5\t20.0\t9000\n"
    "#Bland|BL|BLD\n"
    "Osh\t40.0\t70.0\t7000\n"
    "Ochen|Oche\t41.0\t70.0\t8000"
)


@pytest.mark.parametrize(("apart", "towns"), [(24.0, 1), (26.0, 2)])
def test_places_within_25_km_are_one_town(apart, towns):
    """The larger of the two stands for it; farther apart neither does."""
    near = listed("Osh 10.0 20.0 6000", f"Osh {10 + apart / DEGREE_KM:.4f} 20.0 7000")
    if towns == 1:
        assert near.place("Osh").people == 7000 and near.place("Osh").doubt == ""
    else:
        with pytest.raises(ValueError, match="one place; 2 are called so"):
            near.place("Osh")


@pytest.mark.parametrize(("people", "taken"), [(120_000, True), (119_999, False)])
def test_a_town_of_twenty_times_the_people_is_meant(people, taken):
    """Of 6,000; one fewer and it is asked."""
    towns = listed("Osh 10.0 20.0 6000", f"Osh 50.0 20.0 {people}", "Osh -9.0 0.0 5500")
    if taken:
        place = towns.place("osh")
        assert (place.people, place.words) == (people, "Osh, Nowhere")
        assert place.doubt.startswith(
            "'osh' is read as Osh, Nowhere [50.00, 20.00], which has at least 20 times the people"
        )
        assert place.doubt.endswith("Osh, Nowhere [10.00, 20.00]; Osh, Nowhere [-9.00, 0.00].")
    else:
        with pytest.raises(ValueError, match=r"3 are called so \| Write the country behind it"):
            towns.place("osh")


@pytest.mark.parametrize(("count", "more"), [(6, ""), (7, "; and 1 more"), (9, "; and 3 more")])
def test_six_towns_are_offered(count, more):
    """The largest first, the rest counted."""
    towns = listed(*(f"Osh {10 + n}.0 20.0 {6000 + n}" for n in range(count)))
    with pytest.raises(ValueError, match=f"one place; {count} are called so") as caught:
        towns.place("Osh")
    offered = str(caught.value).split("behind it: ")[1]
    assert offered.startswith(f"Osh, Nowhere [{10 + count - 1}.00, 20.00]; ")
    assert offered.count("[") == 6 and offered.endswith(f"]{more}.")


def test_a_usual_name_comes_before_another_towns_other_name():
    """Ochen is called Oche elsewhere, and so is Osh: of none it is the usual name."""
    with pytest.raises(ValueError, match="2 are called so"):
        TWO_LANDS.place("Oche")
    assert TWO_LANDS.place("Ochen").people == 8000
    mixed = listed("Osh|Dorf 10.0 20.0 6000", "Dorf 50.0 20.0 5001")
    assert mixed.place("Dorf").people == 5001
    assert [names for _, names in mixed.entries()] == [["Dorf"], []]


@pytest.mark.parametrize(
    ("written", "people"),
    [("Osh, Aland", 6000), ("osh,bl", 7000), ("Osh, ALIA", 6000), ("Oche, BLD", 8000)],
)
def test_a_country_is_known_by_all_of_its_names(written, people):
    """Long, short, and another."""
    assert TWO_LANDS.place(written).people == people


@pytest.mark.parametrize(
    ("written", "said"),
    [
        # No such country: towns of the name are offered, else countries of like names.
        ("Osh, Cland", ["country after the comma, not 'Cland'", "Osh, Bland [40.00, 70.00]"]),
        ("Xy, Blamd", ["country after the comma, not 'Blamd'", "Nearest: Bland, Aland."]),
        ("Xy, Qqqqqq", ["country after the comma, not 'Qqqqqq' | Or write latitude"]),
        # A town of another country is none of this one; one of like spelling is.
        ("Dorf, Bland", ["a place of more than 5,000 people | Or write"]),
        ("Dorff, Aland", ["5,000 people | Nearest: Dorf, Aland [10.50, 20.00]."]),
    ],
)
def test_what_is_wrong_with_a_name_is_told(written, said):
    """With what was perhaps meant."""
    with pytest.raises(ValueError, match="the name of a") as caught:
        TWO_LANDS.place(written)
    for words in said:
        assert words in str(caught.value)


def test_a_name_with_a_comma_of_its_own_is_found():
    """The part behind it is no country."""
    towns = listed("Washington, D.C. 38.9 -77.04 600000")
    assert towns.place("washington, d.c.").people == 600_000


@pytest.mark.parametrize(("asked", "found"), [("Dorfabc", False), ("Dorfen", True)])
def test_names_of_like_length_are_offered(asked, found):
    """Two letters more may be a slip, three are another name."""
    with pytest.raises(ValueError, match="5,000 people") as caught:
        TWO_LANDS.place(asked)
    assert ("Dorf, Aland" in str(caught.value)) is found


@pytest.mark.parametrize(("away", "name"), [(29.0, "Big"), (31.0, "Small")])
def test_a_place_is_known_by_the_largest_town_within_30_km(away, name):
    """Farther off the nearest names it, however small."""
    towns = listed("Small 10.1 20.0 5100", f"Big {10 - away / DEGREE_KM:.4f} 20.0 90000")
    assert towns.town(10.0, 20.0).name == name
    assert towns.town(15.0, 20.0).name == "Small"
    nearest, kilometres = towns.nearest(10.0, 20.0)
    assert nearest.name == "Small" and kilometres == pytest.approx(0.1 * DEGREE_KM, abs=0.01)


def test_letters_without_an_accent_are_written_as_people_write_them():
    """Signs between words are spaces, apostrophes nothing; by the countries' own habits."""
    names = ["Łódź", "Kızıl_Irmak", "Đakovo", "Sør-Trøndelag", "L’Aquila", "  Ærø  "]
    assert folded(names) == [
        "lodz", "kizil irmak", "dakovo", "sor trondelag", "laquila", "aero",
    ]  # fmt: skip
