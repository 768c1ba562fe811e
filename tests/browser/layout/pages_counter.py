"""The catalogue's pages of the staff: the door, the counter, the floor, the office."""

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
look("pieces", "office", "/pieces")
look("late jobs", "office", "/office/")
look("what was done", "office", "/office/doing")
look("translations", "office", "/office/translations")
look("to take away", "office", "/office/take-away")
look("powders", "office", "/office/powders")
look("powder", "office", "/office/powders/R9005-S")
look("new powder", "office", "/office/powders/new")
look("people", "office", "/office/people")
look("trade customers", "office", "/office/firms")
look("new trade customer", "office", "/office/firms/new")
look("who owes what", "office", "/office/owed")
look("person", "office", "/office/people/1")
look("letters", "office", "/office/letters")
look("letter", "office", "/office/letters/1")
look("the letters' words", "office", "/office/letters/words")
look("what if", "office", "/office/what-if")
look("what if, tried", "office", "/office/what-if?places=blast&saturday=y&days=mon")
look("out of order", "office", "/office/stations/out-of-order")
look("station hours", "office", "/office/stations/hours?station=coat")
for _kind in ("prices", "week", "stations", "place", "shop"):
    look(_kind, "office", f"/office/{_kind}")
look("editions", "office", "/office/prices/editions")


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


@state("prices, with errors", "office", 422)
def _prices_errors(house: House) -> TestResponse:
    answer = house.staff.get("/office/prices")
    return house.staff.submit(answer, **{"b.minimum": "cheap", "b.wheels.bands.1.price": "?"})


@state("new powder, with errors", "office", 422)
def _powder_errors(house: House) -> TestResponse:
    return house.staff.submit(house.staff.get("/office/powders/new"))


@state("no such job", "counter", 404)
def _no_job(house: House) -> TestResponse:
    return house.staff.get("/counter/job/ZZZZ-ZZZZ")
