"""The pages of a garage: the way in, what it sees first, its lists, its papers."""

from werkzeug.test import TestResponse

from tests.browser.layout.house import Browser, House, a_browser
from tests.browser.layout.pages import state
from tests.firms import a_firm
from tests.garage import HEAD, TEN, TWO_BAD, fields_of, link_of, paste
from tests.page import Page

ROOM = "link"


def garage(house: House) -> Browser:
    """Return the browser of one garage, whose page was opened once."""
    if "garage" not in house.browsers:
        client = a_browser(house.app)
        path = link_of(house.app, house.unit, a_firm(house.unit, limit_minor=900_000))
        client.post(path, data=Page(client.get(path).text).fields(0))
        booked = paste(client, TEN)
        data = fields_of(Page(client.get(booked).text), booked)
        client.post(booked, data=data | {"do": "book", "confirmed": "y"})
        house.browsers["garage"] = client
        house.paths["booked"] = booked
        house.paths["draft"] = paste(client, TWO_BAD)
    return house.browsers["garage"]


def look_in(name: str, path: str) -> None:
    state(name, ROOM)(lambda house: garage(house).get(path))


look_in("garage", "/firm")
look_in("garage, jobs", "/firm/jobs")
look_in("garage, no such job", "/firm/jobs?q=nothing+like+it")
look_in("garage, prices", "/firm/prices")
look_in("garage, invoices", "/firm/invoices")
look_in("garage, new list", "/firm/lists/new")


@state("garage, asks for a link", ROOM)
def ask(house: House) -> TestResponse:
    return house.anyone.get("/firm/link")


@state("garage, asks for a link, with errors", ROOM, 422)
def ask_wrong(house: House) -> TestResponse:
    data = Page(house.anyone.get("/firm/link").text).fields(0)
    return house.anyone.post("/firm/link", data=data | {"email": ""})


@state("garage, link is sent", ROOM)
def asked(house: House) -> TestResponse:
    data = Page(house.anyone.get("/firm/link").text).fields(0)
    return house.anyone.post("/firm/link", data=data | {"email": "nobody@example.com"})


@state("garage, opens its link", ROOM)
def opens(house: House) -> TestResponse:
    return house.anyone.get("/firm/" + "A" * 26)


@state("garage, new list, with errors", ROOM, 422)
def new_list_wrong(house: House) -> TestResponse:
    client = garage(house)
    data = fields_of(Page(client.get("/firm/lists/new").text), "/firm/lists/new")
    return client.post("/firm/lists/new", data=data | {"text": ""})


@state("garage, a list with two bad rows", ROOM)
def bad_list(house: House) -> TestResponse:
    client = garage(house)
    return client.get(house.paths["draft"])


@state("garage, a good list", ROOM)
def good_list(house: House) -> TestResponse:
    client = garage(house)
    if "good" not in house.paths:
        house.paths["good"] = paste(client, f"{HEAD}\nOrder 77;4;18;cast;original;RAL 9005;satin")
    return client.get(house.paths["good"])


@state("garage, booked", ROOM)
def booked(house: House) -> TestResponse:
    client = garage(house)
    return client.get(f"{house.paths['booked']}/booked")


@state("garage, slips", "paper")
def slips(house: House) -> TestResponse:
    client = garage(house)
    return client.get(f"{house.paths['booked']}/slips")
