"""Small floors and jobs for tests of the forecast, with figures that can be added up by hand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from portal.shop.calendar.hours import DAYS
from portal.shop.calendar.week import Week, read_week
from portal.shop.route import QUEUED, PartStage
from portal.shop.scheduling.forecast import Forecast, JobWork, PartState, forecast_of
from portal.shop.scheduling.station import Oven, Station, Stations
from portal.shop.scheduling.stations import Cure, PartWork

MONDAY = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)  # June 2026 has no public holiday in England
SEED = 7


def a_week(**over: Any) -> Week:
    """Work and pickup from 8 to 18 UTC on weekdays; strip runs on Tuesdays and Fridays at ten."""
    daily = {day: ["08:00-18:00"] for day in DAYS[:5]}
    body: dict[str, Any] = {
        "zone": "UTC",
        "country": "GB",
        "subdivision": "ENG",
        "work": daily,
        "pickup": daily,
        "drop_off": {**{day: ["08:00-10:00"] for day in DAYS[:5]}, "minutes": 30, "places": 2},
        "strip_runs": {
            "days": ["tue", "fri"],
            "cut_off": "10:00",
            "back_after_days": 2,
            "back_at": "15:00",
        },
    }
    return read_week({**body, **over})


def a_floor(spread: float = 0.0, **over: Any) -> Stations:
    """One place a station; without spread, rework or late runs unless told otherwise."""
    usual: dict[str, Any] = {
        "oven": Oven(heat_up=30, cool_down=15),
        "colour_change": 12.0,
        "rework_rate": 0.0,
        "strip_late_rate": 0.0,
    }
    return Stations(
        by_key=tuple(Station(stage, spread=spread) for stage in QUEUED), **(usual | over)
    )


def with_station(stations: Stations, key: PartStage, **over: Any) -> Stations:
    """The floor with one station changed."""
    return stations.having(replace(stations[key], **over))


def a_work(colour: str = "BLACK", coats: int = 1, **over: Any) -> PartWork:
    """A part's minutes: prep 8, blast 10, coat 9, fifteen minutes at 180 °C, inspect 4."""
    usual: dict[str, Any] = {
        "set_key": "A",
        "coat": (9.0,) * coats,
        "cures": (Cure(180, 15.0, colour),) * coats,
    }
    minutes = {"prep": 8.0, "blast": 10.0, "inspect": 4.0, "refit": 0.0}
    by_hand = {PartStage(key): over.pop(key, usually) for key, usually in minutes.items()}
    return PartWork(minutes=by_hand, **(usual | over))


def a_job(
    job_id: int,
    work: PartWork | None = None,
    *,
    parts: int = 1,
    stage: PartStage = PartStage.EXPECTED,
    comes: datetime = MONDAY,
    promise: datetime | None = None,
    done: int = 0,
) -> JobWork:
    """A job of equal parts at one stage; as if it came through the door at `comes`."""
    one = PartState(work or a_work(), stage, done, comes)
    return JobWork(job_id, (one,) * parts, comes, promise)


def after(minutes: float, start: datetime = MONDAY) -> datetime:
    """The moment so many minutes after a start, of the same working day."""
    return start + timedelta(minutes=minutes)


WEEK = a_week()
EXACT = a_floor()


def seen(
    *jobs: JobWork,
    stations: Stations = EXACT,
    week: Week = WEEK,
    now: datetime = MONDAY,
    seed: int = SEED,
    replications: int = 100,
) -> Forecast:
    return forecast_of(jobs, stations, week, now, seed=seed, replications=replications)


def likely(forecast: Forecast, job_id: int = 1) -> datetime:
    return forecast.outlook[job_id].likely_at


def worked(moment: datetime) -> timedelta:
    """Working time since Monday at eight in a week of ten-hour days."""
    days = (moment.date() - MONDAY.date()).days
    weeks, rest = divmod(days, 7)
    return timedelta(hours=10 * (weeks * 5 + min(rest, 5))) + (
        moment - moment.replace(hour=8, minute=0)
    )
