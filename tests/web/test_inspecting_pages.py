"""Inspection and rework by the pages, without scripts: what is asked, and what follows."""

import pytest
import sqlalchemy as sa

from portal.shop.route import PartStage
from portal.store.tables import Inspection
from tests.cast import FLOOR, sign_in
from tests.factories import a_job_at, stages
from tests.page import checked_client
from tests.readers import english
from tests.web.hand import Hand


@pytest.fixture
def hand(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), FLOOR), "/counter/floor")


GOOD = "82 81 83\n68 67 69\n75 74 76\n93 92 94\n86 85 87"
THIN = "85 85 85\n67 67 67\n71 71 71\n64 64 64\n44 44 44"
THICK = "\n".join(["400 401 399"] * 5)


def test_a_thick_film_asks_for_a_decision_and_its_reason(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    hand.scan("101")
    hand.send("/inspect", readings=THICK, eye="yes")
    assert hand.at.status_code == 422
    assert "the mean is 400 µm, at most 90 µm was ordered" in hand.wrong("too_thick")
    hand.send("/inspect", too_thick="accept")
    assert hand.wrong("because") == "Error: Enter why the thick film is accepted."
    hand.send("/inspect", too_thick="accept", because="The customer wants it that way.")
    assert stages(unit, job)[0] is PartStage.DONE
    with unit.read() as session:
        row = session.scalars(sa.select(Inspection)).one()
    assert "Accepted all the same: The customer wants it that way." in english(row.says)
    assert row.person_id is not None
    hand.send("/inspect", readings=THICK, eye="yes")
    hand.send("/inspect", too_thick="rework")
    assert hand.heading == "Rework"
    hand.send("/rework")
    assert stages(unit, job)[1] is PartStage.BLAST


def test_readings_are_judged_and_the_next_part_comes_up(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    hand.scan("101")
    assert hand.heading == "Inspect part 1"
    # what the eye saw is said by a person, never by the page
    hand.send("/inspect", readings=GOOD)
    assert hand.wrong("eye") == "Error: Choose what you see: OK or not OK."
    hand.send("/inspect", readings=GOOD, eye="yes")
    assert hand.heading == "Inspect part 2"
    hand.send("/inspect", readings="85 67 x", gloss="45", eye="yes")
    assert hand.at.status_code == 422
    assert hand.wrong("readings") == "Error: “x” is not a reading. Enter a number in µm."
    assert hand.page.one("input", id="gloss").get("value") == "45"
    hand.send("/inspect", readings=THIN, gloss="", eye="yes")
    assert hand.heading == "Rework"
    # what the figures have found is chosen already
    assert hand.page.one("input", id="fault-0").get("checked") is not None
    hand.send("/rework")
    assert stages(unit, job) == [
        PartStage.DONE, PartStage.COAT, PartStage.INSPECT, PartStage.INSPECT,
    ]  # fmt: skip
    with unit.read() as session:
        rows = session.scalars(sa.select(Inspection.accepted).order_by(Inspection.id)).all()
    assert list(rows) == [True, False]
