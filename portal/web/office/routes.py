"""The addresses of the office in one table; every page needs the office's role."""

from flask import Blueprint

from portal.web.office import (
    bookings,
    documents,
    firms,
    letters,
    log,
    money,
    months,
    out_of_order,
    people,
    policies,
    powders,
    record,
    station_hours,
    translations,
    what_if,
)

blueprint = Blueprint("office", __name__, url_prefix="/office")

BOTH = ("GET", "POST")
for rule, name, view, methods in (
    ("/", "late", record.late, ("GET",)),
    ("/bookings", "open_bookings", bookings.open_bookings, BOTH),
    ("/what-if", "what_if", what_if.what_if, ("GET",)),
    ("/doing", "doing", log.doing, ("GET",)),
    ("/take-away", "take_away", record.take_away, ("GET",)),
    ("/take-away/<name>.csv", "table", record.table, ("GET",)),
    ("/take-away/everything.zip", "everything", record.everything, ("GET",)),
    ("/invoices", "all_invoices", money.all_invoices, ("GET",)),
    ("/takings", "all_takings", money.all_takings, ("GET",)),
    ("/takings/sales.csv", "sales_table", money.sales_table, ("GET",)),
    ("/takings/payments.csv", "payments_table", money.payments_table, ("GET",)),
    ("/takings/closings.csv", "closings_table", money.closings_table, ("GET",)),
    ("/owed", "owed", firms.owed, ("GET",)),
    ("/firms", "firms", firms.firms, ("GET",)),
    ("/firms/new", "new_firm", firms.new_firm, BOTH),
    ("/firms/<int:firm_id>", "firm", firms.firm, ("GET",)),
    ("/firms/<int:firm_id>/act", "act_on_firm", firms.act, ("POST",)),
    ("/firms/<int:firm_id>/data", "firm_data", firms.firm_data, BOTH),
    ("/firms/<int:firm_id>/prices", "firm_prices", firms.firm_prices, BOTH),
    ("/firms/<int:firm_id>/months/<name>", "month", months.month, BOTH),
    ("/months/<number>", "firm_invoice", months.firm_invoice, BOTH),
    ("/months/<number>/remind", "remind_firm", months.remind_firm, ("POST",)),
    ("/months/<number>/cancel", "cancel_firm_invoice", months.cancel_firm_invoice, BOTH),
    (
        "/months/<number>/payments/<int:payment_id>",
        "reverse_firm_payment",
        months.reverse_firm_payment,
        BOTH,
    ),
    ("/months/<number>/paper", "firm_paper", months.firm_paper, ("GET",)),
    ("/months/<number>/paper.pdf", "firm_pdf", months.firm_pdf, ("GET",)),
    ("/months/<number>/paper.xml", "firm_xml", months.firm_xml, ("GET",)),
    ("/powders", "powders", powders.powders, ("GET",)),
    ("/powders/new", "new_powder", powders.new_powder, BOTH),
    ("/powders/<code>", "powder", powders.powder, BOTH),
    ("/people", "people", people.people, BOTH),
    ("/people/<int:number>", "person", people.person, BOTH),
    ("/letters", "letters", letters.letters, BOTH),
    ("/letters/<int:number>", "letter", letters.letter, BOTH),
    ("/letters/words", "words", letters.words, BOTH),
    ("/translations", "translations", translations.translations, BOTH),
    ("/<any(privacy, terms):kind>", "policy", policies.policy, BOTH),
    ("/stations/out-of-order", "out_of_order", out_of_order.out_of_order, BOTH),
    ("/stations/hours", "station_hours", station_hours.station_hours, BOTH),
    (
        "/<any(prices, week, stations, place, shop, invoicing):kind>",
        "document",
        documents.document,
        BOTH,
    ),
    (
        "/<any(prices, week, stations, place, shop, invoicing):kind>/editions",
        "editions",
        documents.editions,
        ("GET",),
    ),
):
    blueprint.add_url_rule(rule, name, view, methods=methods)
