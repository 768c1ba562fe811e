"""The addresses of this audience in one table."""

from flask import Blueprint

from portal.web.slip import calendar_file, inspection, pages, refit

blueprint = Blueprint("slip", __name__)

for path, page in {
    "/J/<token>/slip": pages.show_slip,
    "/J/<token>/slip.pdf": pages.slip_pdf,
    "/J/<token>/tags": pages.show_tags,
    "/J/<token>/tags.pdf": pages.tags_pdf,
    "/J/<token>/inspection": inspection.show_sheet,
    "/J/<token>/inspection.pdf": inspection.sheet_pdf,
    "/J/<token>/refit": refit.show_guide,
    "/J/<token>/refit.pdf": refit.guide_pdf,
    "/J/<token>/drop-off.ics": calendar_file.drop_off,
}.items():
    blueprint.get(path)(page)
