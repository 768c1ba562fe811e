"""Care of a coating, and what the use of the parts changes in the advice.

The rules are in `data/care.toml`, with their sources.
"""

from collections.abc import Mapping
from typing import Any

from portal.craft.answers import RefitStep
from portal.craft.facts import facts_of, holds
from portal.craft.messages import Message
from portal.craft.parts import PartSet, Usage
from portal.craft.tables import sentence, toml_table

_TABLE: Mapping[str, Any] = toml_table("care.toml")
_USES: Mapping[str, Mapping[str, Any]] = {row["name"]: row for row in _TABLE["use"]}
# these see sun and rain all year, however they are driven
_OUTDOORS = frozenset({Usage.EVERYDAY, Usage.WINTER, Usage.OFF_ROAD})


def washing() -> Message:
    """Return when and how a coating may be washed."""
    return sentence(_TABLE["washing"]["says"])


def washing_never() -> Message:
    """Return what a coating never bears."""
    return sentence(_TABLE["washing"]["never"])


def care_steps(usage: Usage | None) -> tuple[RefitStep, ...]:
    """Return the last steps of the guide: how to wash, and what this use asks for."""
    row = _TABLE["washing"]
    both = Message("{washing} {never}", washing=washing(), never=washing_never())
    steps = [RefitStep("care", Message(row["title"]), both, source=Message(row["source"]))]
    if usage is not None:
        use = _USES[usage]
        own = RefitStep(
            "use", Message(use["title"]), Message(use["care"]), source=Message(use["source"])
        )
        steps.append(own)
    return tuple(steps)


def advice(usage: Usage | None, part_set: PartSet) -> tuple[Message, ...]:
    """Return the advice about a set's finish for its use; none where the use is unknown."""
    if usage is None or part_set.finish is None:
        return ()
    gloss = frozenset({part_set.finish.gloss})
    facts = {**facts_of(part_set), "gloss": gloss}
    found = [Message(r["says"]) for r in _USES[usage].get("advice", ()) if holds(r["when"], facts)]
    if usage in _OUTDOORS:
        found.append(sentence(_TABLE["outdoors"]["says"]))
    return tuple(found)
