"""A customer taps a colour in a photo, and sees what comes nearest to it."""

import io

import pytest
from PIL import Image

from tests.web.walk import WHEELS, Customer


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def two_halves() -> io.BytesIO:
    """Traffic red on the left, anthracite on the right, as sRGB."""
    image = Image.new("RGB", (800, 400), "#BB1E10")
    image.paste("#383E42", (400, 0, 800, 400))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=95)
    out.seek(0)
    return out


def test_a_tap_on_a_photo_finds_the_nearest_powder(customer) -> None:
    customer.send(**WHEELS, photos=(two_halves(), "wheel.jpg"))
    customer.walk_to("finish")
    (tap,) = [e for e in customer.page.all("input") if e.get("type") == "image"]
    name, width = tap.get("name"), int(tap.get("width"))
    for at, nearest in ((width * 0.25, "Traffic red"), (width * 0.75, "Anthracite grey")):
        where = {f"{name}.x": str(round(at)), f"{name}.y": str(width // 4)}
        customer.send(**{"A-gloss": "gloss" if "red" in nearest else "satin"}, **where)
        assert customer.step == "finish"
        first = customer.page.text.split("Our nearest colours to", 1)[1]
        assert nearest in first[:60], first[:200]


def test_a_tap_on_a_photo_that_is_not_there_is_an_unknown_photo(customer) -> None:
    customer.walk_to("finish")
    answer = customer.send(**{"A-pick-NOTHING.x": "5", "A-pick-NOTHING.y": "5"})
    assert answer.status_code == 404
