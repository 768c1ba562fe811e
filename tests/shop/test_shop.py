"""The shop put together from its documents."""

import json
from pathlib import Path

import pytest

from portal.craft.messages import CraftError
from portal.craft.parts import Effect
from portal.shop.powder_list import read_powders
from portal.shop.shop import KINDS, bodies, read_shop, shop_of
from portal.shop.states import DocumentKind
from portal.shop.translations import TRANSLATIONS

SEED = Path(__file__).resolve().parents[2] / "demo_seed"
SHOP = (SEED / "shop.toml").read_text("utf-8")
POWDERS = (SEED / "powders.csv").read_text("utf-8")
HEADER, FIRST, *_ = POWDERS.splitlines()


def test_the_demo_shop_is_read() -> None:
    shop = read_shop(SHOP, POWDERS)
    assert (shop.currency, shop.zone, shop.country) == ("GBP", "Europe/London", "GB")
    assert shop.practice.oven_mm == shop.stations.oven.size_mm
    assert len(shop.stock) == 28
    assert shop.translations["de"]["Straw gold"] == "Strohgold"


def test_the_demo_shop_can_be_nobodys() -> None:
    """Ofcom keeps 01632 960000 to 960999 for fiction; example.com is kept by RFC 2606."""
    shop = read_shop(SHOP, POWDERS)
    assert shop.phone.startswith("+441632960")
    assert shop.email.endswith("@example.com")


def test_documents_survive_the_database_as_json() -> None:
    documents = json.loads(json.dumps(bodies(SHOP)))
    # a shop may say its own words in other languages, and need not
    assert set(KINDS) <= set(documents) <= {*KINDS, TRANSLATIONS, DocumentKind.INVOICING}
    assert shop_of(documents, read_powders(POWDERS)) == read_shop(SHOP, POWDERS)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('currency = "GBP"', 'currency = "pounds"', "prices.currency"),
        ('country = "GB"\ndecision', 'country = "England"\ndecision', "place.country"),
        ('transfer = "0.55"', 'transfer = "0"', "shop.practice.transfer"),
        ('phone = "+441632960471"', 'phone = ""', "shop.phone"),
        ('phone = "+441632960471"', 'fone = "+441632960471"', "shop.phone"),
        ('"quality_label" #', '"eye" #', "shop.inspection_rule"),
        ("[place]", "[places]", "place"),
        ("[shop]", "[colours]\n[shop]", "colours"),
        ('zone = "Europe/London"', 'zone = "Europe/Fennholt"', "week.zone"),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(old: str, new: str, key: str) -> None:
    assert old in SHOP
    with pytest.raises(CraftError) as caught:
        read_shop(SHOP.replace(old, new, 1), POWDERS)
    assert caught.value.key == key


def test_a_file_that_is_not_toml_is_refused() -> None:
    with pytest.raises(CraftError):
        bodies("[shop")


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        ([HEADER.replace("gloss_gu,", "")], "line 1"),
        ([HEADER, FIRST, FIRST], "line 3, code"),
        ([HEADER, FIRST.replace(",85,", ",shiny,")], "line 2, gloss_gu"),
        ([HEADER, FIRST.replace("solid", "glittery")], "line 2, effect"),
        ([HEADER, FIRST.replace(",60,90,", ",90,60,")], "line 2, film_low_um"),
        ([HEADER, FIRST.replace(",180,15,", ",1800,15,")], "line 2, cure_c"),
        ([HEADER, "," + FIRST.split(",", 1)[1]], "line 2, code"),
        ([HEADER, "R1,short"], "line 2, l"),
        ([HEADER, FIRST.replace("46.0", "nan")], "line 2, stock_kg"),
    ],
)
def test_a_powder_that_cannot_be_is_refused_with_its_line(lines: list[str], key: str) -> None:
    with pytest.raises(CraftError) as caught:
        read_powders("\n".join(lines))
    assert caught.value.key == key


def test_the_demo_powders_offer_every_kind_and_some_must_be_waited_for() -> None:
    powders = read_powders(POWDERS).values()
    assert {one.effect for one in powders} == set(Effect)
    assert [one.code for one in powders if one.stock_kg == 0]
