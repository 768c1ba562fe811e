"""Names of RAL colours in each language: the publisher's, as far as they are known here."""

import pytest

from portal.craft.colour_names import colour_name, ral_names


@pytest.mark.parametrize(
    ("number", "german", "spanish"),
    [  # from memory; the numbers and English names stand in the list of the cited library
        ("9005", "Tiefschwarz", "Negro intenso"),
        ("7016", "Anthrazitgrau", "Gris antracita"),
        ("3020", "Verkehrsrot", "Rojo tráfico"),
        ("9006", "Weißaluminium", "Aluminio blanco"),
        ("6005", "Moosgrün", "Verde musgo"),
        ("1003", "Signalgelb", "Amarillo señales"),
    ],
)
def test_a_number_has_its_name_in_each_language(number, german, spanish):
    names = ral_names()[number]
    assert (names["de"].lower(), names["es"].lower()) == (german.lower(), spanish.lower())


def test_every_number_has_a_name_of_its_own_in_every_language():
    for language in ("en", "de", "es"):
        names = [told[language] for told in ral_names().values()]
        assert all(names)
        assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("name", "language", "told"),
    [
        ("Jet black", "de", "Tiefschwarz"),
        ("Jet black satin", "de", "Tiefschwarz seidenglänzend"),
        ("jet BLACK matt", "es", "Negro intenso mate"),
        ("Tiefschwarz seidenglänzend", "en", "Jet black satin"),
        ("Jet black satin", "en", "Jet black satin"),
        # no name of RAL's, or with something that the shop added: as it is
        ("Ember bronze", "de", "Ember bronze"),
        ("Jet black with gold flakes", "de", "Jet black with gold flakes"),
        ("Jet black", "nl", "Jet black"),
        ("", "de", ""),
    ],
)
def test_a_powders_name_is_told_in_the_readers_language(name, language, told):
    assert colour_name(name, language) == told
