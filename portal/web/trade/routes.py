"""The addresses of this audience in one table."""

from collections.abc import Callable, Mapping

from flask import Blueprint
from flask.typing import ResponseReturnValue

from portal.web.trade import door, front, invoices, lists

blueprint = Blueprint("trade", __name__, url_prefix="/firm")

Pages = Mapping[str, Callable[..., ResponseReturnValue]]
READ: Pages = {
    "": front.front,
    "/link": door.ask,
    "/<token>": door.open_page,
    "/jobs": front.jobs,
    "/jobs/<code>": front.job,
    "/prices": front.prices,
    "/invoices": invoices.invoices,
    "/invoices/<number>": invoices.invoice,
    "/invoices/<number>/pdf": invoices.one_invoice_pdf,
    "/invoices/<number>/xml": invoices.one_invoice_xml,
    "/lists/new": lists.new_list,
    "/lists/template.<any(xlsx,csv):kind>": lists.template,
    "/lists/<int:list_id>": lists.one_list,
    "/lists/<int:list_id>/booked": lists.booked,
    "/lists/<int:list_id>/slips": lists.slips,
    "/lists/<int:list_id>/slips.pdf": lists.slips_pdf,
}
SENT: Pages = {
    "/link": door.ask,
    "/<token>": door.use_link,
    "/sign-out": door.sign_out,
    "/lists/new": lists.new_list,
    "/lists/<int:list_id>": lists.change_list,
    "/lists/<int:list_id>/rows": lists.add_rows,
    "/lists/<int:list_id>/delete": lists.drop_list,
}

for path, page in READ.items():
    blueprint.get(path)(page)
for path, page in SENT.items():
    blueprint.post(path)(page)
