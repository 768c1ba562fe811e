"""The catalogue's pages behind a customer's link, and the paper that is printed from it."""

from datetime import timedelta

from werkzeug.test import TestResponse

from portal.orders.counter.threads_view import threads_to_answer
from tests.browser.layout.house import House
from tests.browser.layout.pages import state
from tests.factories import a_booked_job
from tests.orders.test_preparing import ON_TYRES as ON_TYRES_BY_YOU

STAGES = (
    "booked",
    "in work",
    "second coat",
    "waiting",
    "late",
    "ready",
    "handed back",
    "not brought",
    "called off",
    "colour open",
)


def _status(name: str) -> None:
    state(f"status, {name}", "link")(lambda house: house.status(name))


for _name in STAGES:
    _status(_name)


@state("status, an answer with wrong digits", "link", 422)
def _wrong_digits(house: House) -> TestResponse:
    return house.anyone.submit(house.status("waiting"), digits="12", yes="1")


@state("status, an unknown link", "link", 404)
def _unknown(house: House) -> TestResponse:
    return house.anyone.get(f"/J/{'A' * 26}")


@state("lost slip", "link")
def _lost(house: House) -> TestResponse:
    return house.anyone.get("/lost-slip")


@state("lost slip, the link is on its way", "link")
def _lost_and_sent(house: House) -> TestResponse:
    return house.anyone.submit(_lost(house), known="nobody@example.com")


@state("price", "link")
def _price(house: House) -> TestResponse:
    return house.status("booked", "/price")


@state("slip", "paper")
def _slip(house: House) -> TestResponse:
    return house.status("booked", "/slip")


@state("tags", "paper")
def _tags(house: House) -> TestResponse:
    return house.status("half checked", "/tags")


@state("refit guide", "paper")
def _refit(house: House) -> TestResponse:
    return house.status("handed back", "/refit")


@state("inspection sheet", "paper")
def _inspection(house: House) -> TestResponse:
    return house.status("handed back", "/inspection")


@state("another drop-off time", "link")
def _move(house: House) -> TestResponse:
    return house.status("not brought", "/time")


@state("another drop-off time, with errors", "link", 422)
def _move_errors(house: House) -> TestResponse:
    return house.anyone.submit(_move(house))


@state("cancel by the link", "link")
def _call_off(house: House) -> TestResponse:
    return house.status("not brought", "/call-off")


@state("another finish by the link", "link")
def _finish(house: House) -> TestResponse:
    return house.status("not brought", "/finish")


@state("another finish by the link, priced", "link")
def _finish_priced(house: House) -> TestResponse:
    return house.anyone.submit(_finish(house), colour="R3020-G", do="weigh")


@state("another finish by the link, too late", "link")
def _finish_late(house: House) -> TestResponse:
    return house.status("ready", "/finish")


@state("contact details by the link, with errors", "link", 422)
def _contact(house: House) -> TestResponse:
    return house.anyone.submit(house.status("booked", "/contact"), email="nobody", digits="1")


@state("who else may fetch", "link")
def _fetch(house: House) -> TestResponse:
    return house.status("booked", "/fetch")


@state("ask about a job", "link")
def _ask_about(house: House) -> TestResponse:
    return house.status("in work", "/ask")


@state("ask about a job, with errors", "link", 422)
def _ask_about_errors(house: House) -> TestResponse:
    return house.anyone.submit(house.status("in work", "/ask"), text="")


@state("ask about a job, asked", "link")
def _asked_about(house: House) -> TestResponse:
    house.clock.advance(minutes=1)  # others asked from the same address just before
    house.anyone.submit(house.status("booked", "/ask"), text="May I come an hour later?\nAt ten?")
    return house.status("booked", "/ask")


@state("a question about a job, at the counter", "counter")
def _asked_at_the_counter(house: House) -> TestResponse:
    _asked_about(house)
    (line, *_) = threads_to_answer(house.unit)
    return house.staff.get(f"/counter/threads/{line.thread_id}")


@state("what to take off", "link")
def _prepare(house: House) -> TestResponse:
    return house.anyone.get(f"/J/{_with_tyres(house)}/prepare")


@state("what to take off, left to us", "link")
def _cannot(house: House) -> TestResponse:
    return house.anyone.get(f"/J/{_with_tyres(house)}/prepare/A-tyre")


@state("the sheet for the tyre shop", "paper")
def _tyre_shop(house: House) -> TestResponse:
    return house.anyone.get(f"/J/{_with_tyres(house)}/tyre-shop")


def _with_tyres(house: House) -> str:
    """The link of a job whose customer has the tyres taken off."""
    return a_booked_job(house.unit, ON_TYRES_BY_YOU, dropoff=timedelta(days=3)).token


@state("what we write", "link")
def _news(house: House) -> TestResponse:
    return house.status("booked", "/news")


@state("what we write, one kind off", "link")
def _news_off(house: House) -> TestResponse:
    return house.status("booked", "/news/recheck")


@state("the code, large", "link")
def _show(house: House) -> TestResponse:
    return house.status("booked", "/show")
