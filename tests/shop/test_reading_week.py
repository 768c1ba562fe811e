"""The week as it is written: nonsense is refused with its key, and what is read is written back."""

import tomllib
from datetime import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.messages import CraftError
from portal.craft.reading import write
from portal.shop.calendar.hours import DAYS, ClockSpan, DayOfYear
from portal.shop.calendar.week import read_week

HOUSE = Path(__file__).resolve().parents[2]
DEMO: dict[str, Any] = tomllib.loads((HOUSE / "demo_seed/shop.toml").read_text("utf-8"))["week"]

NONSENSE: list[tuple[str, dict[str, Any]]] = [
    ("zone", {"zone": "Fennholt"}),
    ("zone", {"zone": "../etc/passwd"}),
    ("country", {"country": "XX"}),
    ("country", {"country": "GB", "subdivision": "Mars"}),
    ("lunch", {"lunch": "12:00"}),
    ("work", {"work": {}}),
    ("pickup", {"pickup": {"mon": []}}),
    ("work.someday", {"work": {"someday": ["08:00-17:00"]}}),
    ("work.mon", {"work": {"mon": ["8-17"]}}),
    ("work.mon", {"work": {"mon": ["17:00-08:00"]}}),
    ("work.mon", {"work": {"mon": ["08:00-08:00"]}}),
    ("work.mon", {"work": {"mon": ["08:00-24:00"]}}),
    ("work.mon", {"work": {"mon": ["08:00-12:60"]}}),
    ("work.tue", {"work": {"tue": ["08:00-12:30", "12:00-17:00"]}}),
    ("work.tue", {"work": {"tue": ["13:00-17:00", "08:00-12:00"]}}),
    ("pickup.sat", {"pickup": {"sat": ["morning"]}}),
    ("drop_off.noon", {"drop_off": {"noon": ["08:00-10:00"]}}),
    ("drop_off.minutes", {"drop_off": {"minutes": 4}}),
    ("drop_off.minutes", {"drop_off": {"minutes": 30.5}}),
    ("drop_off.places", {"drop_off": {"places": 0}}),
    ("drop_off.places", {"drop_off": {"places": True}}),
    ("drop_off.places", {"drop_off": {"places": "two"}}),
    ("drop_off.least_stay_days", {"drop_off": {"least_stay_days": -1}}),
    ("drop_off.least_stay_days", {"drop_off": {"least_stay_days": "one"}}),
    ("drop_off.longest_stay_days", {"drop_off": {"longest_stay_days": 0}}),
    ("work", {"work": 5}),
    ("pickup", {"pickup": ["08:00-17:00"]}),
    ("drop_off", {"drop_off": "mornings"}),
    ("closures[0]", {"closures": ["12-25"]}),
    ("closures[0].until", {"closures": [{"from": "12-27", "until": "12-31"}]}),
    ("half_days[0]", {"half_days": ["12-24"]}),
    ("half_days[0].to", {"half_days": [{"day": "12-24", "until": "12:00", "to": "12:30"}]}),
    ("strip_runs", {"strip_runs": "tue"}),
    ("strip_runs.back_after", {"strip_runs": {"back_after": 3}}),
    ("closures[0].from", {"closures": [{"to": "12-31"}]}),
    ("closures[0].from", {"closures": [{"from": "13-01"}]}),
    ("closures[0].from", {"closures": [{"from": "02-30"}]}),
    ("closures[0].from", {"closures": [{"from": "2026-02-29"}]}),
    ("closures[1].to", {"closures": [{"from": "01-01"}, {"from": "01-01", "to": "soon"}]}),
    ("closures[0].to", {"closures": [{"from": "2026-07-02", "to": "2026-07-01"}]}),
    ("closures[0].to", {"closures": [{"from": "2026-12-27", "to": "12-31"}]}),
    ("half_days[0].day", {"half_days": [{"until": "12:00"}]}),
    ("half_days[0].until", {"half_days": [{"day": "12-24"}]}),
    ("half_days[0].until", {"half_days": [{"day": "12-24", "until": "25:00"}]}),
    ("open_holidays", {"open_holidays": ["Christmas"]}),
    ("strip_runs.days", {"strip_runs": {"days": ["tuesday"]}}),
    ("strip_runs.cut_off", {"strip_runs": {"cut_off": "ten"}}),
    ("strip_runs.back_after_days", {"strip_runs": {"back_after_days": 0}}),
    ("strip_runs.back_after_days", {"strip_runs": {"back_after_days": 1.5}}),
    ("strip_runs.back_at", {"strip_runs": {"back_at": "24:00"}}),
]


@pytest.mark.parametrize(("key", "wrong"), NONSENSE)
def test_nonsense_is_refused_with_its_key(key, wrong):
    with pytest.raises(CraftError) as refused:
        read_week({**DEMO, **wrong})
    assert refused.value.key == key
    assert refused.value.sentence


def test_a_refusal_says_what_was_written():
    with pytest.raises(CraftError, match="17:00-08:00"):
        read_week({**DEMO, "work": {"mon": ["17:00-08:00"]}})


def test_the_demo_shop_reads_and_writes_back_the_same():
    shop = read_week(DEMO)
    assert read_week(write(shop, all_of_it=True)) == shop
    assert shop.work[4] == (ClockSpan(time(8), time(12, 30)), ClockSpan(time(13), time(16, 30)))
    assert shop.work[5] == ()
    assert (shop.drop_off.minutes, shop.drop_off.places) == (30, 2)
    assert (shop.drop_off.least_stay_days, shop.drop_off.longest_stay_days) == (1, 15)
    assert shop.strip_runs.days == (1, 4)
    assert shop.half_days[0].day == DayOfYear(12, 24)


def test_a_closure_of_one_day_needs_no_end():
    closure = read_week({**DEMO, "closures": [{"from": "2026-07-01"}]}).closures[0]
    assert closure.first == closure.last == DayOfYear(7, 1, 2026)


def test_a_shop_without_a_country_keeps_no_public_holidays():
    shop = read_week({**DEMO, "country": "", "subdivision": ""})
    assert read_week(write(shop, all_of_it=True)) == shop


def test_the_order_in_which_strip_days_are_written_does_not_matter():
    runs = {"days": ["fri", "tue"]}
    assert read_week({**DEMO, "strip_runs": runs}).strip_runs.days == (1, 4)


CLOCKS = st.integers(0, 95).map(lambda n: f"{n // 4:02d}:{n % 4 * 15:02d}")


@st.composite
def spans(draw: st.DrawFn) -> list[str]:
    ends = sorted(draw(st.sets(CLOCKS, min_size=2, max_size=6)))
    return [f"{a}-{b}" for a, b in zip(ends[::2], ends[1::2], strict=False)]


DATES = st.dates().map(lambda day: f"{day:%m-%d}")
HOURS = st.dictionaries(st.sampled_from(DAYS), spans(), min_size=1)


@st.composite
def bodies(draw: st.DrawFn) -> dict[str, Any]:
    return {
        "zone": draw(st.sampled_from(["UTC", "Europe/London", "America/New_York"])),
        "country": draw(st.sampled_from(["GB", "US", "DE"])),
        "subdivision": "",
        "work": draw(HOURS),
        "pickup": draw(HOURS),
        "drop_off": {
            **draw(HOURS),
            "minutes": draw(st.integers(5, 240)),
            "places": draw(st.integers(1, 99)),
            "least_stay_days": draw(st.integers(0, 30)),
            "longest_stay_days": draw(st.integers(1, 200)),
        },
        "closures": [
            {"from": draw(DATES), "to": draw(DATES), "why": draw(st.text(max_size=20))}
            for _ in range(draw(st.integers(0, 2)))
        ],
        "half_days": [{"day": d, "until": draw(CLOCKS)} for d in draw(st.lists(DATES, max_size=2))],
        "open_holidays": draw(st.lists(DATES, max_size=2)),
        "strip_runs": {
            "days": sorted(draw(st.sets(st.sampled_from(DAYS))), key=DAYS.index),
            "cut_off": draw(CLOCKS),
            "back_after_days": draw(st.integers(1, 30)),
            "back_at": draw(CLOCKS),
        },
    }


@given(bodies())
def test_what_is_written_is_what_was_read(body):
    shop = read_week(body)
    written = write(shop, all_of_it=True)
    assert written == body
    assert read_week(written) == shop
