"""Lengths as people write them. One inch is 25.4 mm, one foot 304.8 mm (ISO 80000-3)."""

import pytest

from portal.craft.lengths import read_length, read_lengths, split_lengths


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        *[(f"10{sign}", 254) for sign in ("”", "″", "''", '"', " in", " inch", " IN ")],
        *[(text, 12.7) for text in ('1/2"', "½ in", " ½″")],
        *[(text, 266.7) for text in ("10 1/2 in", "10½”", '10.5"', "10,5 in")],
        ("26 cm", 260),
        ("2,5cm", 25),
        ("0.3 m", 300),
        ("12 mm", 12),
        ("12", 12),
        ("1 ft", 304.8),
    ],
)
def test_a_length_is_read_in_its_unit(text: str, mm: float) -> None:
    assert read_length(text) == pytest.approx(mm)


@pytest.mark.parametrize("text", ["", " ", "x", "in", "1/0", "-5", "1 2 3", "10 apples", "1/2/3"])
def test_what_is_no_length_is_none(text: str) -> None:
    assert read_length(text) is None


@pytest.mark.parametrize(
    ("texts", "mm"),
    [
        (["26 cm", "14", "12"], [260, 140, 120]),
        (["26", "14", "12"], [26, 14, 12]),
        (["26", "x", '1"'], [660.4, None, 25.4]),
        (["26 cm", '1"', "12"], [260, 25.4, 12]),
    ],
)
def test_one_unit_counts_for_all(texts: list[str], mm: list[float | None]) -> None:
    assert read_lengths(texts) == [one and pytest.approx(one) for one in mm]


def test_a_number_alone_is_in_what_the_reader_measures_in() -> None:
    assert read_length("2", bare=25.4) == pytest.approx(50.8)
    assert read_lengths(["2", "3"], bare=25.4) == [pytest.approx(50.8), pytest.approx(76.2)]


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("26 x 14 x 12 cm", ["26", "14", "12 cm"]),
        (" 26×14*12 ", ["26", "14", "12"]),
        ("26 by 14 MAL 12", ["26", "14", "12"]),
        ("26 por 14 x 12", ["26", "14", "12"]),
        ("26 x 14", None),
        ("26 x x 12", None),
        ("26 x 14 x 12 x 9", None),
        ("", None),
    ],
)
def test_three_lengths_stand_in_one_line(text: str, pieces: list[str] | None) -> None:
    assert split_lengths(text) == pieces
