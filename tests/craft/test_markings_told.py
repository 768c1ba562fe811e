"""Every marking with all that is said of it, line by line, in `markings_told.txt`.

A block is a marking and what follows from it: its normal form, then what was understood (+),
assumed (~), asked (?) and refused (!), and where to look for it (>). The readings were checked by
hand against ISO 4000-2, UN R30, R54 and R75, as far as `test_markings_rims.py` and
`test_markings_tyres.py` have them.
"""

from pathlib import Path

import pytest

from portal.craft.markings import (
    ReadRim,
    ReadTyre,
    marking_of,
    questions_of,
    read_rim,
    read_size,
    read_tyre,
    rim_from_tyre,
    tyre_on_rim,
    write_rim,
    write_tyre,
)
from portal.craft.parts import PartKind, PartSet
from tests.readers import english

TEXT = Path(__file__).with_name("markings_told.txt").read_text("utf-8")
BLOCKS = [block.splitlines() for block in TEXT.strip().split("\n\n") if block[0] != "#"]


def lines(sign: str, messages) -> list[str]:
    return [f"  {sign} {english(one)}" for one in messages]


def told(kind: str, text: str) -> list[str]:
    if kind == "rim":
        rim = read_rim(text)
        form = [f"  = {write_rim(rim.rim)}"] if rim.rim else []
        return [*form, *said_of(rim), *lines("?", rim.unsure), *refused(rim)]
    tyre = read_tyre(text)
    form = [f"  = {write_tyre(tyre.tyre)}"] if tyre.tyre else []
    return [*form, *said_of(tyre), *refused(tyre)]


def refused(read: ReadRim | ReadTyre) -> list[str]:
    return lines("!", read.impossible) + lines(">", [read.where] if read.where else [])


def said_of(read: ReadRim | ReadTyre) -> list[str]:
    return lines("+", read.understood) + lines("~", read.assumed)


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: f"{len(block)} lines")
def test_a_marking_is_told_like_this(block: list[str]) -> None:
    kind, _, text = block[0].partition(" ")
    assert told(kind, text) == block[1:]


# what the tyre of 225 mm is measured on: 7.5 inches (test_markings_fit), from 7 to 8.5 usual
@pytest.mark.parametrize(
    ("width", "belongs", "says"),
    [
        ("6.5", None, ("A 6.5-inch rim is just outside the usual 7 to 8.5 inches for this tyre. "
                      "Check the tyre maker's table.")),
        ("6", False, "This tyre fits rims 7 to 8.5 inches wide, not 6. Check both markings."),
        ("7", True, "This tyre usually goes on rims 7 to 8.5 inches wide."),
        ("8.5", True, "This tyre usually goes on rims 7 to 8.5 inches wide."),
        ("9", None, ("A 9-inch rim is just outside the usual 7 to 8.5 inches for this tyre. "
                    "Check the tyre maker's table.")),
        ("9.5", False, "This tyre fits rims 7 to 8.5 inches wide, not 9.5. Check both markings."),
    ],
)  # fmt: skip
def test_a_tyre_and_the_width_of_its_rim(width: str, belongs: bool | None, says: str) -> None:
    tyre, rim = read_tyre("225/45 R17").tyre, read_rim(f"{width}Jx17").rim
    assert tyre is not None
    assert rim is not None
    found = tyre_on_rim(tyre, rim)
    assert (found.belongs, english(found.says)) == (belongs, says)


def test_a_tyre_on_a_rim_of_another_diameter() -> None:
    tyre, rim = read_tyre("225/45 R17").tyre, read_rim("7.5Jx18").rim
    assert tyre is not None
    assert rim is not None
    found = tyre_on_rim(tyre, rim)
    assert (found.belongs, english(found.says)) == (
        False,
        "The tyre is for a 17-inch rim, but the rim is 18 inches. Check both.",
    )
    assert write_rim(rim_from_tyre(tyre)) == "7.5J×17"
    lorry = read_tyre("11R22.5").tyre
    assert lorry is not None
    assert write_rim(rim_from_tyre(lorry)) == "8.25×22.5"


def wheels(rim_text: str = "", tyre_text: str = "") -> PartSet:
    rim, tyre = read_rim(rim_text).rim, read_tyre(tyre_text).tyre
    if rim is None and tyre is not None:
        rim = rim_from_tyre(tyre)
    return PartSet("A", PartKind.WHEEL, 4, rim=rim, tyre=tyre, rim_text=rim_text,
                   tyre_text=tyre_text)  # fmt: skip


def test_the_marking_of_a_set_is_what_was_read() -> None:
    assert marking_of(wheels("8jx18 et35")) == "8J×18 ET35"
    assert marking_of(wheels("", "225/40r18")) == "225/40 R18"  # its rim was never read
    assert marking_of(wheels("8jx18", "225/40r18")) == "8J×18, 225/40 R18"
    assert marking_of(PartSet("A", PartKind.WHEEL, 4)) == ""


def test_the_questions_of_a_set_hold_until_its_rim_is_another() -> None:
    open_ = wheels("8Jx18 ET35 ET40")
    (asked,) = questions_of(open_)
    assert english(asked) == "Is the offset 35 or 40? Write it as ET35 or ET40."
    changed = PartSet("A", PartKind.WHEEL, 4, rim=read_rim("8Jx18 ET40").rim,
                      rim_text="8Jx18 ET35 ET40")  # fmt: skip
    assert questions_of(changed) == questions_of(PartSet("A", PartKind.WHEEL, 4)) == ()


@pytest.mark.parametrize(
    ("text", "rim", "tyre"),
    [
        ("rim 6.50-16", "6.50-16", ""),
        ("Felge: 8Jx18 / 225/40 R18", "8Jx18", "225/40 R18"),
        ("8Jx18 225/40 R18", "8JX18", "225/40 R18"),
        ("225/40 R18 8Jx18", "8JX18", "225/40 R18"),
        ("8Jx18 ET35; tyre: 225/40 R18", "8Jx18 ET35", "225/40 R18"),
        ("225 45 17", "", "225 45 17"),
        ("225/40 R18, 92Y XL", "", "225/40 R18, 92Y XL"),
        ("8Jx18, silver", "8Jx18, silver", ""),
    ],
)
def test_a_line_is_parted_into_rim_and_tyre(text: str, rim: str, tyre: str) -> None:
    found = read_size(text)
    assert (found.rim_text, found.tyre_text) == (rim, tyre)
    assert found.wrong == ()
    assert found.unsure == (found.rim.unsure if found.rim else ())
