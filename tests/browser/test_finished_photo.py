"""A photo of the finished parts: one tap at the inspection, and the customer sees it when ready."""

import pytest
from playwright.sync_api import expect

from portal.orders.counter.hand_back import make_ready
from portal.shop.route import PartStage
from tests.browser.staff import enter
from tests.cast import FLOOR
from tests.factories import TWO_COATS, a_job_at, bring_to
from tests.web.test_intake_photos import a_jpeg

pytestmark = pytest.mark.browser


def test_a_photo_taken_in_one_tap_is_on_the_ready_page(live, unit, pictures) -> None:
    job = a_job_at(unit, PartStage.INSPECT, TWO_COATS)
    page = enter(live.person("phone"), FLOOR, at=f"/counter/part/{job.part_ids[0]}/inspect")
    tapped = page.get_by_label("Photo of the finished parts")
    # a phone opens its camera for such a field, and nothing is pressed afterwards
    expect(tapped).to_have_attribute("capture", "environment")
    for _ in range(2):
        with page.expect_response("**/finished-photo") as answer, page.expect_file_chooser() as it:
            tapped.click()
            it.value.set_files(
                {"name": "rim.jpg", "mimeType": "image/jpeg", "buffer": a_jpeg().read()}
            )
        assert answer.value.status == 204
        expect(page.locator("[data-one-tap-says]")).to_have_text(
            "Photo saved. Take another one, if you like."
        )
        expect(tapped).to_have_value("")  # so the form won't send it again
    pictures(page, "taken")
    bring_to(unit, job, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    customer = live.person("phone")
    customer.goto(f"/J/{job.token}")
    expect(customer.get_by_role("heading", name="Your finished parts")).to_be_visible()
    shots = customer.get_by_alt_text("of the finished parts")
    expect(shots).to_have_count(2)
    shots.first.scroll_into_view_if_needed()
    expect(shots.first).to_have_js_property("complete", True)  # playwright's own
    expect(shots.first).not_to_have_js_property("naturalWidth", 0)
    pictures(customer, "ready")
