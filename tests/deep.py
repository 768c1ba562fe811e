"""How thoroughly a run looks: `make test` within minutes, `make test-deep` (`DEEP=1`) at length.

A quick run tries 50 examples of a property and takes PostgreSQL where it matters; a deep one
tries ten times as many and takes both databases everywhere.
"""

import os

from hypothesis import settings

DEEP = os.environ.get("DEEP", "") not in ("", "0")
TIMES = 10 if DEEP else 1

# an example that takes long on a busy machine is not wrong
settings.register_profile("quick", max_examples=50, deadline=None)
settings.register_profile("deep", max_examples=500, deadline=None)
settings.load_profile("deep" if DEEP else "quick")


def examples(quick: int) -> settings:
    """Try so many examples in a quick run, of a property that costs much; ten times in a deep."""
    return settings(max_examples=quick * TIMES)
