"""The catalogue's pages of the staff: the door, the counter, the floor, the books."""

from werkzeug.test import TestResponse

from tests.browser.layout.house import House, a_browser
from tests.browser.layout.pages import look, state
from tests.cast import FLOOR, sign_in

look("today", "counter", "/counter/today")
look("floor", "counter", "/counter/floor")
look("shelf", "counter", "/counter/shelf")
look("new order", "counter", "/counter/new-order")
look("oven", "counter", "/counter/oven")
look("strip runs", "counter", "/counter/strip-runs")
look("find, empty", "counter", "/counter/find")
look("find, some", "counter", "/counter/find?q=900123")
look("find, none", "counter", "/counter/find?q=Nobodyatall")
look("tag numbers", "counter", "/counter/tags")
look("station labels", "paper", "/counter/station-labels")
look("no network", "counter", "/counter/offline")
look("lost", "counter", "/counter/part/1/lost")
look("heat of a part", "counter", "/counter/part/1/heat")
look("me", "counter", "/counter/me")
look("two-step sign-in", "counter", "/counter/me/second-factor")
look("pieces", "books", "/pieces")
look("late jobs", "books", "/books/")
look("what was done", "books", "/books/doing")
look("translations", "books", "/books/translations")
look("to take away", "books", "/books/take-away")
look("powders", "books", "/books/powders")
look("powder", "books", "/books/powders/R9005-S")
look("new powder", "books", "/books/powders/new")
look("people", "books", "/books/people")
look("trade customers", "books", "/books/firms")
look("new trade customer", "books", "/books/firms/new")
look("who owes what", "books", "/books/owed")
look("person", "books", "/books/people/1")
look("letters", "books", "/books/letters")
look("letter", "books", "/books/letters/1")
look("the letters' words", "books", "/books/letters/words")
look("what if", "books", "/books/what-if")
look("what if, tried", "books", "/books/what-if?places=blast&saturday=y&days=mon")
look("out of order", "books", "/books/stations/out-of-order")
look("station hours", "books", "/books/stations/hours?station=coat")
for _kind in ("prices", "week", "stations", "place", "shop"):
    look(_kind, "books", f"/books/{_kind}")
look("editions", "books", "/books/prices/editions")


@state("sign-in", "counter")
def _sign_in(house: House) -> TestResponse:
    return a_browser(house.app).get("/counter/sign-in")


@state("sign-in, empty", "counter", 422)
def _sign_in_empty(house: House) -> TestResponse:
    browser = a_browser(house.app)
    return browser.submit(browser.get("/counter/sign-in"))


@state("locked", "counter")
def _locked(house: House) -> TestResponse:
    browser = sign_in(house.app, a_browser(house.app), FLOOR)
    browser.submit(browser.get("/counter/me"), which="pin", pin="4711", again="4711")
    return browser.get("/counter/locked", follow_redirects=True)


@state("where one is signed in", "counter")
def _devices(house: House) -> TestResponse:
    for _ in range(2):
        browser = sign_in(house.app, a_browser(house.app), FLOOR)
    return browser.get("/counter/me/devices")


def _job(name: str) -> None:
    state(f"job, {name}", "counter")(lambda house: house.desk(name))


for _name in ("booked", "waiting", "in work", "second coat", "ready", "handed back"):
    _job(_name)


@state("check-in, fresh", "counter")
def _check_in(house: House) -> TestResponse:
    return house.desk("booked", "/check-in")


@state("check-in, half done", "counter")
def _half(house: House) -> TestResponse:
    return house.desk("half checked", "/check-in")


@state("check-in, where each wheel sat", "counter")
def _on_tyres(house: House) -> TestResponse:
    return house.desk("on tyres", "/check-in")


@state("check-in, with a finding", "counter")
def _finding(house: House) -> TestResponse:
    return house.desk("waiting", "/check-in")


@state("differs", "counter")
def _differs(house: House) -> TestResponse:
    return house.desk("booked", "/differs?set=A&part=1")


@state("differs, weighed", "counter")
def _weighed(house: House) -> TestResponse:
    answer = house.desk("booked", "/differs?set=A&part=1")
    return house.staff.submit(answer, form=1, do="weigh", damage=["kerb_rash", "corrosion"])


@state("check-in, the colour is open", "counter")
def _colour_open(house: House) -> TestResponse:
    return house.desk("colour open", "/check-in")


@state("colour", "counter")
def _colour(house: House) -> TestResponse:
    return house.desk("colour open", "/colour?set=A")


@state("colour, with errors", "counter", 422)
def _colour_errors(house: House) -> TestResponse:
    return house.staff.submit(_colour(house), form=1, do="weigh")


@state("colour, weighed", "counter")
def _colour_weighed(house: House) -> TestResponse:
    return house.staff.submit(_colour(house), form=1, plate="DUSK-G", do="weigh")


@state("new order, with a price", "counter")
def _new_order_priced(house: House) -> TestResponse:
    answer = house.staff.get("/counter/new-order")
    told = {"A-count": "4", "A-size": "8Jx18 ET35", "A-build": "cast", "A-layers": "factory_paint"}
    return house.staff.submit(answer, form=1, do="look", **told, **{"A-near": "R9005-S"})


@state("new order, with errors", "counter", 422)
def _new_order_errors(house: House) -> TestResponse:
    return house.staff.submit(house.staff.get("/counter/new-order"), form=1, do="take")


@state("appointment", "counter")
def _appointment(house: House) -> TestResponse:
    return house.desk("booked", "/appointment")


@state("pay", "counter")
def _pay(house: House) -> TestResponse:
    return house.desk("in work", "/pay")


@state("pay, with errors", "counter", 422)
def _pay_errors(house: House) -> TestResponse:
    return house.staff.submit(_pay(house), form=1, amount="much")


@state("hand-back", "counter")
def _hand_back(house: House) -> TestResponse:
    return house.desk("ready", "/hand-back")


@state("hand-back, with errors", "counter", 422)
def _hand_back_errors(house: House) -> TestResponse:
    answer = house.desk("ready", "/hand-back")
    return house.staff.submit(answer, form=1, pickup_code="0000", paid="much", do="some-card")


@state("inspect", "counter")
def _inspect(house: House) -> TestResponse:
    return house.staff.get(f"/counter/part/{house.part('in work')}/inspect")


@state("inspect, with errors", "counter", 422)
def _inspect_errors(house: House) -> TestResponse:
    answer = house.staff.get(f"/counter/part/{house.part('in work')}/inspect")
    return house.staff.submit(answer, form=1, readings="70 eighty 90")


@state("rework", "counter")
def _rework(house: House) -> TestResponse:
    return house.staff.get(f"/counter/part/{house.part('in work')}/rework")


@state("strip run, gathering", "counter")
def _gathering(house: House) -> TestResponse:
    return house.staff.get(f"/counter/strip-runs/{house.runs['gathering']}")


@state("strip run, out", "counter")
def _out(house: House) -> TestResponse:
    return house.staff.get(f"/counter/strip-runs/{house.runs['out']}")


@state("manifest", "paper")
def _manifest(house: House) -> TestResponse:
    return house.staff.get(f"/counter/strip-runs/{house.runs['out']}/manifest")


@state("a mistyped tag", "counter")
def _mistyped(house: House) -> TestResponse:
    answer = house.staff.get("/counter/floor")
    return house.staff.get(house.staff.submit(answer, q="9999999").location)


@state("prices, with errors", "books", 422)
def _prices_errors(house: House) -> TestResponse:
    answer = house.staff.get("/books/prices")
    return house.staff.submit(answer, **{"b.minimum": "cheap", "b.wheels.bands.1.price": "?"})


@state("new powder, with errors", "books", 422)
def _powder_errors(house: House) -> TestResponse:
    return house.staff.submit(house.staff.get("/books/powders/new"))


@state("no such job", "counter", 404)
def _no_job(house: House) -> TestResponse:
    return house.staff.get("/counter/job/ZZZZ-ZZZZ")
