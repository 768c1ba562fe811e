"""The addresses of this audience in one table."""

from flask import Blueprint

from portal.web.slip import pages, tyre_shop

blueprint = Blueprint("slip", __name__)

for path, page in {
    "/J/<token>/slip": pages.show_slip,
    "/J/<token>/slip.pdf": pages.slip_pdf,
    "/J/<token>/tags": pages.show_tags,
    "/J/<token>/tags.pdf": pages.tags_pdf,
    "/J/<token>/inspection": pages.show_sheet,
    "/J/<token>/inspection.pdf": pages.sheet_pdf,
    "/J/<token>/refit": pages.show_guide,
    "/J/<token>/refit.pdf": pages.guide_pdf,
    "/J/<token>/drop-off.ics": pages.drop_off,
    "/J/<token>/tyre-shop": tyre_shop.show_tyre_shop,
    "/J/<token>/tyre-shop.pdf": tyre_shop.tyre_shop_pdf,
    "/J/<token>/tyre-shop.ics": tyre_shop.tyre_shop_day,
}.items():
    blueprint.get(path)(page)
