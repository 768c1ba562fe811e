"""The camera in the page: a real slip, hard pictures, a reader of the browser's own, a refusal."""

import base64
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter, ImageOps
from playwright.sync_api import Page

from portal.web.kit import qr
from tests.browser.conftest import chromium_arguments, chromium_path
from tests.browser.staff import enter, says
from tests.factories import a_booked_job

pytestmark = pytest.mark.browser
WIDTH, HEIGHT = 640, 480


@pytest.fixture
def unit(live):
    return live.app.extensions["unit"]


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


def write_film(path: Path, slip: Image.Image) -> None:
    """Write a still film of a slip, for the browser's pretended camera."""
    colour = np.full((HEIGHT // 2, WIDTH // 2), 128, np.uint8).tobytes() * 2
    frame = b"FRAME\n" + np.asarray(slip, dtype=np.uint8).tobytes() + colour
    path.write_bytes(b"YUV4MPEG2 W640 H480 F10:1 Ip A1:1 C420jpeg\n" + frame * 5)


def test_the_camera_reads_a_slip_in_the_page(live, unit, tmp_path, browser) -> None:
    job = a_booked_job(unit)
    film = tmp_path / "camera.y4m"
    write_film(film, a_slip(f"HTTP://127.0.0.1:8000/J/{job.token}", angle=15))
    seeing = browser.browser_type.launch(
        executable_path=chromium_path(),
        args=[
            *chromium_arguments(),
            "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={film}",
        ],
    )
    live.browser, plain = seeing, live.browser
    try:
        page = enter(live.person("phone", permissions=["camera"]))
        page.get_by_role("button", name="Camera").click()
        page.wait_for_url("**/check-in", timeout=15_000)
    finally:
        live.browser = plain
        for context in seeing.contexts:
            live.contexts.remove(context)
        seeing.close()


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
    page.goto("/counter/arriving")
    look_with(page, "", link, broken=True)
    page.wait_for_url("**/check-in")


def test_a_camera_that_is_not_allowed_says_why(live) -> None:
    page = enter(live.person("phone"))
    page.evaluate(
        "() => { navigator.mediaDevices.getUserMedia = () =>"
        " Promise.reject(new DOMException('no', 'NotAllowedError')); }"
    )
    page.get_by_role("button", name="Camera").click()
    says(page, "The camera is not allowed for this page.")
