"""Today's page: every list in words, the line of hours, and where each row leads."""

import re
from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.counter import hand_back
from portal.orders.production.shelving import put_on_shelf
from portal.shop.route import PartStage
from portal.store.tables import Job
from portal.web.pictures.day_line import DayMark, Lane, day_line
from tests.busy_day import FRAME, a_full_day, promise
from tests.cast import COUNTER, FLOOR, OFFICE, sign_in
from tests.factories import a_booked_job, a_job_at
from tests.page import checked_client, words
from tests.web.hand import Hand


@pytest.mark.parametrize("who", [COUNTER, OFFICE])
def test_counter_and_office_begin_their_day_with_it(app, who) -> None:
    assert Hand(sign_in(app, checked_client(app), who), "/counter/").path == "/counter/today"


def test_the_floor_has_no_counter(app) -> None:
    client = sign_in(app, checked_client(app), FLOOR)
    assert client.get("/counter/today").status_code == 403


def test_an_old_bookmark_of_the_arrivals_leads_to_it(hand) -> None:
    hand.go("/counter/arriving")
    assert hand.path == "/counter/today"


def test_a_full_day_shows_every_list(hand, unit, clock) -> None:
    a_full_day(unit, clock)
    hand.go("/counter/today")
    text = hand.page.text
    for head in ("Comes 12", "Goes out", "Waits for the customer 1", "Oven and strip runs"):
        assert head in text, head
    for told in ("2 days over", "oven load 13", "ready", "no answer yet", "1 sent back"):
        assert told in text, told
    assert "comes out at" in text
    late = [one for one in hand.page.all("a") if one.get("href", "").endswith("/appointment")]
    assert [words(one) for one in late] == ["Move or cancel the drop-off: Isolde Marsh"]
    assert 'class="day-line"' in hand.at.get_data(as_text=True)


def test_a_drop_off_leads_to_its_check_in_and_what_is_ready_to_its_hand_back(hand, unit) -> None:
    coming = a_booked_job(unit)
    ready = a_job_at(unit, PartStage.DONE, FRAME)
    promise(unit, ready, unit.now() + timedelta(hours=1))
    hand_back.make_ready(unit, ready.job_id, who=None)
    hand.go("/counter/today")
    ways = [one.get("href") for one in hand.page.all("a", class_="day-row")]
    assert "on the shelf" in hand.page.text
    put_on_shelf(unit, ready.code, "B3", who=None)
    hand.go("/counter/today")
    assert "shelf B3" in hand.page.text
    assert list(dict.fromkeys(ways)) == [
        f"/counter/job/{coming.code}/check-in",
        f"/counter/job/{ready.code}/hand-back",
    ]


def test_the_deposit_stands_beside_who_comes(hand, unit) -> None:
    job = a_booked_job(unit)
    values = sa.update(Job).where(Job.id == job.job_id).values(deposit_minor=10_650)
    unit.write(lambda session: session.execute(values))
    hand.go("/counter/today")
    (row,) = hand.page.all("a", class_="day-row")
    assert "Deposit £106.50" in words(row)


def test_a_closed_day_says_so(app, clock) -> None:
    clock.advance(days=6)
    hand = Hand(sign_in(app, checked_client(app), COUNTER))
    assert "The works is closed today." in hand.page.text


def test_a_name_on_the_line_is_cut_where_the_next_begins_and_never_lost(app, clock) -> None:
    nine = clock.now().replace(hour=9)
    marks = tuple(DayMark(nine, f"Name{n}") for n in range(4))
    with app.test_request_context():
        drawn = day_line(nine, nine + timedelta(hours=8), nine, (Lane("Door", marks),))
    assert all(f"Name{n}" in drawn for n in range(4))


def test_a_mark_far_outside_the_hours_stands_at_the_edge(app, clock) -> None:
    nine = clock.now().replace(hour=9)
    marks = (DayMark(nine - timedelta(days=2), "Run 1 back"),)
    with app.test_request_context():
        drawn = day_line(nine, nine + timedelta(hours=8), nine, (Lane("Van", marks),))
    assert 'x="6.5%"' in drawn
    assert "Run 1 back" in drawn


def test_the_words_of_a_moment_near_the_end_stand_before_it(app, clock) -> None:
    nine = clock.now().replace(hour=9)
    marks = (DayMark(nine + timedelta(hours=8), "Run 1 back"),)
    with app.test_request_context():
        drawn = day_line(nine, nine + timedelta(hours=8), nine, (Lane("Van", marks),))
    left, wide = re.search(r'<svg x="([\d.]+)%" y="\d+" width="([\d.]+)%"', drawn).groups()
    assert float(left) + float(wide) == pytest.approx(100, abs=0.1)
    assert 'text-anchor="end" y="16">Run 1 back<' in drawn


def test_what_somebody_typed_is_escaped_on_the_line(hand, unit) -> None:
    a_booked_job(unit, name="Bo <script>")
    hand.go("/counter/today")
    assert "<script></text>" not in hand.at.get_data(as_text=True)
    assert "&lt;script&gt;</text>" in hand.at.get_data(as_text=True)
