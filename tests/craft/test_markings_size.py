"""One line about a wheel's size: whatever a person can see of it."""

import pytest

from portal.craft.markings import read_size
from tests.readers import english


@pytest.mark.parametrize(
    ("text", "rim", "tyre"),
    [
        ("8J x 18 ET35", (8, 18), None),
        ("8½J×18 H2 ET35 5x112 66.6", (8.5, 18), None),
        ("8.5x19 5x112/66.6", (8.5, 19), None),  # a bolt circle with its bore is no tyre
        ("18", (8, 18), None),
        ('18"', (8, 18), None),
        ("18 Zoll", (8, 18), None),
        ("R18", (8, 18), None),
        ("225/45 R17", None, (225, 17)),
        ("225/45R17 94W XL", None, (225, 17)),
        ("225 45 17", None, (225, 17)),
        ("165 R13", None, (165, 13)),
        ("195 R15C 106/104R", None, (195, 15)),
        ("315/80 R22.5", None, (315, 22.5)),
        ("8Jx18 ET35, 225/40 R18 92Y XL", (8, 18), (225, 18)),
        ("8Jx18 und 225/40R18", (8, 18), (225, 18)),
        ("225/40 R18; 8Jx18", (8, 18), (225, 18)),
        ("8Jx18 ET35 225/40 R18 92Y", (8, 18), (225, 18)),
        ("225/40 R18 92Y 8Jx18 ET35", (8, 18), (225, 18)),
        ("225/40 R18, 92Y XL", None, (225, 18)),
        ("rim 6.50-16", (6.5, 16), None),
        ("Reifen 165-13", None, (165, 13)),
        ("8.25-22.5", (8.25, 22.5), None),
        ("12R20", (12, 20), None),
        ("8,5J x 18 ET 35", (8.5, 18), None),  # a decimal comma parts nothing
    ],
)
def test_rim_tyre_and_inches_are_read_from_one_line(text, rim, tyre):
    read = read_size(text)
    assert not read.wrong
    found = read.rim.rim if read.rim else None
    assert (found and (found.width_code, found.diameter_code)) == rim
    worn = read.tyre.tyre if read.tyre else None
    assert (worn and (worn.width_mm, worn.rim_code)) == tyre


@pytest.mark.parametrize("text", ["silver", "", "?", "don't know"])
def test_a_line_that_says_nothing_says_how_to_write_one(text):
    (wrong,) = read_size(text).wrong
    assert "225/45 R17" in english(wrong)


@pytest.mark.parametrize(("text", "words"), [("8Jx3", "3 inches"), ("225/45 R99", "99 inches")])
def test_what_cannot_be_says_what_is_wrong(text, words):
    assert words in english(read_size(text).wrong[0])


@pytest.mark.parametrize(
    ("text", "wide", "code"),
    [("5.60-15", 5.6, 15), ("6.50-16", 6.5, 16), ("4.10-18 59P", 4.1, 18), ("11R22.5", 11, 22.5)],
)
def test_a_tyre_whose_width_is_a_code_is_read_from_one_line(text, wide, code):
    read = read_size(text)
    assert not read.wrong
    assert (read.tyre.tyre.width_in, read.tyre.tyre.rim_code) == (wide, code)


def test_a_size_that_a_rim_might_bear_too_says_how_it_was_read():
    said = [english(one) for one in read_size("6.50-16").tyre.assumed]
    assert "We read 6.50-16 as a tyre size. If it is the rim, write 6.50 x 16." in said
    assert not any("as a tyre size" in english(one) for one in read_size("11R22.5").tyre.assumed)


def test_two_tyre_sizes_are_two_sets():
    (wrong,) = read_size("225/40 R18, 255/35 R18").wrong
    assert "two tyre sizes" in english(wrong)
