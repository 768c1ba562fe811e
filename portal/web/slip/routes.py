"""The addresses of this audience in one table."""

from flask import Blueprint

from portal.web.slip import pages

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
}.items():
    blueprint.get(path)(page)
