"""One date, one meaning: customer and staff read the same of a job's dates at the same moment."""

from datetime import date, timedelta

import pytest

from portal.orders.customer.status_view import status
from portal.store.tables import Job
from tests.cast import OFFICE, sign_in
from tests.factories import a_booked_job, a_job_in_work
from tests.page import page_of, words
from tests.rows import forecast_of

NAMES = ("Promised", "Now ready by", "Probably earlier")


def pairs(page) -> dict[str, str]:
    """Return what a page says of a job's dates: each name with its date."""
    found = {
        words(one.find("dt")): words(one.find("dd"))
        for one in page.all("div")
        if one.find("dt") is not None
    }
    return {name: text for name, text in found.items() if name in NAMES}


def scene(unit, which: str) -> tuple[str, str]:
    """Set a job up and return its link and its code."""
    job = a_booked_job(unit) if which.startswith("booked") else a_job_in_work(unit)
    promise = status(unit, job.token).promise_at
    later = promise + timedelta(days=2)
    told = {
        "told": {"told_at": later},
        "told and early": {"told_at": later, "early_from": promise.date()},
        "early": {"early_from": date(2026, 6, 3)},
        "late, not told": {},
        "booked and late": {},
        "booked": {"early_from": date(2026, 6, 3)},
    }[which]
    safe = later if "late" in which or "told" in which else promise
    unit.write(lambda s: forecast_of(s, job.job_id, safe, **told))
    return job.token, job.code


@pytest.mark.parametrize(
    ("which", "names"),
    [
        ("told", {"Promised", "Now ready by"}),
        ("told and early", {"Promised", "Now ready by"}),
        ("early", {"Promised", "Probably earlier"}),
        ("late, not told", {"Promised"}),
        ("booked and late", {"Promised"}),
        ("booked", {"Promised"}),
    ],
)
def test_customer_and_staff_read_the_same_dates_in_the_same_words(
    app, client, unit, which, names
) -> None:
    token, code = scene(unit, which)
    customer = page_of(client.get(f"/J/{token}"))
    desk = sign_in(app, client, OFFICE)
    staff = page_of(desk.get(f"/counter/job/{code}"))
    assert pairs(customer) == pairs(staff)
    assert set(pairs(customer)) == names
    assert "We expect" not in customer.text + staff.text
    assert ("Later than promised" in customer.text) == which.startswith("told")
    not_told = "The customer has not been told." in staff.text
    assert not_told == ("late" in which)
    assert "The customer has not been told." not in customer.text


def test_an_early_day_has_no_hour(client, unit) -> None:
    token, _ = scene(unit, "early")
    assert pairs(page_of(client.get(f"/J/{token}")))["Probably earlier"] == "from Wed 3 Jun"


@pytest.mark.parametrize("waits", [True, False])
def test_what_is_overdue_says_why_and_names_no_old_date(client, unit, clock, waits) -> None:
    token, _ = scene(unit, "late, not told")

    def pass_the_promise(session) -> None:
        job = session.query(Job).one()
        job.promise_at = clock.now() - timedelta(hours=1)
        if waits:
            job.state = "waiting"

    unit.write(pass_the_promise)
    text = page_of(client.get(f"/J/{token}")).text
    assert ("Work waits for your answer" in text) == waits
    assert ("We write as soon as your parts are ready" in text) == (not waits)
