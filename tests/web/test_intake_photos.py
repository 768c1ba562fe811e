"""Photos of the parts: what can't be read is told beside the field, and the rest is kept."""

import io

import pytest
import sqlalchemy as sa
from PIL import Image

from portal.store.tables import Photo
from tests.web.walk import WHEELS, Customer


def a_jpeg(size: tuple[int, int] = (640, 480)) -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", size, "steelblue").save(out, "JPEG")
    out.seek(0)
    return out


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def shown(customer) -> list:
    """The photos that the open page shows."""
    return [one for one in customer.page.all("img") if "/photo/" in one.get("src", "")]


def photos(app) -> int:
    with app.extensions["unit"].read() as session:
        return session.scalar(sa.select(sa.func.count(Photo.id))) or 0


def test_a_photo_is_kept_and_shown(customer, app) -> None:
    customer.send(**WHEELS, photos=(a_jpeg(), "wheel.jpg"))
    assert customer.step == "on-them"
    assert photos(app) == 1
    customer.go_to("parts/A")
    assert len(shown(customer)) == 1


BAD = {
    "a photo of forty megabytes": (io.BytesIO, b"\xff\xd8" + b"\x00" * 40_000_000, "large.jpg"),
    "a text that calls itself a photo": (io.BytesIO, b"I am not a photo.", "note.jpg"),
    "an empty file": (io.BytesIO, b"", "nothing.jpg"),
    "a page that calls itself a photo": (io.BytesIO, b"<svg onload=alert(1)>", "x.png"),
}


@pytest.mark.parametrize("case", BAD)
def test_what_is_no_photo_is_told_beside_the_field_and_nothing_typed_is_lost(
    customer, app, case: str
) -> None:
    make, body, name = BAD[case]
    answer = customer.send(**WHEELS, count="5", photos=(make(body), name))
    assert answer.status_code == 422
    assert customer.page.one("p", id="photos-wrong") is not None
    assert customer.page.one("input", id="size").get("value") == WHEELS["size"]
    assert customer.page.one("input", id="count").get("value") == "5"
    assert photos(app) == 0
    customer.send()
    assert customer.step == "on-them"


def test_a_good_photo_is_kept_when_something_else_is_wrong(customer, app) -> None:
    customer.send(**(WHEELS | {"count": "0"}), photos=(a_jpeg(), "wheel.jpg"))
    assert customer.at.status_code == 422
    assert photos(app) == 1
    assert len(shown(customer)) == 1


def test_a_photo_can_be_taken_away_again_without_losing_what_is_typed(customer, app) -> None:
    customer.send(**(WHEELS | {"count": "0"}), photos=(a_jpeg(), "wheel.jpg"))
    token = customer.page.one("button", name="unwanted").get("value")
    customer.send(unwanted=token, count="3")
    assert photos(app) == 0
    assert customer.page.one("input", id="count").get("value") == "3"


def test_seven_photos_of_one_set_are_one_too_many(customer, app) -> None:
    customer.send(**WHEELS, photos=[(a_jpeg((40, 30)), f"{n}.jpg") for n in range(7)])
    assert customer.at.status_code == 422
    assert photos(app) == 6
