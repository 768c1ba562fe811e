"""The camera in the page: a real slip, hard pictures, a reader of the browser's own, a refusal."""

import base64

import numpy as np
import pytest
from PIL import Image, ImageFilter, ImageOps
from playwright.sync_api import Page, expect

from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.web.kit.paper import qr
from tests.browser.conftest import HEIGHT, WIDTH, write_film
from tests.browser.staff import enter, says, scan
from tests.browser.turns import press
from tests.cast import OFFICE
from tests.factories import a_booked_job, events, state
from tests.web import paper

pytestmark = pytest.mark.browser


def a_slip(text: str, angle: int = 0, module: int = 6) -> Image.Image:
    """What a camera sees of a slip that bears `text` as its QR symbol, in shades of grey."""
    rows = qr.modules(text)
    symbol = Image.new("L", ((len(rows) + 8) * module,) * 2, 250)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                box = ((x + 4) * module, (y + 4) * module)
                symbol.paste(20, (*box, box[0] + module, box[1] + module))
    slip = Image.new("L", (WIDTH, HEIGHT), 205)
    slip.paste(symbol.rotate(angle, expand=True, fillcolor=205), (180, 90))
    return slip.filter(ImageFilter.GaussianBlur(0.8))


def held_before(pdf: bytes) -> np.ndarray:
    """A printed slip as a hand holds it before a camera: the link, the paper round it, askew."""
    page = paper.pages(pdf)[0]
    [link, *_others] = [one for one in paper.read_all(page) if "/J/" in one.text]
    left, top, right, bottom = paper.box_of(link)
    middle, across = (left + right) // 2, (top + bottom) // 2
    x = min(max(middle - WIDTH // 2, 0), page.shape[1] - WIDTH)
    y = min(max(across - HEIGHT // 2, 0), page.shape[0] - HEIGHT)
    return paper.turned(paper.blurred(page[y : y + HEIGHT, x : x + WIDTH], 0.8), 8)


def test_the_camera_reads_a_printed_slip_while_the_scanner_reads_its_code(live, unit, film) -> None:
    """Two at the counter with the same slip: a phone's camera, and a scanner that types."""
    job = a_booked_job(unit)
    phone = enter(live.person("phone", permissions=["camera"]))
    desk = enter(live.person("desktop"), OFFICE)
    printed = phone.request.get(f"/J/{job.token}/slip.pdf?size=a4").body()
    write_film(film, held_before(printed))
    phone.get_by_role("button", name="Camera").click()
    phone.wait_for_url("**/check-in")
    # a scanner set to a German keyboard, in lower case, with the part's number
    scan(desk, f"{job.code[:4]}ß{job.code[4:]}ß2".lower())
    desk.wait_for_url("**/check-in")
    # each of them scans tags; one tag comes by both and counts once
    for page, tag, told in (
        (phone, "101", "Tag 101 is on part 1."),
        (desk, "t-0102", "Tag 102 is on part 2."),
        (phone, "102", "Tag 102 is on part 2 already."),
        (desk, "#103", "Tag 103 is on part 3."),
        (phone, "104", "Tag 104 is on part 4. All tagged."),
    ):
        scan(page, tag)
        says(page, told)
    for page in (phone, desk):
        page.goto(f"/counter/job/{job.code}/check-in")
        expect(page.locator(".bar").get_by_text("4/4")).to_be_visible()
    press(phone.get_by_role("button", name="All as declared: receive and start"))
    says(phone, "Received. Work has started.")
    press(desk.get_by_role("button", name="All as declared: receive and start"))
    expect(desk.get_by_text("In progress").first).to_be_visible()
    assert len(events(unit, job, "receive")) == 1
    assert state(unit, job) is JobState.IN_WORK
    # a tag that hangs on a wheel is refused elsewhere, with the place where it is
    other = a_booked_job(unit, name="Sam Sample")
    desk.goto(f"/counter/job/{other.code}/check-in")
    scan(desk, "103")
    expect(desk.locator("body")).to_contain_text(shown(job.code))


HARD = {
    "plain": lambda slip: slip,
    "inverted": ImageOps.invert,
    "dark": lambda slip: slip.point(lambda shade: shade // 4),
    "upside down": lambda slip: slip.rotate(180),
    "blurred": lambda slip: slip.filter(ImageFilter.GaussianBlur(2)),
    "small": lambda slip: slip.resize((WIDTH // 2, HEIGHT // 2)),
    "inverted and askew": lambda slip: ImageOps.invert(slip.rotate(12, fillcolor=205)),
}


# what the page's camera does with a frame; the page may load no picture, so its pixels are sent
DECODE = """async ([decoder, width, height, shades]) => {
  const { default: decode } = await import(decoder);
  const data = new Uint8ClampedArray(width * height * 4);
  const grey = Uint8Array.from(atob(shades), (ch) => ch.charCodeAt(0));
  grey.forEach((shade, n) => data.set([shade, shade, shade, 255], n * 4));
  return decode(new ImageData(data, width, height));
}"""


def test_our_decoder_reads_hard_pictures(live) -> None:
    page = enter(live.person("phone"))
    script = page.locator("script[src*='scan.js']").get_attribute("src")
    decoder = script.replace("scan.js", "vendor/qr/decode.js")
    text = "HTTP://127.0.0.1:8000/J/ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    slip = a_slip(text)
    for name, spoil in HARD.items():
        picture = spoil(slip)
        shades = base64.b64encode(picture.tobytes()).decode()
        assert page.evaluate(DECODE, [decoder, *picture.size, shades]) == text, name


# a camera that shows what is drawn, and a browser that has a reader of its own
OWN_READER = """([text, modules, broken]) => {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [640, 480];
  const ink = canvas.getContext("2d");
  setInterval(() => {
    ink.fillStyle = "#222";
    ink.fillRect(0, 0, 640, 480);
    ink.fillStyle = "#eee";
    modules.forEach((row, y) => row.forEach((dark, x) => {
      if (dark) ink.fillRect(200 + x * 6, 100 + y * 6, 6, 6);
    }));
  }, 100);
  navigator.mediaDevices.getUserMedia = async () => canvas.captureStream(10);
  window.BarcodeDetector = class {
    static getSupportedFormats = async () => ["qr_code", "code_128"];
    detect = async () => {
      if (broken) throw new DOMException("no service", "NotSupportedError");
      return [{ rawValue: text }];
    };
  };
}"""


def look_with(page: Page, text: str, symbol: str, *, broken: bool) -> None:
    """Open the camera of a browser that has its own reader, with a symbol before it."""
    modules = [[bool(dark) for dark in row] for row in qr.modules(symbol)] if symbol else []
    page.evaluate(OWN_READER, [text, modules, broken])
    page.get_by_role("button", name="Camera").click()


def test_a_browsers_own_reader_comes_first_and_ours_where_it_fails(live, unit) -> None:
    job = a_booked_job(unit)
    link = f"HTTP://127.0.0.1:8000/J/{job.token}"
    page = enter(live.person("phone"))
    look_with(page, link, "", broken=False)
    page.wait_for_url("**/check-in")
    # a reader that only says that it can read, before a light code on dark ground
    page.goto("/counter/today")
    look_with(page, "", link, broken=True)
    page.wait_for_url("**/check-in")


def test_a_camera_that_is_not_allowed_says_why(live) -> None:
    page = enter(live.person("phone"))
    page.evaluate(
        "() => { navigator.mediaDevices.getUserMedia = () =>"
        " Promise.reject(new DOMException('no', 'NotAllowedError')); }"
    )
    page.get_by_role("button", name="Camera").click()
    says(page, "The camera is blocked for this page.")
