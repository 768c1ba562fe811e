"""The code to be shown at the counter: large, and as a picture that a scanner reads."""

import hashlib
from io import BytesIO

import numpy as np
import sqlalchemy as sa
import zxingcpp
from PIL import Image

from portal.shop.codes import printed_link
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Job
from tests.factories import a_booked_job, a_job_at
from tests.page import page_of


def test_the_saved_picture_holds_what_the_slip_holds(client, unit) -> None:
    job = a_booked_job(unit)
    page = page_of(client.get(f"/J/{job.token}/show"))
    (way,) = [a for a in page.all("a") if a.get("href", "").endswith(".png")]
    answer = client.get(way.get("href"))
    assert answer.headers["Cache-Control"] == "no-store"
    image = np.array(Image.open(BytesIO(answer.get_data())).convert("L"))
    (read,) = zxingcpp.read_barcodes(image)
    assert read.text == printed_link(unit.base_url, job.token)


def test_the_pickup_code_is_in_it_for_who_knows_the_telephone_alone(client, unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    unit.write(lambda s: s.execute(sa.update(Job).values(state=JobState.READY)))
    where = f"/J/{job.token}/show"
    assert job.pickup_code not in page_of(client.get(where)).text
    with client.session_transaction() as held:
        held["known"] = [hashlib.sha256(job.token.encode()).hexdigest()[:16]]
    assert job.pickup_code in page_of(client.get(where)).text
    image = np.array(Image.open(BytesIO(client.get(f"{where}.png").get_data())).convert("L"))
    read = {one.text for one in zxingcpp.read_barcodes(image)}
    assert read == {job.pickup_code, printed_link(unit.base_url, job.token)}
