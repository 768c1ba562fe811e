"""An assessment as JSON, so that an old job still says what it said: its parts, tests, conditions.

What was declared and the price have columns of their own; they are handed in again on reading.
Of the finishes that an open colour can become only the one that takes longest to come is kept:
what can be chosen is asked anew on the day on which it is.

What is kept outlives the release that kept it: a field that goes is skipped on reading, and one
that is added needs a default.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from portal.craft import reading
from portal.craft.answers import Appraisal, Caution, SetAppraisal
from portal.craft.checks import needed
from portal.craft.facts import facts_of
from portal.craft.parts import Declared, FinishChoice, PartSet
from portal.shop.assessment.assess import Assessment
from portal.shop.pricing.quote import Quote
from portal.shop.scheduling.stations import read_work, write_work

# of an appraised set these two are written and read in ways of their own
DECLARED, POSSIBLE = "part_set", "possible"


def write_assessment(order: Assessment) -> dict[str, Any]:
    """Return what was said of an order as plain JSON values."""
    return {
        "cautions": [reading.write(one, all_of_it=True) for one in order.appraisal.cautions],
        "sets": [_write_set(one) for one in order.sets],
        "work": {key: write_work(work) for key, work in order.work.items()},
    }


def read_assessment(stored: Mapping[str, Any], declared: Declared, quote: Quote) -> Assessment:
    """Return what `write_assessment` kept, of the order that was declared at that price."""
    sets = tuple(
        _read_set(one, own) for one, own in zip(stored["sets"], declared.sets, strict=True)
    )
    cautions = tuple(reading.read(Caution, one) for one in stored["cautions"])
    return Assessment(
        declared=declared,
        appraisal=Appraisal(sets, cautions, declared.bringing),
        quote=quote,
        work={key: read_work(work) for key, work in stored["work"].items()},
    )


def _write_set(one: SetAppraisal) -> dict[str, Any]:
    written = reading.write(one, all_of_it=True, but=(DECLARED, POSSIBLE))
    if one.possible:
        longest = max(one.possible, key=lambda answer: answer.powder_days)
        finish = longest.part_set.finish
        written[POSSIBLE] = {
            **_write_set(longest),
            DECLARED: finish and reading.write(finish, all_of_it=True),
        }
    return written


def _read_set(stored: Mapping[str, Any], own: PartSet) -> SetAppraisal:
    longest = stored.get(POSSIBLE)
    possible: tuple[SetAppraisal, ...] = ()
    if longest:
        finish = longest[DECLARED] and reading.read(FinishChoice, longest[DECLARED])
        possible = (_read_set(longest, replace(own, finish=finish)),)
    more: dict[str, Any] = {DECLARED: own, POSSIBLE: possible}
    if "checks" not in stored:
        # kept before checks were: what was told then still has to be done
        more["checks"] = needed(facts_of(own), {one["key"] for one in stored["cautions"]})
    return reading.read(SetAppraisal, {**stored, **more})
