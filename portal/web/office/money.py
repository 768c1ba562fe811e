"""Takings and invoices in the office: lists, and tables for the bookkeeper."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from flask import Response, flash, redirect, render_template, request, url_for

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.office import bookkeeping, invoices, takings
from portal.render.csv_file import csv_file
from portal.shop.roles import Role
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import reader, render
from portal.web.kit.request_context import shop, unit

MONTH = timedelta(days=31)
SALES_HEADS = (
    *(Message("Document"), Message("Date"), Message("Job"), Message("Name"), Message("Kind")),
    *(Message("Rate in %"), Message("Net"), Message("Tax"), Message("Gross")),
    *(Message("Currency"), Message("Paid by"), Message("Account"), Message("Refers to")),
)
PAYMENT_HEADS = (
    *(Message("Date"), Message("Job"), Message("Name"), Message("Kind"), Message("Paid by")),
    *(Message("Sum"), Message("Currency"), Message("Account"), Message("Reason")),
    Message("Till closing"),
)
CLOSING_HEADS = (
    *(Message("Till closing"), Message("Date"), Message("Closed by")),
    *(Message("At the start"), Message("Cash taken"), Message("Must be in it")),
    *(Message("Counted"), Message("Difference"), Message("Taken out"), Message("Left in it")),
    *(Message("Currency"), Message("Why it differs")),
)


@require_role(Role.OFFICE)
def all_takings() -> Any:
    """List the closings of the till, and offer the bookkeeper's tables of a span of days."""
    here = unit()
    first, last = _span()
    return render_template(
        "office/takings.html",
        till=takings.till(here),
        closings=takings.closings(here),
        first=first,
        last=last,
    )


@require_role(Role.OFFICE)
def all_invoices() -> Any:
    """List the documents that were issued, the newest first."""
    typed = request.args.get("q", "").strip()
    found = invoices.found(unit(), typed)
    return render_template("office/invoices.html", found=found, typed=typed)


@require_role(Role.OFFICE)
def sales_table() -> Any:
    """Send what was charged as CSV: each rate of each document."""
    return _table("sales", SALES_HEADS, _sales_rows)


@require_role(Role.OFFICE)
def payments_table() -> Any:
    """Send what was paid as CSV."""
    return _table("payments", PAYMENT_HEADS, _payment_rows)


@require_role(Role.OFFICE)
def closings_table() -> Any:
    """Send the closings of the till as CSV."""
    rows = [
        (
            *(one.number, one.day, one.by),
            *(one.money(sum_) for sum_ in (one.count.opening, one.count.taken)),
            *(one.money(sum_) for sum_ in (one.count.expected, one.count.counted)),
            *(one.money(sum_) for sum_ in (one.count.difference, one.count.banked)),
            *(one.money(one.count.left), one.currency, one.reason),
        )
        for one in takings.closings(unit())
    ]
    return _csv("till-closings", csv_file(CLOSING_HEADS, rows, reader()))


def _sales_rows(first: date, last: date) -> Iterable[Sequence[Any]]:
    for one in bookkeeping.sales(unit(), first, last):
        ways = ", ".join(render(way) for way in one.ways)
        yield (
            *(one.number, one.day, one.codes, one.name, one.kind, one.percent),
            *(one.net, one.tax, one.gross, one.gross.currency, ways, one.account, one.refers_to),
        )


def _payment_rows(first: date, last: date) -> Iterable[Sequence[Any]]:
    for one in bookkeeping.payments(unit(), first, last):
        yield (
            *(one.day, one.code, one.name, one.kind, one.way, one.amount, one.amount.currency),
            *(one.account, one.reason, one.closing),
        )


def _table(
    name: str,
    heads: Sequence[Message],
    rows: Callable[[date, date], Iterable[Sequence[Any]]],
) -> Any:
    first, last = _span()
    try:
        body = csv_file(heads, rows(first, last), reader())
    except Refused as refusal:
        flash(render(refusal.sentence), "stop")
        return redirect(url_for("office.all_takings"), 303)
    return _csv(f"{name}-{first.isoformat()}-{last.isoformat()}", body)


def _csv(name: str, body: bytes) -> Response:
    answer = Response(body, mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer


def _span() -> tuple[date, date]:
    """Return the days of the query; without them, the last month up to today."""
    today = shop().day(unit().now())
    return _day("first", today - MONTH), _day("last", today)


def _day(name: str, otherwise: date) -> date:
    try:
        return date.fromisoformat(request.args.get(name, ""))
    except ValueError:
        return otherwise
