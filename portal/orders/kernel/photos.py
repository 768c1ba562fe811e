"""Photos: size limits, content checks, small copies without metadata.

The bytes that were sent are never stored: the picture is decoded and encoded anew, so no position,
owner's name or hidden content survives.
"""

import io
import warnings
from dataclasses import dataclass
from typing import BinaryIO

import sqlalchemy as sa
from PIL import Image, ImageFile, ImageOps, ImageStat, UnidentifiedImageError
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.codes import new_token
from portal.shop.states import PhotoPurpose
from portal.store.tables import Photo

MEGABYTE = 1_000_000
# a phone's largest camera makes 50 Mpx; a small file can unpack to far more
MOST_PIXELS = 50_000_000
PATCH = 0.02  # of the longer side
LONGEST_SIDE = 2048
FORMATS = ("JPEG", "PNG", "WEBP")
QUALITY = 82


@dataclass(frozen=True, slots=True)
class Picture:
    """A stored photo: JPEG bytes without metadata, and its size in pixels."""

    jpeg: bytes
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Belongs:
    """What a photo belongs to, and why it was taken."""

    purpose: PhotoPurpose
    draft_id: int | None = None
    job_id: int | None = None
    part_id: int | None = None
    set_key: str = ""


def read_picture(stream: BinaryIO, *, limit_mb: int) -> Picture:
    """Read a photo, check it and encode it anew; raise `Refused` with `key="photo"`."""
    # one byte more than the limit tells "too large" without reading the rest
    sent = stream.read(limit_mb * MEGABYTE + 1)
    if len(sent) > limit_mb * MEGABYTE:
        raise Refused(
            Message("This photo is larger than {n} MB. Send a smaller one.", n=limit_mb),
            key="photo",
        )
    if not sent:
        raise Refused(Message("This file is empty. Choose the photo again."), key="photo")
    try:
        return _encode(sent)
    except Refused:
        raise
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
        OSError,
        SyntaxError,
        ValueError,
        Warning,
    ) as wrong:
        raise Refused(
            Message("We can't read this file as a photo. Send a JPEG, PNG or WebP picture."),
            key="photo",
        ) from wrong


def take_photo(
    unit: UnitOfWork,
    stream: BinaryIO,
    belongs: Belongs,
    *,
    limit_mb: int = 15,
    session: Session | None = None,
) -> str:
    """Keep a photo and return its token. With `session` it joins a transaction that is open."""
    picture = read_picture(stream, limit_mb=limit_mb)
    if session is not None:
        return put_photo(unit, session, picture, belongs).token
    return unit.write(lambda fresh: put_photo(unit, fresh, picture, belongs).token)


def put_photo(unit: UnitOfWork, session: Session, picture: Picture, belongs: Belongs) -> Photo:
    """Write the row of a photo that was read already, and return it."""
    row = Photo(
        token=new_token(unit.random_bytes),
        draft_id=belongs.draft_id,
        job_id=belongs.job_id,
        part_id=belongs.part_id,
        set_key=belongs.set_key,
        purpose=belongs.purpose,
        width=picture.width,
        height=picture.height,
        jpeg=picture.jpeg,
        taken_at=unit.now(),
    )
    session.add(row)
    session.flush()
    return row


def photo(unit: UnitOfWork, token: str) -> bytes:
    """Return the JPEG behind a token, or raise `Unknown`."""
    with unit.read() as session:
        jpeg = session.scalar(sa.select(Photo.jpeg).where(Photo.token == token.upper()))
    if jpeg is None:
        raise Unknown(Message("We can't find this photo."))
    return jpeg


def colour_at(unit: UnitOfWork, token: str, across: float, down: float) -> str:
    """Return the colour around a point of a photo as `#RRGGBB`.

    `across` and `down` are measured from the upper left corner in widths of the photo.
    The median of a small patch, so that a speck, an edge or the camera's noise does not decide.
    """
    with Image.open(io.BytesIO(photo(unit, token)), formats=("JPEG",)) as opened:
        image = opened.convert("RGB")
    x, y = (
        min(max(round(share * image.width), 0), side - 1)
        for share, side in ((across, image.width), (down, image.height))
    )
    reach = max(1, round(max(image.size) * PATCH / 2))
    patch = image.crop((x - reach, y - reach, x + reach + 1, y + reach + 1)).crop(
        (
            max(0, reach - x),
            max(0, reach - y),
            min(2 * reach + 1, image.width - x + reach),
            min(2 * reach + 1, image.height - y + reach),
        )
    )
    return "#" + "".join(f"{round(median):02X}" for median in ImageStat.Stat(patch).median)


def _encode(sent: bytes) -> Picture:
    # the maker of our PDFs lets Pillow take pictures that were cut off; a photo must be whole
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    with warnings.catch_warnings():
        # Pillow only warns of a picture that is far too large, or of broken metadata
        warnings.simplefilter("error")
        with Image.open(io.BytesIO(sent), formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise Refused(
                    Message(
                        "This photo has more than {n} megapixels. Send a smaller one.",
                        n=MOST_PIXELS // 1_000_000,
                    ),
                    key="photo",
                )
            # a JPEG can be decoded at a half or a quarter, which saves most of the memory
            opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            turned = ImageOps.exif_transpose(opened)
            turned.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            plain = _without_alpha(turned)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Picture(out.getvalue(), plain.width, plain.height)


def _without_alpha(image: Image.Image) -> Image.Image:
    if "A" not in image.getbands() and "transparency" not in image.info:
        fresh = Image.new("RGB", image.size)
    else:
        fresh = Image.new("RGB", image.size, "white")
    coloured = image.convert("RGBA") if image.mode != "RGB" else image
    # pasting into a new picture leaves every kind of metadata behind
    fresh.paste(coloured, mask=coloured if coloured.mode == "RGBA" else None)
    return fresh
