"""Running numbers: each series counts without gaps, and no number is given twice."""

from datetime import date

from portal.shop.invoicing.document import InvoiceKind
from portal.shop.invoicing.settings import Numbers, Renewal


def series_of(kind: InvoiceKind, numbers: Numbers, day: date) -> str:
    """Return the series that a document of `day` is counted in; its number begins with it."""
    begins = {
        InvoiceKind.DEPOSIT: numbers.deposit,
        InvoiceKind.CREDIT_NOTE: numbers.credit,
    }.get(kind, numbers.invoice)
    if numbers.renewal is Renewal.YEARLY:
        return f"{begins}{day.year}-"
    return f"{begins}-" if begins and begins[-1].isalnum() else begins


def number_of(series: str, count: int, numbers: Numbers) -> str:
    """Return the whole number as it is printed, such as R2026-0007."""
    return f"{series}{count:0{numbers.digits}}"
