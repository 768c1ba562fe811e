"""The code to be shown at the counter: large, and as a picture that a scanner reads."""

from io import BytesIO

import numpy as np
import zxingcpp
from PIL import Image

from portal.shop.codes import printed_link
from tests.factories import a_booked_job
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
