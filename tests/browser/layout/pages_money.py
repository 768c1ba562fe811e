"""The catalogue: receipts and invoices, the till, and the bookkeeper's pages."""

from werkzeug.test import TestResponse

from tests.browser.layout.house import House
from tests.browser.layout.pages import state

RECEIPT = "/receipts/R2026-0001"


@state("receipts", "link")
def _receipts(house: House) -> TestResponse:
    return house.status("handed back", "/receipts")


@state("receipts, to come", "link")
def _receipts_to_come(house: House) -> TestResponse:
    return house.status("booked", "/receipts")


@state("receipts, with errors", "link", 422)
def _receipts_errors(house: House) -> TestResponse:
    return house.anyone.submit(_receipts_to_come(house), vat_number="GB123", name="A Garage")


@state("receipt", "paper")
def _receipt(house: House) -> TestResponse:
    return house.status("handed back", RECEIPT)


@state("receipts at the counter", "counter")
def _receipts_at_the_counter(house: House) -> TestResponse:
    return house.desk("ready", "/receipts")


@state("receipts at the counter, with errors", "counter", 422)
def _receipts_at_the_counter_errors(house: House) -> TestResponse:
    return house.staff.submit(_receipts_at_the_counter(house), form=1, name="A Garage")


@state("receipts, issued", "counter")
def _receipts_issued(house: House) -> TestResponse:
    return house.desk("handed back", "/receipts")


@state("put an invoice right", "counter")
def _correct(house: House) -> TestResponse:
    return house.desk("handed back", "/receipts/correct")


@state("put an invoice right, with errors", "counter", 422)
def _correct_errors(house: House) -> TestResponse:
    return house.staff.submit(_correct(house), form=1, name="A Garage")


@state("till", "counter")
def _till(house: House) -> TestResponse:
    return house.staff.get("/counter/till")


@state("till, with errors", "counter", 422)
def _till_errors(house: House) -> TestResponse:
    return house.staff.submit(_till(house), form=1, counted="much")


@state("closing", "counter")
def _closing(house: House) -> TestResponse:
    told = {"opening": "100", "counted": "90", "reason": "change given wrongly"}
    closed = house.staff.submit(_till(house), form=1, **told)
    return house.staff.get(closed.location)


@state("takings", "office")
def _takings(house: House) -> TestResponse:
    return house.staff.get("/office/takings")


@state("invoices", "office")
def _invoices(house: House) -> TestResponse:
    return house.staff.get("/office/invoices")


@state("what stands on invoices", "office")
def _invoicing(house: House) -> TestResponse:
    return house.staff.get("/office/invoicing")


@state("what stands on invoices, with errors", "office", 422)
def _invoicing_errors(house: House) -> TestResponse:
    return house.staff.submit(_invoicing(house), **{"b.bank.iban": "DE00"})
