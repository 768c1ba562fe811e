"""A photo is checked, encoded anew and kept without metadata; what is no photo is refused."""

import io

import pytest
from PIL import Image, ImageFile

from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.photos import MEGABYTE, Belongs, photo, read_picture, take_photo
from tests.readers import refusing


def picture(fmt="JPEG", size=(300, 200), mode="RGB", **more) -> io.BytesIO:
    out = io.BytesIO()
    Image.new(mode, size, "teal" if mode == "RGB" else 0).save(out, fmt, **more)
    out.seek(0)
    return out


class Endless(io.RawIOBase):
    """A file that never ends and counts what was taken from it."""

    taken = 0

    def read(self, size: int = -1) -> bytes:
        assert size > 0, "the whole file was asked for"
        self.taken += size
        return b"\xff\xd8\xff" + b"\0" * (size - 3)


@pytest.mark.parametrize("fmt", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_as_a_jpeg(unit, fmt) -> None:
    token = take_photo(unit, picture(fmt), Belongs("declared"))
    kept = Image.open(io.BytesIO(photo(unit, token)))
    assert (kept.format, kept.size) == ("JPEG", (300, 200))


def test_a_file_of_40_mb_is_refused_without_reading_it_all() -> None:
    sent = Endless()
    with refusing(Refused, "larger than 15 MB"):
        read_picture(sent, limit_mb=15)
    assert sent.taken <= 15 * MEGABYTE + 1


@pytest.mark.parametrize(
    "sent",
    [
        b"this is a text called wheel.jpg",
        b"%PDF-1.7",
        b"<svg/>",
        b"GIF89a\1\0\1\0\0\0\0;",
        b"\xff\xd8\xff\xe0",
    ],
    ids=["text", "pdf", "svg", "gif", "half a jpeg"],
)
def test_what_is_no_photo_is_known_by_its_content(sent) -> None:
    with refusing(Refused, r"We can't read this file as a photo\. Send a") as told:
        read_picture(io.BytesIO(sent), limit_mb=15)
    assert told.value.key == "photo"


def test_an_empty_file_is_told_as_empty() -> None:
    with refusing(Refused, "empty"):
        read_picture(io.BytesIO(b""), limit_mb=15)


def test_a_small_file_that_unpacks_to_a_huge_picture_is_refused() -> None:
    bomb = picture("PNG", size=(10_000, 5_001), mode="1")
    assert len(bomb.getvalue()) < 100_000
    with refusing(Refused, "megapixels"):
        read_picture(bomb, limit_mb=15)


def test_a_bomb_beyond_the_librarys_own_limit_is_refused_too() -> None:
    bomb = picture("PNG", size=(20_000, 10_000), mode="1")
    with pytest.raises(Refused):
        read_picture(bomb, limit_mb=15)


def test_a_cut_off_photo_is_refused_even_where_a_paper_was_printed_before(monkeypatch) -> None:
    # what importing WeasyPrint does to Pillow
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    whole = picture("JPEG", size=(2000, 1500)).getvalue()
    with pytest.raises(Refused):
        read_picture(io.BytesIO(whole[: len(whole) // 2]), limit_mb=15)


def test_a_large_photo_is_made_smaller() -> None:
    kept = read_picture(picture(size=(5000, 2500)), limit_mb=15)
    assert (kept.width, kept.height) == (2048, 1024)


def test_a_photo_taken_upright_stands_upright_and_tells_nothing_of_its_place() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turn by 90°
    exif[0x010F] = "A telephone"
    exif.get_ifd(0x8825)[1] = "N"  # position
    kept = read_picture(picture(size=(300, 200), exif=exif), limit_mb=15)
    assert (kept.width, kept.height) == (200, 300)
    again = Image.open(io.BytesIO(kept.jpeg))
    assert not again.getexif()
    assert b"telephone" not in kept.jpeg
    assert set(again.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_a_see_through_picture_gets_a_white_ground() -> None:
    kept = read_picture(picture("PNG", mode="RGBA"), limit_mb=15)
    red, green, blue = Image.open(io.BytesIO(kept.jpeg)).getpixel((5, 5))
    assert min(red, green, blue) > 250


def test_an_unknown_token_shows_nothing(unit) -> None:
    with pytest.raises(Unknown):
        photo(unit, "A" * 26)


def test_a_token_has_enough_chance_in_it(unit) -> None:
    token = take_photo(unit, picture(), Belongs("arrival"))
    assert len(token) * 5 >= 128  # base 32: five bits a character
