"""The shop's documents: editions, days from which they count, two editors, stations that break."""

from copy import deepcopy
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from portal.orders.access import signing_in
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.office import audit_view, documents, stations
from portal.shop.roles import Role
from portal.shop.route import PartStage
from tests.readers import english, refusing

SECRET = "seven brass hooks in a row"


@pytest.fixture
def wren(unit) -> int:
    return signing_in.add_person(unit, login="wren", name="Wren", role=Role.OFFICE, password=SECRET)


def body_of(unit, kind="prices") -> dict:
    return deepcopy(dict(documents.document(unit, kind).body))


def put(unit, body, who, kind="prices", **more):
    expected = more.pop("expected", None) or documents.newest(unit, kind)
    return documents.put_document(unit, kind, body, expected_edition_id=expected, who=who, **more)


def dearer(unit, price="50.00") -> dict:
    return body_of(unit) | {"minimum": price}


def minimum(unit, at=None) -> int:
    with unit.read() as session:
        return unit.shop(session, at).tariff.minimum


def test_a_new_price_counts_at_once_and_says_what_changed(unit, clock, wren) -> None:
    clock.advance(hours=1)
    before = minimum(unit)
    [change] = put(unit, dearer(unit), wren)
    assert (change.path, change.before, change.after) == ("minimum", "45.00", "50.00")
    assert minimum(unit) == 5000
    assert minimum(unit, clock.now() - timedelta(minutes=1)) == before
    told = documents.document(unit, "prices").history[0]
    assert (told.by, told.in_force) == ("Wren", True)


def test_a_price_from_a_later_day_counts_from_that_days_beginning(unit, clock, wren) -> None:
    put(unit, dearer(unit), wren, from_day=date(2026, 7, 1))
    assert minimum(unit) == 4500
    [later] = documents.document(unit, "prices").to_come
    # London is an hour ahead in summer: midnight there is 23:00 in UTC
    assert later.effective_from.isoformat() == "2026-06-30T23:00:00+00:00"
    clock.set(later.effective_from)
    assert minimum(unit) == 5000


def test_a_day_that_is_past_is_refused_beside_its_field(unit, wren) -> None:
    with pytest.raises(Refused) as told:
        put(unit, dearer(unit), wren, from_day=date(2026, 5, 1))
    assert told.value.key == "from_day"


def test_a_price_that_can_not_be_is_refused_with_its_key_and_nothing_is_saved(unit, wren) -> None:
    body = body_of(unit)
    body["wheels"]["bands"][1]["price"] = "cheap"
    before = documents.newest(unit, "prices")
    with pytest.raises(Refused) as told:
        put(unit, body, wren)
    assert told.value.key == "wheels.bands[1].price"
    assert documents.newest(unit, "prices") == before


def test_saving_without_a_change_is_told(unit, wren) -> None:
    with pytest.raises(Already):
        put(unit, body_of(unit), wren)


def test_two_who_edit_the_same_prices_are_told_of_each_other(unit, wren) -> None:
    page = documents.newest(unit, "prices")
    put(unit, dearer(unit), wren, expected=page)
    with refusing(Overtaken, r"Wren.*minimum: 45\.00 → 50\.00"):
        put(unit, dearer(unit, "60.00"), wren, expected=page)
    assert minimum(unit) == 5000


def test_what_the_office_changed_stands_in_the_audit(unit, wren) -> None:
    put(unit, dearer(unit), wren)
    deed = audit_view.audit_entries(unit)[0]
    assert (deed.by, deed.verb) == ("Wren", "put_prices")
    assert "minimum: 45.00 → 50.00" in english(deed.says)


def test_an_unknown_document_is_not_there(unit) -> None:
    with pytest.raises(Unknown):
        documents.document(unit, "secrets")


def test_a_closure_takes_the_days_windows_away(unit, clock, wren) -> None:
    body = body_of(unit, "week")
    day = (clock.now() + timedelta(days=1)).date()
    body["closures"] = [*body["closures"], {"from": str(day), "to": str(day), "why": "Stocktake"}]
    put(unit, body, wren, kind="week")
    with unit.read() as session:
        week = unit.shop(session).week
    assert week.windows(day, 1) == ()
    assert "Stocktake" in english(week.shut_because(day))


def test_a_station_that_breaks_down_is_out_of_order_until_it_works_again(unit, clock, wren) -> None:
    start = clock.now().astimezone(ZoneInfo("Europe/London"))
    end = clock.now() + timedelta(days=2)
    stations.stop_station(unit, PartStage.BLAST, start, end, who=wren)
    [span] = stations.out_of_order(unit)
    assert (span.station, span.start, span.end) == (PartStage.BLAST, start, end)
    clock.advance(minutes=5)
    stations.start_station(unit, PartStage.BLAST, start, who=wren)
    assert stations.out_of_order(unit) == ()


@pytest.mark.parametrize("hours", [-1, 0, 24 * 100])
def test_a_breakdown_that_can_not_be_is_refused(unit, clock, wren, hours) -> None:
    end = clock.now() + timedelta(hours=hours)
    with pytest.raises(Refused) as told:
        stations.stop_station(unit, PartStage.BLAST, clock.now(), end, who=wren)
    assert told.value.key == "until"


def test_a_station_gets_hours_of_its_own_and_loses_them(unit, wren) -> None:
    stations.set_hours(unit, PartStage.COAT, {"mon": ["8:00-12:30"], "tue": []}, who=wren)
    assert stations.own_hours(unit)[PartStage.COAT] == {"mon": ["08:00-12:30"]}
    assert stations.own_hours(unit)[PartStage.BLAST] == {}
    stations.set_hours(unit, PartStage.COAT, {}, who=wren)
    assert stations.own_hours(unit)[PartStage.COAT] == {}


@pytest.mark.parametrize("spans", [["8-12"], ["12:00-08:00"], ["08:00-12:00", "11:00-13:00"]])
def test_hours_that_can_not_be_name_their_day(unit, wren, spans) -> None:
    with pytest.raises(Refused) as told:
        stations.set_hours(unit, PartStage.COAT, {"mon": [], "fri": spans}, who=wren)
    assert told.value.key == "fri"
