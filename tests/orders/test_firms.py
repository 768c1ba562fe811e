"""Trade customers in the office: their data, prices with dates, links; what others may not see."""

from dataclasses import replace
from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.parts import Bringing
from portal.orders.access import firm_links
from portal.orders.counter import cancellation
from portal.orders.kernel.errors import Overtaken, RateLimited, Refused
from portal.orders.kernel.firms import credit_of, firm_row, shop_for_firm
from portal.orders.kernel.job_order import shop_as_booked
from portal.orders.office import firms, month_view
from portal.orders.office.retention import sweep
from portal.shop.money import Money
from portal.shop.states import LetterKind
from portal.store.tables import FirmLink, FirmSession, Job, Letter
from tests.factories import a_booked_job, a_job_in_work
from tests.firms import a_firm, data


def token_of(unit) -> str:
    """The token in the last letter with a link."""
    with unit.read() as session:
        query = sa.select(Letter.text).where(Letter.kind == LetterKind.FIRM_LINK)
        text = session.scalars(query.order_by(Letter.id.desc())).first()
    (line,) = (one for one in text.splitlines() if "/firm/" in one)
    return line.rpartition("/")[2]


def count(unit, table) -> int:
    with unit.read() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(table))


@pytest.mark.postgres
def test_a_link_opens_the_page_once_and_no_other_firms(unit) -> None:
    firm_id = a_firm(unit)
    other = a_firm(unit, name="Other Garage", email="other@example.com")
    firm_links.send_link(unit, firm_id, who=None)
    token = token_of(unit)
    key = firm_links.open_link(unit, token)
    assert firm_links.current_firm(unit, key).firm_id == firm_id
    with pytest.raises(Refused):
        firm_links.open_link(unit, token)
    firm_links.end_links(unit, other, who=None)
    assert firm_links.current_firm(unit, key) is not None
    firm_links.end_links(unit, firm_id, who=None)
    assert firm_links.current_firm(unit, key) is None
    for wrong in ("", "x", key, token):
        assert firm_links.current_firm(unit, wrong) is None


def test_a_link_ends_after_a_week_and_an_open_page_after_a_quiet_month(unit, clock) -> None:
    firm_id = a_firm(unit)
    firm_links.send_link(unit, firm_id, who=None)
    firm_links.send_link(unit, firm_id, who=None)
    key = firm_links.open_link(unit, token_of(unit))
    clock.advance(days=8)
    with pytest.raises(Refused):
        firm_links.open_link(unit, token_of(unit))
    assert firm_links.current_firm(unit, key) is not None
    clock.advance(days=31)
    assert firm_links.current_firm(unit, key) is None
    clock.advance(days=90)
    sweep(unit)
    assert (count(unit, FirmLink), count(unit, FirmSession)) == (0, 0)


def test_who_asks_for_a_link_learns_nothing_of_who_has_one(unit) -> None:
    a_firm(unit)
    firm_links.ask_for_link(unit, "nobody@example.com", "192.0.2.1")
    firm_links.ask_for_link(unit, "", "192.0.2.1")
    assert count(unit, Letter) == 0
    firm_links.ask_for_link(unit, " Garage@Example.com ", "192.0.2.1")
    assert count(unit, Letter) == 1
    for _ in range(4):
        firm_links.ask_for_link(unit, "garage@example.com", "192.0.2.1")
    with pytest.raises(RateLimited):
        firm_links.ask_for_link(unit, "garage@example.com", "192.0.2.1")


def test_another_address_or_a_closed_firm_ends_its_links(unit) -> None:
    firm_id = a_firm(unit)
    firm_links.send_link(unit, firm_id, who=None)
    firms.change_firm(unit, firm_id, data(contact="New"), expected_version=1, who=None)
    key = firm_links.open_link(unit, token_of(unit))
    with pytest.raises(Overtaken):
        firms.change_firm(unit, firm_id, data(), expected_version=1, who=None)
    firms.change_firm(unit, firm_id, data(email="b@example.com"), expected_version=2, who=None)
    assert firm_links.current_firm(unit, key) is None
    firms.close_firm(unit, firm_id, closed=True, who=None)
    with pytest.raises(Refused):
        firm_links.send_link(unit, firm_id, who=None)
    firm_links.ask_for_link(unit, "b@example.com", "192.0.2.1")
    assert count(unit, Letter) == 1


@pytest.mark.parametrize(
    ("over", "key"),
    [
        ({"name": " "}, "name"),
        ({"terms_days": 121}, "terms_days"),
        ({"limit_minor": -1}, "limit"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(unit, over, key) -> None:
    with pytest.raises(Refused) as wrong:
        firms.add_firm(unit, data(**over), who=None)
    assert wrong.value.key == key


def test_who_to_speak_to_goes_two_years_after_a_firm_was_closed(unit, clock) -> None:
    firm_id = a_firm(unit)
    firms.close_firm(unit, firm_id, closed=True, who=None)
    sweep(unit)
    clock.advance(days=731)
    sweep(unit)
    with unit.read() as session:
        firm = firm_row(session, firm_id)
        assert (firm.contact, firm.email, firm.phone) == ("", "", "")
        assert (firm.name, firm.bringing) == ("Halden Garage", Bringing.COMPLETE)


def test_prices_hold_from_their_day_and_a_job_keeps_those_of_its_booking(unit, clock) -> None:
    firm_id = a_firm(unit, prices={"percent_off": "10"})
    with unit.read() as session:
        today = unit.shop(session).day(unit.now())
    later = today + timedelta(days=10)
    firms.put_firm_prices(unit, firm_id, {"percent_off": "20"}, starts_on=later, who=None)
    with pytest.raises(Refused):
        firms.put_firm_prices(unit, firm_id, {}, starts_on=today - timedelta(days=1), who=None)
    job = a_booked_job(unit, firm_id=firm_id)

    def bands(at=None):
        with unit.read() as session:
            return [
                one.price for one in shop_for_firm(unit, session, firm_id, at).tariff.wheels.bands
            ]

    now = bands()
    assert now == bands(unit.now())
    clock.advance(days=11)
    assert bands() < now
    with unit.read() as session:
        row = session.get(Job, job.job_id)
        kept = shop_as_booked(unit, session, row).tariff
        assert [one.price for one in kept.wheels.bands] == now
        assert row.deposit_minor == 0


def test_a_firm_owes_nothing_for_what_it_did_not_bring(unit, clock) -> None:
    firm_id = a_firm(unit)
    missed, off = (a_booked_job(unit, firm_id=firm_id) for _ in range(2))
    private = a_booked_job(unit)
    clock.advance(days=1)
    for one in (missed, private):
        cancellation.mark_no_show(unit, one.job_id, who=None)
    cancellation.call_off(unit, off.job_id, "Sold the car", who=None)
    with unit.read() as session:
        assert credit_of(session, firm_id, "GBP").owed == Money(0, "GBP")
    assert month_view.who_owes(unit) == ()


def test_a_firm_owes_for_what_it_took_home_and_what_is_here_is_told_apart(unit) -> None:
    firm_id = a_firm(unit, limit_minor=50_000)
    a_booked_job(unit, firm_id=firm_id)
    here = a_job_in_work(unit, firm_id=firm_id)
    a_job_in_work(unit, first_tag=201)
    with unit.read() as session:
        found = credit_of(session, firm_id, "GBP")
        total = session.get(Job, here.job_id).total_minor
    assert found.in_house == Money(total, "GBP")
    assert found.owed == Money(0, "GBP")
    assert found.room == Money(50_000, "GBP")
    assert not found.is_over
    assert found.takes_over(Money(50_001, "GBP"))
    assert not replace(found, limit=None).takes_over(Money(50_001, "GBP"))
