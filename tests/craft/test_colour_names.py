"""Names of RAL colours in each language: the publisher's, as far as they are known here."""

import pytest

from portal.craft.colour_names import colour_name, ral_names

# from memory; the German names of 1000 to 9016 stand so in several public lists, and the English
# ones in the list of the cited library
NAMES = """1000|green beige|Grünbeige|Beige verdoso
1003|signal yellow|Signalgelb|Amarillo señales
1013|oyster white|Perlweiß|Blanco perla
1021|rape yellow|Rapsgelb|Amarillo colza
2004|pure orange|Reinorange|Naranja puro
3000|flame red|Feuerrot|Rojo vivo
3020|traffic red|Verkehrsrot|Rojo tráfico
4006|traffic purple|Verkehrspurpur|Púrpura tráfico
5010|gentian blue|Enzianblau|Azul genciana
5015|sky blue|Himmelblau|Azul celeste
6005|moss green|Moosgrün|Verde musgo
6016|turquoise green|Türkisgrün|Verde turquesa
6018|yellow green|Gelbgrün|Verde amarillento
7016|anthracite grey|Anthrazitgrau|Gris antracita
7024|graphite grey|Graphitgrau|Gris grafita
7035|light grey|Lichtgrau|Gris luminoso
8017|chocolate brown|Schokoladenbraun|Pardo chocolate
9003|signal white|Signalweiß|Blanco señales
9005|jet black|Tiefschwarz|Negro intenso
9006|white aluminium|Weißaluminium|Aluminio blanco
9007|grey aluminium|Graualuminium|Aluminio gris
9010|pure white|Reinweiß|Blanco puro
9011|graphite black|Graphitschwarz|Negro grafito
9016|traffic white|Verkehrsweiß|Blanco tráfico"""


def test_every_number_has_its_names_in_each_language():
    told = {
        number: (names["en"].casefold(), names["de"], names["es"])
        for number, names in ral_names().items()
    }
    lines = [line.split("|") for line in NAMES.splitlines()]
    assert told == {number: (en, de, es) for number, en, de, es in lines}


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
        ("Jet black matt", "de", "Tiefschwarz matt"),
        ("Jet black satin", "es", "Negro intenso satinado"),
        ("Jet black gloss", "de", "Tiefschwarz glänzend"),
        ("Jet black gloss", "es", "Negro intenso brillante"),
        ("Jet black high gloss", "de", "Tiefschwarz hochglänzend"),
        ("Jet black high gloss", "es", "Negro intenso alto brillo"),
        ("Jet black fine texture", "de", "Tiefschwarz Feinstruktur"),
        ("Jet black fine texture", "es", "Negro intenso textura fina"),
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
