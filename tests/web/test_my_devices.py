"""Where a person is signed in: the list, signing out there, and what the log says of refusals."""

import pytest

from portal.orders.access import my_devices
from portal.orders.office.audit_view import audit_entries
from portal.web.kit.http.browsers import browser_words
from tests.cast import COUNTER, FLOOR, OFFICE, add_staff, sign_in
from tests.page import checked_client, page_of, words
from tests.readers import english

PHONE = "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0"
DESK = (
    "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) "
    "Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0"
)
TABLET = (
    "Mozilla/5.0 (iPad; CPU OS 18_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
    "Version/18.0 Mobile/15E148 Safari/604.1"
)
WAY = "/counter/me/devices"


@pytest.fixture
def entered(app):
    """Three browsers of one person, and one of another."""
    add_staff(app.extensions["unit"])

    def enter(who, agent: str, **more):
        client = checked_client(app)
        client.environ_base["HTTP_USER_AGENT"] = agent
        page = client.get("/counter/sign-in")
        client.submit(page, login=who.login, password=who.password, **more)
        return client

    return [
        enter(COUNTER, DESK),
        enter(COUNTER, PHONE),
        enter(COUNTER, "", shared="y"),
        enter(OFFICE, DESK),
    ]


def offered(client) -> dict[str, str]:
    """The devices that can be ended: their name, and the mark that stands for them."""
    labels = page_of(client.get(WAY)).all("label")
    boxes = [(words(one), box) for one in labels for box in one.iter("input")]
    return {name: box.get("value") for name, box in boxes}


def send(client, password: str, *marks: str):
    token = page_of(client.get(WAY)).fields(0)["csrf_token"]
    data = {"csrf_token": token, "password": password, "devices": list(marks)}
    return client.post(WAY, data=data)


def is_in(client) -> bool:
    return client.get("/counter/me").status_code == 200


def test_the_page_lists_this_device_and_the_others_of_this_person(entered) -> None:
    desk = entered[0]
    page = page_of(desk.get(WAY))
    assert page.one("dd").text.startswith("Edge, Windows. Signed in ")
    names = sorted(offered(desk))
    assert len(names) == 2
    assert names[0].startswith("Firefox, AndroidSigned in ")
    assert names[1].startswith("Unknown browserShared device. Signed in ")


def test_one_device_is_signed_out_and_the_others_stay(entered, unit) -> None:
    desk, phone, shared, office = entered
    (mark,) = [mark for name, mark in offered(desk).items() if "Firefox" in name]
    assert send(desk, COUNTER.password, mark).status_code == 303
    assert [is_in(one) for one in (desk, phone, shared, office)] == [True, False, True, True]
    said = english(audit_entries(unit)[0].says)
    assert said == f"{COUNTER.name} signed out on another device. Firefox, Android"
    assert send(desk, COUNTER.password, *offered(desk).values()).status_code == 303
    assert "You are signed in on no other device." in page_of(desk.get(WAY)).text


def test_without_the_password_or_a_choice_nobody_is_signed_out(entered) -> None:
    desk, phone, shared, _office = entered
    for password, marks, field in (
        ("wrong wrong wrong", offered(desk).values(), "password"),
        ("", offered(desk).values(), "password"),
        (COUNTER.password, (), "devices"),
        (COUNTER.password, ("planted",), "devices"),
    ):
        answer = send(desk, password, *marks)
        assert answer.status_code == 422
        assert page_of(answer).one("p", id=f"{field}-wrong") is not None
    assert is_in(phone)
    assert is_in(shared)


def test_the_marks_of_others_end_nothing(entered, unit) -> None:
    desk, *_rest, office = entered
    (own,) = my_devices.my_devices(unit, _id_of(unit, OFFICE.login), here="")
    assert send(desk, COUNTER.password, own.mark).status_code == 422
    assert is_in(office)


def _id_of(unit, login: str) -> int:
    from portal.orders.office.people import people

    return next(one.person_id for one in people(unit) if one.login == login)


def test_what_has_ended_by_itself_is_not_listed(entered, unit, clock) -> None:
    clock.advance(minutes=50)
    is_in(entered[0])
    clock.advance(minutes=20)
    assert offered(entered[0]) == {}


@pytest.mark.parametrize(
    ("agent", "told"),
    [
        (PHONE, "Firefox, Android"),
        (DESK, "Edge, Windows"),
        ("curl/8.0", ""),
        ("<script>" * 1000, ""),
        (TABLET, "Safari, iPad"),
    ],
)
def test_a_browser_is_told_in_two_words(agent: str, told: str) -> None:
    assert browser_words(agent) == told


def refusals(unit) -> list[str]:
    return [english(one.says) for one in audit_entries(unit) if one.verb == "not_allowed"]


def test_a_page_that_a_role_does_not_open_is_recorded_once_in_ten_minutes(
    app, client, unit, clock
) -> None:
    sign_in(app, client, FLOOR)
    for _ in range(3):
        assert client.get("/office/prices").status_code == 403
    said = f"{FLOOR.name} was refused a page that their role does not open: GET "
    assert len(refusals(unit)) == 1
    assert refusals(unit)[0].startswith(said)
    client.get("/office/people")
    assert len(refusals(unit)) == 2
    clock.advance(minutes=11)
    client.get("/office/people")
    assert len(refusals(unit)) == 3


def test_who_may_not_is_refused_although_nothing_can_be_recorded(app, client, monkeypatch) -> None:
    from portal.craft.messages import Message
    from portal.orders.kernel.errors import Busy

    def busy(*_any: object) -> None:
        raise Busy(Message("No."))

    sign_in(app, client, FLOOR)
    monkeypatch.setattr("portal.web.kit.http.guards.record_not_allowed", busy)
    assert client.get("/office/prices").status_code == 403
