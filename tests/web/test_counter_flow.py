"""The counter with only a keyboard scanner, without scripts: from the slip to the hand-back."""

import io

import sqlalchemy as sa
from PIL import Image

from portal.orders.kernel.ledger import account_of
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Finding, Job, Part, Photo
from tests.cast import OFFICE, sign_in
from tests.factories import (
    a_booked_job,
    a_job_at,
    a_job_in_work,
    last_event_id,
    stages,
    state,
)
from tests.page import checked_client
from tests.web.hand import Hand


def a_photo() -> io.BytesIO:
    picture = io.BytesIO()
    Image.new("RGB", (640, 480), "grey").save(picture, "JPEG")
    picture.seek(0)
    return picture


def test_an_as_declared_set_of_four_takes_one_press_after_the_scans(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.scan(f"http://127.0.0.1:8000/j/{job.token.lower()}")
    assert hand.path == f"/counter/job/{job.code}/check-in"
    for tag in ("101", "102", "103", "104"):
        hand.scan(tag)
    assert hand.told == ["Tag 104 is on part 4. All tagged."]
    hand.send("/receive")
    assert hand.told == ["Received. Work has started."]
    assert state(unit, job) is JobState.IN_WORK


def test_a_paper_tag_scanned_first_chooses_the_part_for_the_next_tag(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.scan(job.code)
    hand.scan(f"{job.code}-3")
    hand.scan("150")
    with unit.read() as session:
        assert session.get(Part, job.part_ids[2]).tag == "150"


def test_a_tag_of_another_job_is_refused_on_the_page_with_its_place(hand, unit) -> None:
    other = a_job_in_work(unit)
    job = a_booked_job(unit)
    hand.scan(job.code)
    hand.scan("102")
    assert hand.told == [f"Tag 102 is in use on part 2 of {shown(other.code)}, at “Prep”."]
    assert hand.path.endswith("/check-in")


def test_receiving_too_early_tells_everything_that_is_missing(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/check-in")
    hand.send("/as-declared")
    hand.send("/receive")
    assert hand.told == ["These parts have no tag yet: 1, 2, 3, 4."]


def test_a_mistyped_code_is_named_as_mistyped(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.scan(job.code[:-1] + ("4" if job.code[-1] != "4" else "7"))
    assert "There is a typing mistake in" in hand.page.text
    assert "Nothing found for “" not in hand.page.text


def test_a_name_leads_to_the_job_or_to_a_list(hand, unit) -> None:
    a_booked_job(unit, name="Ana Example")
    hand.scan("ana")
    assert hand.path.endswith("/check-in")
    a_booked_job(unit, name="Anabel Sample")
    hand.scan("ana")
    assert "Found for “ana”:" in hand.page.text


def test_a_set_that_differs_is_weighed_then_raised_then_agreed(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/differs?set=A")
    hand.send("/differs", drop=("do",), layers=["factory_paint"], do="weigh")
    assert "and 3 working days more" in hand.page.text or "working day" in hand.page.text
    hand.send("/differs", do="raise")
    assert hand.path == f"/counter/job/{job.code}/check-in"
    assert "waiting for an answer" in hand.page.text
    with unit.read() as session:
        finding = session.scalars(sa.select(Finding)).one()
        before = session.get(Job, job.job_id).total_minor
    hand.send("/answer", answer="yes")
    assert hand.told == ["The customer agreed."]
    with unit.read() as session:
        assert session.get(Job, job.job_id).total_minor == before + finding.amount_minor


def test_a_finding_keeps_its_photo_while_the_form_is_mended(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/differs?set=A")
    hand.send(
        "/differs",
        damage=["kerb_rash"],
        rim_text="3Jx99",
        do="weigh",
        photo=(a_photo(), "rash.jpg"),
    )
    assert hand.at.status_code == 422
    assert hand.wrong("rim_text")
    assert hand.page.all("img", class_="snap")
    hand.send("/differs", rim_text="8Jx18 ET35 5x112", do="weigh")
    hand.send("/differs", do="raise")
    with unit.read() as session:
        finding = session.scalars(sa.select(Finding)).one()
        assert finding.photo_id is not None
        assert session.scalar(sa.select(sa.func.count()).select_from(Photo)) == 1


def test_a_marking_with_two_meanings_is_asked_at_the_counter_too(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/differs?set=A")
    hand.send("/differs", rim_text="8Jx18 5x112 45", do="weigh")
    assert hand.at.status_code == 422
    assert "We don't know what 45 is." in hand.page.text
    hand.send("/differs", rim_text="8Jx18 5x112 ET45", do="weigh")
    assert hand.at.status_code == 200


def test_nothing_changed_is_no_finding(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/differs?set=A")
    hand.send("/differs", do="weigh")
    assert hand.at.status_code == 422
    assert "nothing differs" in hand.page.text


def test_a_text_file_called_jpg_is_refused_kindly(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/check-in")
    hand.send("/photo", photo=(io.BytesIO(b"not a picture"), "wheel.jpg"))
    assert len(hand.told) == 1
    with unit.read() as session:
        assert session.scalars(sa.select(Photo)).all() == []


def test_photos_of_the_arrival_are_kept_with_their_part(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/check-in")
    hand.send("/photo", photo=(a_photo(), "wheel.jpg"), part=str(job.part_ids[1]))
    with unit.read() as session:
        photo = session.scalars(sa.select(Photo)).one()
    assert (photo.part_id, photo.purpose) == (job.part_ids[1], "arrival")
    # one that shows them all is seen as well, and so is each where disputes are settled
    hand.send("/photo", photo=(a_photo(), "all.jpg"), part="")
    for address in (hand.path, f"/counter/job/{job.code}"):
        shown = hand.go(address).get_data(as_text=True)
        assert 'aria-label="Part 2 on arrival"' in shown
        assert 'aria-label="The parts on arrival"' in shown
    assert hand.page.all("img", class_="snap")


def test_the_second_of_two_people_is_told_and_loses_nothing_typed(app, hand, unit) -> None:
    job = a_booked_job(unit)
    other = Hand(sign_in(app, checked_client(app), OFFICE))
    for one in (hand, other):
        one.go(f"/counter/job/{job.code}/check-in")
    hand.send("/stamps", **{"stamp-1": "0423 A"})
    other.send("/stamps", **{"stamp-2": "1121 B"})
    assert other.at.status_code == 422
    assert "the stamp of part 1 was noted (0423 A) by Odd" in other.page.text
    typed = other.page.one("input", id="stamp-2")
    assert typed.get("value") == "1121 B"
    # what was typed is still there with a fresh number: pressing again keeps both
    other.send("/stamps", **{"stamp-1": "0423 A"})
    with unit.read() as session:
        stamps = session.scalars(
            sa.select(Part.stamp).where(Part.job_id == job.job_id).order_by(Part.number)
        ).all()
    assert list(stamps) == ["0423 A", "1121 B", "", ""]


def test_parts_move_by_station_and_tags_and_back_by_one_press(hand, unit) -> None:
    job = a_job_in_work(unit)
    hand.scan("AT-BLAST")
    assert hand.path == "/counter/floor"
    hand.scan("101")
    assert hand.told == [f"Tag 101 of {shown(job.code)}: Prep → Blast. Never: Steel grit."]
    hand.scan("102")
    hand.scan("102")
    assert hand.told == [f"Tag 102 of {shown(job.code)} is already at “Blast”."]
    hand.scan("103")
    hand.send("/floor/undo")
    assert stages(unit, job) == [PartStage.BLAST] * 2 + [PartStage.PREP] * 2


def test_the_undo_button_is_gone_after_ten_seconds(hand, unit, clock) -> None:
    a_job_in_work(unit)
    hand.scan("AT-BLAST")
    hand.scan("101")
    address = hand.at.request.full_path
    assert hand.page.all("form", class_="undo")
    clock.advance(seconds=11)
    hand.go(address)
    assert not hand.page.all("form", class_="undo")


def test_a_set_moves_by_one_tap_and_tags_can_be_left_out(hand, unit) -> None:
    job = a_job_in_work(unit)
    hand.go("/counter/floor")
    hand.send("/floor/move", part=[str(one) for one in job.part_ids[:3]])
    assert stages(unit, job) == [PartStage.BLAST] * 3 + [PartStage.PREP]


def test_an_oven_load_is_proposed_started_and_closed(hand, unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    hand.go("/counter/oven")
    hand.send("/oven/start", set_point_c="120")
    assert hand.at.status_code == 422
    assert hand.page.one("input", id="heat-1").get("value") == "120"
    hand.send("/oven/start", set_point_c="180")
    clock.advance(minutes=20)
    hand.go("/counter/oven")
    hand.send("/close")
    assert stages(unit, job) == [PartStage.INSPECT] * 4


def test_seen_numbers_of_nonsense_count_as_never_seen(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/check-in")
    hand.send("/as-declared")
    for tag in ("101", "102", "103", "104"):
        hand.scan(tag)
    hand.send("/receive", expected_event_id="🛞")
    assert state(unit, job) is JobState.BOOKED
    assert last_event_id(unit, job) > 0


def test_a_deposit_is_taken_once_and_lowers_what_is_owed(hand, unit) -> None:
    job = a_job_in_work(unit)
    hand.go(f"/counter/job/{job.code}/pay")
    page = hand.at
    hand.send("/pay", amount="0")
    assert hand.at.status_code == 422
    for _ in range(2):
        hand.at = page
        hand.send("/pay", amount="80,50", record="cash:8050")
        assert hand.path == f"/counter/job/{job.code}"
    with unit.read() as session:
        assert account_of(session, job.job_id).paid.minor == 8_050


def test_a_tag_scanned_at_the_inspection_opens_its_page(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    hand.scan("AT-INSPECT")
    hand.scan("103")
    assert hand.path == f"/counter/part/{job.part_ids[2]}/inspect"
