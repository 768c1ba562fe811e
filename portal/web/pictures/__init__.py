"""The three pictures that carry the portal, and the part drawings: data in, SVG out.

Nothing here knows a request, a clock or a database. No inline style, presentation attributes only,
so that a picture passes the strictest content policy and prints as it is shown.
"""
