"""The office's pages of trade customers: added, priced, billed at the month's end, paid."""

import pytest

from portal.craft.parts import Bringing
from portal.orders.counter import hand_back
from portal.orders.office import firms_view, month_view
from portal.shop.route import PartStage
from tests.factories import a_booked_job, a_job_at
from tests.firms import a_firm
from tests.orders.test_monthly import collected, month_of, owed
from tests.page import checked_client, page_of

SEND = 1  # the place of its form on the page, behind the head's


def test_a_garage_is_added_changed_and_priced(staff_client, unit) -> None:
    page = staff_client.get("/office/firms/new")
    told = {
        "known_as": "Halden Garage",
        "name": "Halden Garage Ltd",
        "street": "1 Mill Road",
        "city": "Fennholt",
        "country": "GB",
        "email": "garage@example.com",
        "bringing": "complete",
        "fetched": "y",
        "terms_days": "30",
        "limit": "2500.00",
    }
    wrong = page_of(staff_client.submit(page, **{**told, "email": "nowhere"}))
    assert wrong.one("input", id="known_as").get("value") == "Halden Garage"
    answer = staff_client.submit(page, **told)
    assert answer.status_code == 303
    (line,) = firms_view.firms(unit)
    view = firms_view.firm(unit, line.firm_id)
    assert (view.data.bringing, view.data.fetched) == (Bringing.COMPLETE, True)
    assert view.data.limit_minor == 250_000
    form = staff_client.get(f"{answer.location}/prices")
    bad = staff_client.submit(form, **{"b.percent_off": "lots"})
    assert page_of(bad).one("input", id="b.percent_off").get("value") == "lots"
    assert staff_client.submit(form, **{"b.percent_off": "12.5"}).status_code == 303
    (edition,) = firms_view.firm(unit, line.firm_id).prices
    assert edition.body == {"percent_off": "12.5"}
    change = staff_client.get(f"{answer.location}/data")
    assert staff_client.submit(change, contact="Alex Sample").status_code == 303
    # the page in the other tab is of before
    late = staff_client.submit(change, contact="Somebody")
    assert late.status_code == 422
    assert firms_view.firm(unit, line.firm_id).data.contact == "Alex Sample"
    sent = staff_client.submit(staff_client.get(answer.location), form=SEND)
    assert sent.status_code == 303
    assert firms_view.firm(unit, line.firm_id).link_sent_at is not None


def test_a_month_is_issued_paid_and_put_right_on_its_pages(staff_client, unit) -> None:
    firm_id = a_firm(unit)
    collected(unit, firm_id)
    total = owed(unit)
    assert "Halden Garage" in page_of(staff_client.get("/office/owed")).text
    month = month_of(unit).isoformat()[:7]
    draft = staff_client.get(f"/office/firms/{firm_id}/months/{month}")
    issued = staff_client.submit(draft)
    assert issued.status_code == 303
    number = issued.location.rpartition("/")[2]
    sheet = staff_client.get(issued.location)
    assert staff_client.submit(sheet, record=f"transfer:{total}").status_code == 303
    view = month_view.firm_invoice(unit, number)
    assert view.line.open.minor == 0
    (payment,) = view.payments
    back = staff_client.get(f"/office/months/{number}/payments/{payment.payment_id}")
    assert staff_client.submit(back, reason="typed for another").status_code == 303
    assert owed(unit) == total
    cancel = staff_client.get(f"/office/months/{number}/cancel")
    assert staff_client.submit(cancel).status_code == 422
    assert staff_client.submit(cancel, reason="wrong address").status_code == 303
    assert month_view.firm_invoice(unit, number).line.cancelled
    for way in ("paper", "paper.pdf"):
        assert staff_client.get(f"/office/months/{number}/{way}").status_code == 200
    assert staff_client.get(f"/office/firms/{firm_id}").status_code == 200
    for nothing in (f"firms/{firm_id}/months/2026-13", "months/R1-1", "firms/99"):
        assert staff_client.get(f"/office/{nothing}").status_code == 404


@pytest.mark.parametrize("over", [False, True])
def test_a_firms_job_says_where_it_stands_from_the_door_to_the_hand_back(
    app, staff_client, unit, over
) -> None:
    firm_id = a_firm(unit, limit_minor=100 if over else None)
    booked = a_booked_job(unit, firm_id=firm_id)
    door = page_of(staff_client.get(f"/counter/job/{booked.code}/check-in"))
    assert "Halden Garage" in door.text
    assert ("Ask the office before you receive it." in door.text) is over
    assert "Deposit due now" not in door.text
    job = a_job_at(unit, PartStage.DONE, firm_id=firm_id)
    hand_back.make_ready(unit, job.job_id, who=None)
    page = page_of(staff_client.get(f"/counter/job/{job.code}/hand-back"))
    assert "Hand back: on the monthly invoice" in page.text
    assert bool(page.all("input", id="over_limit_because")) is over
    assert "monthly invoice" in page_of(staff_client.get(f"/counter/job/{job.code}")).text
    customer = checked_client(app)
    for path, words in (("", "It goes on your monthly invoice."), ("/slip", "on your monthly")):
        assert words in page_of(customer.get(f"/J/{job.token}{path}")).text
