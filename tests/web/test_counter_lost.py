"""A part that does not come back from a strip run, on the pages of the counter."""

from datetime import date

from portal.orders.production import strip_runs
from portal.shop.codes import shown
from portal.shop.moves import JobState
from tests.cast import COUNTER, OFFICE, sign_in
from tests.factories import PAINTED, a_job_in_work, state
from tests.page import checked_client
from tests.web.hand import Hand


def test_a_part_that_does_not_come_back_is_written_off_by_the_office(app) -> None:
    unit = app.extensions["unit"]
    hand = Hand(sign_in(app, checked_client(app), COUNTER))
    job = a_job_in_work(unit, PAINTED)
    run = strip_runs.open_run(unit, date(2026, 6, 3), date(2026, 6, 8), who=None)
    for tag in ("101", "102"):
        strip_runs.gather(unit, run, tag, who=None)
    strip_runs.send(unit, run, who=None)
    hand.go(f"/counter/strip-runs/{run}")
    hand.scan("101")
    hand.send("/close")
    assert hand.told == [f"Missing: tag 102, part 2 of {shown(job.code)}. The job is marked."]
    # the counter sees it missing; only the office may write it off
    address = f"/counter/part/{job.part_ids[1]}/lost"
    assert address not in hand.at.get_data(as_text=True)
    assert hand.client.get(address).status_code == 403
    office = Hand(sign_in(app, checked_client(app), OFFICE))
    office.go(f"/counter/strip-runs/{run}")
    assert address in office.at.get_data(as_text=True)
    office.go(address)
    office.send("/lost", reason="")
    assert office.wrong("reason").endswith("Enter how it was lost. The customer will read this.")
    office.send("/lost", reason="not in the crate")
    assert office.told == ["Written off. We have asked the customer how to go on."]
    assert state(unit, job) is JobState.WAITING
    hand.go("/counter/today")
    hand.scan("102")
    assert hand.path == f"/counter/job/{job.code}"
    hand.send("/found")
    assert hand.told == ["Part found."]
    assert state(unit, job) is JobState.IN_WORK
