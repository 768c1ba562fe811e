"""The standard texts tell the times and sums that the portal goes by, not figures of their own."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from portal.orders.kernel import retention_times
from portal.orders.office import policies, privacy_text
from portal.shop.policies import BlockKind, Policy
from portal.shop.pricing.price_list import Deposit
from tests.readers import read_in


def shop_of(unit):
    with unit.read() as session:
        return unit.shop(session)


def text(unit, policy: Policy, language: str = "en") -> str:
    return "\n".join(
        read_in(one.says, language) for one in policies.standard(policy, shop_of(unit))
    )


def test_the_times_are_those_after_which_the_portal_deletes(unit) -> None:
    told = text(unit, Policy.PRIVACY)
    for sentence in (
        "7 days after your last answer",
        "30 days after the question or our answer",
        "works until 30 days after you collect",
        "Photos: 90 days after",
        "letters: 24 months after",
        "address for 2 days",
    ):
        assert sentence in told


@pytest.mark.parametrize(
    ("name", "days", "sentence"),
    [
        ("DRAFT_LIVES", 11, "11 days after your last answer"),
        ("ASKED_DRAFT_LIVES", 41, "41 days after the question"),
        ("LINK_LIVES", 51, "works until 51 days"),
        ("PHOTOS_LIVE", 61, "Photos: 61 days"),
        ("CONTACT_LIVES", 365, "letters: 12 months"),
        ("TRIES_LIVE", 3, "address for 3 days"),
        ("LETTERS_LIVE", 71, "trade customers: 71 days"),
        ("FIRM_LISTS_LIVE", 81, "lists: 81 days after"),
        ("DEVICES_LIVE", 366, "signed in from, for 366 days"),
    ],
)
def test_another_time_is_told_at_once(
    unit, monkeypatch: pytest.MonkeyPatch, name: str, days: int, sentence: str
) -> None:
    assert hasattr(retention_times, name)
    monkeypatch.setattr(privacy_text, name, timedelta(days=days))
    assert sentence in text(unit, Policy.PRIVACY)


def test_who_sees_it_names_the_makers_of_browsers_that_show_messages(unit) -> None:
    _, _, sees = text(unit, Policy.PRIVACY).partition("Who sees it")
    assert "the maker of that browser delivers them" in sees.partition("Cookies")[0]


@pytest.mark.parametrize(
    ("percent", "least", "sentence"),
    [
        ("0", 0, "We take no deposit."),
        ("20", 0, "We take 20 % as a deposit"),
        ("12.5", 30_000, "For orders of £300 or more, we take 12.5 %"),
    ],
)
def test_the_deposit_is_the_one_of_the_price_list(
    unit, percent: str, least: int, sentence: str
) -> None:
    shop = shop_of(unit)
    asked = Deposit(percent=Decimal(percent), least_total=least, at_least=0)
    tariff = replace(shop.tariff, deposit=asked)
    blocks = policies.standard(Policy.TERMS, replace(shop, tariff=tariff))
    assert any(sentence in read_in(one.says, "en") for one in blocks)


def test_sums_and_sentences_are_told_in_each_language(unit) -> None:
    shop = shop_of(unit)
    asked = Deposit(percent=Decimal(20), least_total=30_000, at_least=0)
    tariff = replace(shop.tariff, deposit=asked)
    blocks = policies.standard(Policy.TERMS, replace(shop, tariff=tariff))
    german = "\n".join(read_in(one.says, "de") for one in blocks)
    assert "Ab einem Auftragswert von 300" in german
    for one in blocks:
        if one.says not in ("Cookies",) and one.kind is BlockKind.ITEM:
            assert read_in(one.says, "de") != read_in(one.says, "en")


@pytest.mark.parametrize("policy", Policy)
def test_a_text_of_the_shops_own_stands_in_its_language_alone(unit, policy: Policy) -> None:
    own = replace(shop_of(unit), policies={policy: {"en": "# Ours\n\nOnly this."}})
    assert [one.says for one in policies.text_of(policy, own, "en")] == ["Ours", "Only this."]
    assert policies.text_of(policy, own, "de") == policies.standard(policy, own)
