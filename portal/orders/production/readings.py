"""Film readings as they are typed, or as a gauge types them: spots of three to five each."""

import re

from portal.craft.inspection import LEAST_READINGS, THICKEST_UM
from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused

MOST_READINGS = 200
Spots = tuple[tuple[float, ...], ...]


def read_readings(typed: str) -> Spots:
    """Read readings in µm, spot by spot.

    A line is a spot. Where each line has one reading, as a gauge types them, and on a single line,
    each three make a spot. A comma inside a number is a decimal comma where readings stand on lines
    of their own or are parted by spaces. Raises Refused naming the first thing that is no reading.
    """
    lines = [spot for line in typed.splitlines() if (spot := _line(line))]
    if sum(map(len, lines)) > MOST_READINGS:
        raise Refused(Message("Enter at most {most} readings.", most=MOST_READINGS), key="readings")
    if len(lines) > 1 and any(len(line) > 1 for line in lines):
        return tuple(lines)
    row = [value for line in lines for value in line]
    each = LEAST_READINGS
    return tuple(tuple(row[n : n + each]) for n in range(0, len(row), each))


def one_more(typed: str, reading: str) -> str:
    """Return the readings with one more behind them: three on a line, for the next spot."""
    lines = typed.strip().splitlines()
    if not lines or len(lines[-1].split()) >= LEAST_READINGS:
        return "\n".join([*lines, reading])
    return "\n".join([*lines[:-1], f"{lines[-1].rstrip()} {reading}"])


def _line(typed: str) -> tuple[float, ...]:
    pieces = re.split(r"[\s;]+", typed.strip())
    if len(pieces) == 1 and pieces[0].count(",") > 1:
        pieces = pieces[0].split(",")
    texts = (re.sub(r"(µm|μm|um)$", "", one.strip(","), flags=re.IGNORECASE) for one in pieces)
    return tuple(_reading(text) for text in texts if text)


def _reading(text: str) -> float:
    if not re.fullmatch(r"\d{1,4}([.,]\d{1,3})?", text):
        raise Refused(
            Message("“{typed}” is not a reading. Enter a number in µm.", typed=text[:20]),
            key="readings",
        )
    value = float(text.replace(",", "."))
    if not 0 < value <= THICKEST_UM:
        raise Refused(
            Message("{typed} µm can't be a film thickness. Check it.", typed=text[:20]),
            key="readings",
        )
    return value
