"""After the pickup: what to keep, a case, the same again, the record, and when the link ends."""

import re

import pytest
import sqlalchemy as sa

from portal.orders.counter.hand_back import HandBack, hand_back, make_ready
from portal.orders.intake.draft_view import Times, look
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.retention_times import LINK_LIVES
from portal.orders.office.erasing import erase_customer
from portal.orders.office.reminding import remind
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.floor import OvenLoadBatch, OvenLoadPart
from portal.store.letters import Letter
from portal.store.tables import Job
from tests.factories import TWO_COATS, a_job_at, a_token, events, last_event_id
from tests.web.hand import Hand


def at_home(unit, what=TWO_COATS, *, owing: str = ""):
    """A job whose parts were collected; with `owing` nothing was paid, for this reason."""
    job = a_job_at(unit, PartStage.DONE, what)
    make_ready(unit, job.job_id, who=None)
    with unit.read() as session:
        due = account_of(session, job.job_id).to_pay.minor
    given = HandBack(
        job.pickup_code,
        list(range(1, len(job.part_ids) + 1)),
        [],
        0 if owing else due,
        None if owing else PaymentMethod.CARD,
        owing_because=owing,
    )
    told = {"expected_event_id": last_event_id(unit, job), "once_token": a_token()}
    hand_back(unit, job.job_id, given, **told, who=None)
    return job


@pytest.fixture
def home(unit):
    return at_home(unit)


CHAIRS = {
    "kind": "chair",
    "count": 6,
    "metal": "steel",
    "size_mm": [550, 600, 900],
    "layers": ["liquid_paint"],
    "closed": ["none"],
    "finish": {"system": "single", "colour": "R9005-S", "gloss": "satin"},
}
OF_CARS = re.compile(r"wheel|torque|handbook|you drive|drive on", re.IGNORECASE)


def test_who_collects_chairs_reads_nothing_of_cars(client, unit, clock) -> None:
    job = at_home(unit, CHAIRS)
    hand = Hand(client, f"/J/{job.token}")
    for path in ("", "/wrong", "/refit", "/record", "/inspection", "/news"):
        hand.go(f"/J/{job.token}{path}")
        assert not OF_CARS.search(hand.page.text), (path, OF_CARS.findall(hand.page.text))
    clock.advance(days=4)
    remind(unit)
    with unit.read() as session:
        sent = session.scalars(sa.select(Letter).where(Letter.job_id == job.job_id)).all()
    assert "handed_back" in {one.kind for one in sent}
    assert not [one.kind for one in sent if OF_CARS.search(f"{one.subject} {one.text}")]


@pytest.fixture
def visitor(client, home):
    return Hand(client, f"/J/{home.token}")


def test_the_page_leads_to_everything_and_says_when_it_ends(visitor) -> None:
    ways = {(one.get("href") or "").rpartition("/")[2] for one in visitor.page.all("a")}
    assert {"receipts", "refit", "inspection", "record", "wrong", "again"} <= ways
    assert "This page works until" in visitor.page.text


def test_a_link_with_money_owed_on_it_does_not_die(client, unit, clock) -> None:
    job = at_home(unit, owing="pays tomorrow")
    clock.advance(days=LINK_LIVES.days + 1)
    hand = Hand(client, f"/J/{job.token}")
    assert "This page stays until it is paid." in hand.page.text
    for path in ("/price", "/receipts", "/refit", "/record"):
        assert hand.go(f"/J/{job.token}{path}").status_code == 200


def test_a_paid_link_ends(client, home, clock) -> None:
    clock.advance(days=LINK_LIVES.days + 1)
    assert client.get(f"/J/{home.token}").status_code == 404


def test_the_same_again_brings_the_contact_along_for_the_digits_alone(visitor, home, unit) -> None:
    for digits, name in (("0123", "Robin Sample"), ("", None)):
        visitor.go(f"/J/{home.token}/again")
        visitor.send("/again", digits=digits)
        draft = look(unit, visitor.path.split("/")[2], times=Times.NONE)
        own = draft.answers.declared.sets[0]
        assert (own.count, own.finish.colour, own.layers) == (4, "EMBER-S", ())
        assert (draft.answers.contact and draft.answers.contact.name) == name
    visitor.go(f"/J/{home.token}/again")
    visitor.send("/again", digits="9999")
    assert visitor.wrong("digits").startswith("Error: These aren't the last four digits")
    assert "Robin" not in visitor.page.text


def test_the_record_has_powder_and_batch_and_names_nobody(visitor, app, home, unit) -> None:
    def note_batch(session) -> None:
        loads = sa.select(OvenLoadPart.load_id).where(OvenLoadPart.part_id == home.part_ids[0])
        for load_id in session.scalars(loads.distinct()).all():
            for code in ("EMBER-S", "OTHERS"):
                session.add(OvenLoadBatch(load_id=load_id, powder_code=code, batch=f"L-{code}"))

    unit.write(note_batch)
    visitor.go(f"/J/{home.token}/record")
    assert "L-EMBER-S" in visitor.page.text
    assert "L-OTHERS" not in visitor.page.text
    visitor.send("/record")
    (link,) = [a for a in visitor.page.all("a") if "/record/" in (a.get("href") or "")]
    assert len(events(unit, home, "record_link")) == 1
    path = "/record/" + link.get("href").rpartition("/")[2]
    stranger = Hand(app.test_client(), path)
    for word in ("Robin", "Brown estate", home.token, "£"):
        assert word not in stranger.at.get_data(as_text=True)
    assert "L-EMBER-S" in stranger.page.text


def test_a_record_lives_on_after_link_and_customer(visitor, app, home, unit, clock) -> None:
    visitor.go(f"/J/{home.token}/record")
    visitor.send("/record")
    with unit.read() as session:
        token = session.get_one(Job, home.job_id).record_token
    clock.advance(days=LINK_LIVES.days + 1)
    erase_customer(unit, home.code)
    assert app.test_client().get(f"/record/{token}").status_code == 200
    assert app.test_client().get(f"/record/{'A' * 26}").status_code == 404


def test_something_is_wrong_opens_a_case(visitor, home, unit) -> None:
    visitor.go(f"/J/{home.token}/wrong")
    assert "stop where it is safe" in visitor.page.text
    visitor.send("/wrong", text="The coating chips at the rim.")
    assert visitor.told == ["Thank you for telling us. We answer as soon as we can."]
    assert "The coating chips at the rim." in visitor.page.text
    assert len(events(unit, home, "case")) == 1


def test_before_the_pickup_there_is_no_case_and_no_record(client, unit) -> None:
    job = a_job_at(unit, PartStage.BLAST, TWO_COATS)
    hand = Hand(client, f"/J/{job.token}/wrong")
    assert hand.path == f"/J/{job.token}"
    assert client.get(f"/J/{job.token}/record").status_code == 404
