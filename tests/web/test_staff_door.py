"""The staff door: signing in and out, the second factor, the shared device, forms that survive."""

import pyotp
import pytest

from portal.orders.access import my_account, second_factor, staff_sessions
from portal.shop.roles import Role
from tests.cast import COUNTER, FLOOR, OFFICE, add_staff, sign_in
from tests.page import checked_client, page_of


@pytest.fixture
def door(app, client):
    add_staff(app.extensions["unit"])
    return client


def enter(client, who=COUNTER, *, way="", **more):
    page = client.get("/counter/sign-in" + (f"?next={way}" if way else ""))
    return client.submit(page, **({"login": who.login, "password": who.password} | more))


def person_id(unit, login):
    from portal.orders.office.people import people

    return next(one.person_id for one in people(unit) if one.login == login)


def test_the_sign_in_page_tells_of_the_terminal_while_nobody_works_here(client) -> None:
    page = page_of(client.get("/counter/sign-in"))
    assert "python -m portal person" in page.text


def test_whoever_signs_in_comes_to_the_counter(door) -> None:
    answer = enter(door)
    assert answer.status_code == 303
    assert answer.location == "/counter/"


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(door) -> None:
    cookies = enter(door).headers.getlist("Set-Cookie")
    staff = next(one for one in cookies if one.startswith("staff="))
    assert "HttpOnly" in staff
    assert "SameSite=Lax" in staff
    assert "Path=/" in staff


def test_behind_tls_the_cookie_is_bound_to_the_host(app, door) -> None:
    from dataclasses import replace

    app.extensions["settings"] = replace(
        app.extensions["settings"], base_url="https://works.example.com"
    )
    cookies = enter(door).headers.getlist("Set-Cookie")
    staff = next(one for one in cookies if "staff=" in one)
    assert staff.startswith("__Host-staff=")
    assert "Secure" in staff
    assert "Domain" not in staff


def test_a_wrong_password_is_told_beside_its_field_and_the_name_is_kept(door) -> None:
    answer = enter(door, password="not the password at all")
    page = page_of(answer)
    assert answer.status_code == 422
    assert "The name or the password is wrong." in page.text
    assert page.one("input", id="login").get("value") == COUNTER.login
    assert page.one("input", id="password").get("value") in (None, "")


def test_many_wrong_tries_are_told_to_wait(door) -> None:
    for _ in range(5):
        enter(door, password="not the password at all")
    answer = enter(door)
    assert answer.status_code == 429
    assert "Wait" in page_of(answer).text


@pytest.mark.parametrize(
    "way",
    ["https://example.com/", "//example.com", "/\\example.com", "javascript:alert(1)", "/%0aevil"],
)
def test_the_way_back_never_leaves_the_house(door, way) -> None:
    assert enter(door, way=way).location == "/counter/"


def test_the_way_back_is_kept(door) -> None:
    assert door.get("/office/prices").location == "/counter/sign-in?next=/office/prices"
    assert enter(door, OFFICE, way="/office/prices").location == "/office/prices"


def test_signing_out_closes_the_door(app, client) -> None:
    sign_in(app, client, OFFICE)
    me = client.get("/counter/me")
    assert client.submit(me).status_code == 303
    assert client.get("/office/prices").status_code == 303


@pytest.mark.parametrize("who", [FLOOR, COUNTER])
def test_the_office_is_not_for_everybody(app, client, who) -> None:
    sign_in(app, client, who)
    refused = client.get("/office/prices")
    assert refused.status_code == 403
    # and leads to the first page of this role, not to a page that is refused again
    (way,) = [a.get("href") for a in page_of(refused).all("a") if a.get("class") == "alone"]
    first = client.get(client.get(way).location)
    assert (first.status_code, first.request.path) == (
        200,
        "/counter/floor" if who is FLOOR else "/counter/today",
    )


def test_every_page_of_the_staff_is_guarded(app) -> None:
    """A staff address without a guard would be a hole; only the door itself stands open."""
    open_ones = {"door.sign_in", "door.code", "door.locked", "door.lock", "door.sign_out"}
    # what a device keeps for the time without a network names nobody
    open_ones |= {"counter.offline", "counter.offline_worker"}
    for rule in app.url_map.iter_rules():
        if not rule.rule.startswith(("/office", "/counter")):
            continue
        view = app.view_functions[rule.endpoint]
        assert hasattr(view, "needs") or rule.endpoint in open_ones, rule.endpoint
        if rule.rule.startswith("/office"):
            assert view.needs is Role.OFFICE, rule.endpoint


def test_a_script_that_is_signed_out_is_told_where_the_door_is(client) -> None:
    answer = client.get("/office/prices", headers={"Accept": "application/json"})
    assert answer.status_code == 401
    assert answer.json["sign_in"].startswith("/counter/sign-in")


def test_a_form_sent_after_the_session_ended_is_kept_and_sent_again(app, client, unit, clock):
    sign_in(app, client, OFFICE)
    page = client.get("/office/people")
    clock.advance(hours=2)
    filled = {
        "name": "Ash",
        "login": "ash",
        "role": "floor",
        "password": "a lamp in the far corner",
    }
    away = client.submit(page, **filled)
    assert away.status_code == 303
    assert "/counter/held/" in away.location
    door = client.get(away.location)
    assert "Your entries are" in page_of(door).text
    back = client.submit(door, login=OFFICE.login, password=OFFICE.password)
    held = client.get(back.location)
    assert "Ash" in page_of(held).text
    assert filled["password"] not in held.get_data(as_text=True)
    sent = client.submit(held)
    # the password was not kept, everything else was
    assert sent.status_code == 422
    assert page_of(sent).one("input", id="name").get("value") == "Ash"


def test_a_strangers_form_is_never_kept(app, client) -> None:
    sign_in(app, client, OFFICE)
    fresh = checked_client(app)
    answer = fresh.post("/office/people", data={"name": "Ash"})
    assert "/counter/held/" not in (answer.location or "")


def test_the_second_factor_is_set_up_and_asked_for(app, client, unit, clock) -> None:
    sign_in(app, client, COUNTER)
    page = client.get("/counter/me/second-factor")
    link = next(
        a.get("href") for a in page_of(page).all("a") if a.get("href", "").startswith("otp")
    )
    secret = pyotp.parse_uri(link).secret
    code = pyotp.TOTP(secret).at(clock.now())
    # the codes for a lost telephone are shown once, on the page that the press leads to
    done = client.submit(page, code=code, password=COUNTER.password)
    assert done.status_code == 200
    (codes,) = page_of(done).all("ul", class_="mono")
    assert len(codes) == 10
    clock.advance(minutes=2)
    fresh = checked_client(app)
    first = enter(fresh)
    assert first.location.startswith("/counter/sign-in/code")
    assert fresh.get("/counter/me").status_code == 303
    step = fresh.get(first.location)
    wrong = fresh.submit(step, code="000000")
    assert wrong.status_code == 422
    good = fresh.submit(step, code=pyotp.TOTP(secret).at(clock.now()))
    assert good.location == "/counter/"
    assert fresh.get("/counter/me").status_code == 200


def test_a_shared_device_locks_and_the_next_person_opens_it(app, door, unit, clock) -> None:
    tamsin = person_id(unit, FLOOR.login)
    my_account.set_pin(unit, tamsin, password=FLOOR.password, pin="2580")
    enter(door, COUNTER, shared="y")
    clock.advance(minutes=6)
    away = door.get("/counter/me")
    assert away.location.startswith("/counter/locked")
    page = door.get(away.location)
    wrong = door.submit(page, person=str(tamsin), pin="1111")
    assert wrong.status_code == 422
    good = door.submit(page, person=str(tamsin), pin="2580")
    assert good.location == "/counter/me"
    assert "Tamsin" in page_of(door.get("/counter/me")).text


def test_the_office_opened_by_pin_is_asked_for_its_password(app, door, unit) -> None:
    wren = person_id(unit, OFFICE.login)
    my_account.set_pin(unit, wren, password=OFFICE.password, pin="2580")
    enter(door, COUNTER, shared="y")
    door.submit(door.get("/counter/me"), form=0)  # signs out
    enter(door, OFFICE, shared="y")
    door.post("/counter/lock", data=page_of(door.get("/counter/me")).fields(0))
    door.submit(door.get("/counter/locked"), person=str(wren), pin="2580")
    assert door.get("/counter/me").status_code == 200
    away = door.get("/office/prices")
    assert away.location.startswith("/counter/sign-in")
    assert "password" in page_of(door.get(away.location)).text


def test_a_new_password_signs_the_other_devices_out(app, door, unit) -> None:
    enter(door)
    other = checked_client(app)
    enter(other)
    page = door.get("/counter/me")
    data = page_of(page).fields(1) | {
        "password": COUNTER.password,
        "new_password": "nine copper kettles",
    }
    assert door.post("/counter/me", data=data).status_code == 303
    assert door.get("/counter/me").status_code == 200
    assert other.get("/counter/me").status_code == 303


def test_the_old_password_is_asked_for_and_a_poor_new_one_refused(app, door) -> None:
    enter(door)
    page = door.get("/counter/me")
    for old, new, field in (
        ("wrong wrong wrong", "nine copper kettles", "password"),
        (COUNTER.password, "short", "new_password"),
    ):
        data = page_of(page).fields(1) | {"password": old, "new_password": new}
        answer = door.post("/counter/me", data=data)
        assert answer.status_code == 422
        assert page_of(answer).one("input", id=field).get("aria-invalid") == "true"


def test_a_wrong_password_leaves_the_second_factor_on_and_says_so(door, unit, clock) -> None:
    secret = second_factor.new_secret(unit)
    enter(door)
    second_factor.switch_on(
        unit, person_id(unit, COUNTER.login), secret, pyotp.TOTP(secret).at(clock.now())
    )
    data = page_of(door.get("/counter/me")).fields(3) | {"off_password": "wrong wrong wrong"}
    assert door.post("/counter/me/second-factor/off", data=data).status_code == 303
    page = page_of(door.get("/counter/me"))
    assert "This is not your password. Try again." in page.text
    assert "Two-step sign-in" in page.text


def test_the_second_factor_can_be_switched_off_with_the_password(app, door, unit, clock) -> None:
    odd = person_id(unit, COUNTER.login)
    secret = second_factor.new_secret(unit)
    enter(door)
    second_factor.switch_on(unit, odd, secret, pyotp.TOTP(secret).at(clock.now()))
    page = door.get("/counter/me")
    data = page_of(page).fields(3) | {"off_password": COUNTER.password}
    assert door.post("/counter/me/second-factor/off", data=data).status_code == 303
    assert staff_sessions.colleagues(unit) == ()
    assert "off" in page_of(door.get("/counter/me")).text
