"""The shortest way through the intake, and what may go wrong between its pages."""

import re

import pytest
import sqlalchemy as sa

from portal.store.tables import Booking, Draft, Job, Move, Part, Photo
from tests.web.walk import CONTACT, WHEELS, Customer


def rows(app, table):
    unit = app.extensions["unit"]
    with unit.read() as session:
        return list(session.scalars(sa.select(table)))


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def test_four_wheels_are_booked_on_the_shortest_way(customer, app) -> None:
    customer.walk_to("read-back")
    booked = customer.book()
    assert booked.status_code == 303
    (job,) = rows(app, Job)
    assert booked.headers["Location"] == f"/J/{job.token}"
    assert job.state == "booked"
    assert len(rows(app, Part)) == 4
    assert [m.verb for m in rows(app, Move)] == ["book"]
    assert len(rows(app, Booking)) == 1


def test_the_shortest_way_asks_for_at_most_eight_things(customer) -> None:
    """Fields that a customer must fill or choose because nothing sensible is chosen yet."""
    asked = len(WHEELS) + 1 + len(CONTACT)  # size, build; colour; name, e-mail, telephone
    confirmations = len(customer.walk_to("read-back").page.all("input", type_="checkbox"))
    assert asked + confirmations <= 8


def test_the_number_of_steps_never_changes(customer) -> None:
    found = set()
    for step in ("parts", "on-them", "comes-off", "finish", "day", "you", "read-back"):
        customer.walk_to(step)
        found.add(re.search(r"Step (\d) of (\d)", customer.page.text).groups())
    assert found == {(str(n), "7") for n in range(1, 8)}


@pytest.mark.parametrize("step", ["on-them", "comes-off", "finish", "day", "you", "read-back"])
def test_a_page_cannot_be_entered_before_its_forerunners(customer, step: str) -> None:
    customer.go_to(step)
    assert customer.step == "parts"


def test_price_and_date_stand_on_every_page_once_the_parts_are_told(customer) -> None:
    for step in ("on-them", "comes-off", "finish", "day", "you", "read-back"):
        customer.walk_to(step)
        bar = customer.page.one(class_="bar-now")
        told = "".join(bar.itertext())
        assert re.search(r"£\d+", told), step
        assert re.search(r"day \d+ \w+", told), step


def test_back_and_reload_show_what_was_told(customer) -> None:
    customer.walk_to("day")
    customer.go_to("parts/A")
    assert customer.page.one("input", id="size").get("value") == "8Jx18 ET35"
    customer.go_to("finish")
    assert customer.page.one("input", name="A-colour", value="R9005-S").get("checked") is not None


def test_an_order_can_hold_several_sets_each_with_its_own_finish(customer, app) -> None:
    customer.send(**WHEELS, then="another")
    assert "What else" in customer.page.text
    customer.send(kind="caliper", count="2", metal="cast_iron", length="250", width="15 cm",
                  height="4 in")  # fmt: skip
    customer.send(**{"A-layers": "factory_paint", "B-layers": "liquid_paint"})
    customer.send()
    customer.send(
        **{"A-colour": "R9005-S", "A-gloss": "satin", "B-colour": "R3020-G", "B-gloss": "gloss"}
    )
    customer.send()
    customer.send(**CONTACT)
    assert customer.step == "read-back"
    customer.book()
    assert [p.set_key for p in rows(app, Part)] == ["A"] * 4 + ["B"] * 2


def test_a_set_can_be_removed_without_losing_the_others(customer, app) -> None:
    customer.send(**WHEELS, then="another")
    customer.send(kind="plate", count="1", metal="steel", length="500", width="300", height="3")
    customer.go_to("parts")
    assert len(customer.page.all(class_="set")) == 2
    customer.send(form=0)
    assert len(customer.page.all(class_="set")) == 1
    (draft,) = rows(app, Draft)
    assert [s["kind"] for s in draft.answers["declared"]["sets"]] == ["plate"]


def test_two_tabs_do_not_undo_each_other_unseen(customer) -> None:
    customer.walk_to("finish")
    left_open = customer.go_to("on-them")
    customer.send(**{"A-layers": ["powder"]})
    second = customer.client.submit(left_open, **{"A-layers": ["chrome"]})
    assert second.status_code == 200
    assert "another window" in second.get_data(as_text=True)
    customer.at = second
    chosen = customer.page.all("input", name="A-layers", checked="")
    assert [e.get("value") for e in chosen] == ["chrome"]
    customer.send()
    customer.go_to("on-them")
    kept = customer.page.all("input", name="A-layers", checked="")
    assert [e.get("value") for e in kept] == ["chrome"]


def test_tabs_on_different_pages_both_keep_their_answers(customer) -> None:
    customer.walk_to("you")
    left_open = customer.go_to("on-them")
    customer.go_to("finish")
    customer.send(**{"A-colour": "R9010-G", "A-gloss": "gloss"})
    customer.follow(
        customer.client.submit(left_open, **{"A-damage": "kerb_rash", "A-many_kerb_rash": "4"})
    )
    customer.go_to("finish")
    assert customer.page.one("input", name="A-colour", value="R9010-G").get("checked") is not None


def test_a_double_click_on_the_last_button_is_one_booking(customer, app) -> None:
    customer.walk_to("read-back")
    page = customer.at
    first, second = customer.book(), (setattr(customer, "at", page), customer.book())[1]
    assert first.headers["Location"] == second.headers["Location"]
    assert len(rows(app, Job)) == 1


def test_a_time_that_was_taken_meanwhile_leads_back_to_the_day(customer, app) -> None:
    customer.walk_to("read-back")
    fill_window(app, rows(app, Draft)[0].answers["slot"])
    customer.follow(customer.book())
    assert customer.step == "day"
    assert "full" in customer.page.text or "last place" in customer.page.text
    assert CONTACT["email"] not in [j.customer.email for j in rows(app, Job)]
    customer.send()
    customer.walk_to("read-back")
    assert customer.book().status_code == 303


def fill_window(app, slot: str) -> None:
    """Let other customers take every place of a window."""
    from datetime import datetime

    from tests.rows import a_job_row

    start = datetime.fromisoformat(slot)
    unit = app.extensions["unit"]
    with unit.read() as session:
        week = unit.shop(session).week
        windows = week.windows(week.local(start).date(), 1)
        places = next(w.places for w in windows if w.start == start)

    def work(session):
        for place in range(1, places + 1):
            job = a_job_row(session, unit.now(), dropoff_at=start)
            session.add(Booking(window_start=start, place=place, job_id=job.id))

    unit.write(work)


def test_a_price_that_changed_since_it_was_read_is_read_again_first(customer, app) -> None:
    customer.walk_to("read-back")
    page = customer.at
    customer.go_to("on-them")
    customer.send(**{"A-damage": "kerb_rash", "A-many_kerb_rash": "4"})
    customer.at = page
    answer = customer.book()
    assert answer.status_code == 200
    assert "Check it, then book again." in answer.get_data(as_text=True)
    assert not rows(app, Job)


def test_a_cracked_wheel_is_refused_with_a_reason_and_can_be_left_out(customer) -> None:
    customer.send(**WHEELS, then="another")
    customer.send(**WHEELS, count="2")
    customer.send(**{"A-damage": "crack", "A-many_crack": "4"})
    assert customer.step == "on-them"
    assert "We can't take everything" in customer.page.text
    assert "crack" in customer.page.text
    customer.send(form=0)
    customer.go_to("parts")
    assert len(customer.page.all(class_="set")) == 1


def test_a_page_that_lost_its_session_keeps_what_was_typed(customer, app) -> None:
    page = customer.at
    customer.client.delete_cookie("form")
    answer = customer.client.submit(page, size="8Jx18 ET35", build="cast", count="5")
    assert answer.status_code == 422
    customer.at = answer
    assert "open for too long" in customer.page.text
    assert customer.page.one("input", id="count").get("value") == "5"
    customer.send()
    assert customer.step == "on-them"


def test_a_link_resumes_the_order_on_another_device(customer, app) -> None:
    customer.walk_to("finish")
    other = app.test_client()
    answer = other.get(f"/r/{customer.token}")
    assert answer.headers["Location"].endswith("/finish")


def test_the_resume_link_is_mailed_on_request(customer, app) -> None:
    from portal.store.tables import Letter

    customer.walk_to("on-them")
    customer.go_to("later")
    customer.send(email="robin@example.com")
    (letter,) = rows(app, Letter)
    assert letter.to == "robin@example.com"
    assert f"/r/{customer.token if customer.step else ''}" in letter.text


def test_a_draft_is_over_after_seven_days(customer, clock) -> None:
    customer.walk_to("on-them")
    url = customer.url("on-them")
    clock.advance(days=7, seconds=1)
    answer = customer.client.get(url)
    assert answer.status_code == 410


def test_after_the_booking_every_page_of_the_draft_leads_to_the_job(customer, app) -> None:
    customer.walk_to("read-back")
    token = customer.token
    booked = customer.book().headers["Location"]
    answer = customer.client.get(f"/o/{token}/parts")
    assert answer.headers["Location"] == booked


def test_photos_of_the_draft_go_with_the_job(customer, app) -> None:
    from tests.web.test_intake_photos import a_jpeg

    customer.send(**WHEELS, photos=(a_jpeg(), "wheel.jpg"))
    customer.walk_to("read-back")
    customer.book()
    (photo,) = rows(app, Photo)
    assert photo.draft_id is None
    assert photo.job_id == rows(app, Job)[0].id


@pytest.mark.parametrize("step", ["parts", "comes-off", "finish"])
def test_the_enter_key_goes_on_and_presses_no_other_button(customer, step: str) -> None:
    customer.walk_to(step)
    form = customer.page.all("form")[customer.forms - 1]
    first = next(form.iter("button"))
    # the Finish page asks whether there is a search to be done first
    assert first.get("name") is None or first.get("value") == "enter"
