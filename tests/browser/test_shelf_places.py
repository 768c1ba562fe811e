"""A place on the shelf is scanned, then the jobs that lie there: with a network and without."""

import pytest
from playwright.sync_api import expect

from portal.orders.production.shelving import lying_at
from portal.shop.codes import shown
from portal.shop.route import PartStage
from tests.browser.staff import enter, hears, says, scan
from tests.cast import FLOOR
from tests.factories import a_job_at

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("js", [True, False])
def test_a_job_is_put_on_its_place_from_any_page(live, unit, js) -> None:
    job = a_job_at(unit, PartStage.DONE)
    page = enter(live.person("phone", js=js), FLOOR, at="/counter/oven")
    scan(page, "SHELF-A3", js=js)
    page.wait_for_url("**/floor?at=shelf-A3")
    scan(page, "101", js=js)
    expect(page.get_by_text(f"{shown(job.code)} lies at A3.")).to_be_visible()
    expect(page.locator(".lying li")).to_have_text([shown(job.code)])
    assert lying_at(unit, "A3") == (shown(job.code),)


def test_a_scan_at_a_place_is_kept_without_a_network(live, unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    page = enter(live.person("phone"), FLOOR, at="/counter/floor?at=shelf-B2")
    hears(page)
    page.context.set_offline(True)
    scan(page, job.code)
    says(page, "No network. Scans saved on this device: 1.")
    assert lying_at(unit, "B2") == ()
    page.context.set_offline(False)
    expect(page.locator(".lying li")).to_have_text([shown(job.code)])
    assert lying_at(unit, "B2") == (shown(job.code),)
    live.wrong[:] = [line for line in live.wrong if "net::ERR_" not in line]
