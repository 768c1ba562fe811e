"""Showing values: money, days, times, lengths; sentences of the trade in the page's language."""

from datetime import UTC, date, datetime

import pytest
from flask import current_app

from portal.craft.messages import Message
from portal.craft.parts import FaceStyle, Item, PartKind, PartSet, Rim
from portal.render.catalogues import languages
from portal.shop.money import Money
from portal.web.kit.i18n import filters
from portal.web.kit.i18n.languages import clock_time, day, money, render
from tests.page import page_of

SPOKEN = {"en": "English", "de": "Deutsch", "es": "Español"}


@pytest.fixture(autouse=True)
def speaking(app):
    with app.test_request_context("/"):
        yield


def show(name: str, value: object) -> str:
    """What a filter of the pages makes of a value."""
    return current_app.jinja_env.call_filter(
        name, value, context=current_app.jinja_env.from_string("").new_context()
    )


def test_money_is_written_with_its_pence() -> None:
    assert money(Money(123_450, "GBP")) == "£1,234.50"
    assert money(Money(-500, "GBP")) == "-£5.00"
    assert money(Money(0, "EUR")) == "€0.00"


def test_a_moment_is_shown_in_the_shops_zone() -> None:
    summer = datetime(2026, 6, 1, 23, 30, tzinfo=UTC)
    assert day(summer) == "Tuesday 2 June"
    assert clock_time(summer) == "00:30"
    assert day(date(2026, 6, 1)) == "Monday 1 June"
    assert filters.when(summer) == (
        '<time datetime="2026-06-02T00:30:00+01:00">Tuesday 2 June, 00:30</time>'
    )
    assert filters.on_day(summer) == '<time datetime="2026-06-02">Tuesday 2 June</time>'


def test_measures_carry_their_unit() -> None:
    assert show("mm", 1250.4) == "1,250\u00a0mm"
    assert show("micron", 80) == "80\u00a0µm"
    assert show("kg", 0.84) == "0.8\u00a0kg"


def test_a_rim_is_written_as_it_is_said() -> None:
    assert show("inches", Rim(17, 7.5)) == "17 × 7½"
    assert show("inches", Rim(18, 8)) == "18 × 8"
    assert show("inches", Rim(22.5, 8.25)) == "22.5 × 8¼"


def test_a_set_is_called_by_its_count_and_kind() -> None:
    assert filters.called(PartSet("a", PartKind.CALIPER, 2)) == "2 × calipers"


def test_a_telephone_number_is_written_as_the_country_does() -> None:
    assert show("telephone", "+441632960471") == "01632 960471"
    assert show("telephone", "+4930123456").startswith("+49 30")
    assert show("telephone", "who knows") == "who knows"


def test_a_sentence_shows_its_values_and_not_their_python() -> None:
    sentence = Message(
        "{item}: {sum} by {when}, {face}",
        item=Item.TYRE, sum=Money(900, "GBP"), when=date(2026, 6, 2), face=FaceStyle.MESH,
    )  # fmt: skip
    assert render(sentence) == "Tyre: £9 by Tuesday 2 June, Mesh"
    assert (
        render(Message("Within {inner}", inner=Message("another {x}", x=1))) == "Within another 1"
    )
    assert render("plain") == "plain"
    assert render(Message("100 % sure")) == "100 % sure"


@pytest.mark.parametrize(
    ("asked", "spoken"),
    [("de-AT,de;q=0.9", "Montag, 1. Juni"), ("es", "lunes 1 de junio"), ("fr", "Monday 1 June")],
)
def test_days_follow_the_language_that_the_browser_asks_for(app, asked, spoken) -> None:
    app.extensions["languages"] = SPOKEN
    with app.test_request_context("/", headers={"Accept-Language": asked}):
        assert day(date(2026, 6, 1)) == spoken


def test_a_kept_choice_of_language_wins(app) -> None:
    app.extensions["languages"] = SPOKEN
    asking = {"Accept-Language": "es", "Cookie": "lang=de"}
    with app.test_request_context("/", headers=asking):
        assert day(date(2026, 6, 1)) == "Montag, 1. Juni"


def test_a_language_is_offered_only_with_its_catalogue(tmp_path) -> None:
    assert set(languages(tmp_path)) == {"en"}
    home = tmp_path / "es" / "LC_MESSAGES"
    home.mkdir(parents=True)
    (home / "messages.mo").write_bytes(b"")
    assert languages(tmp_path) == {"en": "English", "es": "Español"}


def test_a_language_is_kept_in_a_cookie_and_leads_back_to_the_page(app, client) -> None:
    app.extensions["languages"] = SPOKEN
    page = client.get("/why-powder")
    number = len(page_of(page).all("form")) - 1
    answer = client.submit(page, form=number, lang="de")
    assert answer.status_code == 303
    assert answer.headers["Location"] == "/why-powder"
    assert 'lang="de"' in client.get("/why-powder").text
    away = client.submit(page, form=number, lang="de", back="//example.com/")
    assert away.headers["Location"] == "/"
