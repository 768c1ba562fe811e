"""What can be wrong with a part after its coat, and how each fault is put right.

The table is common practice, but adhesion: the quality label for coated aluminium accepts class 0
alone (§2.4, as remembered), and a coat that does not hold can carry no other.
"""

from collections.abc import Mapping

from portal.craft.messages import Message
from portal.craft.titled import Titled
from portal.shop.redo import Redo
from portal.shop.route import BARED, ROUTE, PartPlan, PartStage


class Fault(Titled):
    """A fault that somebody names; `redo` is how it is put right."""

    redo: Redo

    THIN = "thin", "Coating too thin", Redo.FURTHER_COAT
    GLOSS = "gloss", "Gloss not as ordered", Redo.FURTHER_COAT
    RUN = "run", "Run or sag", Redo.RUB_DOWN
    DIRT = "dirt", "Dirt in the coating", Redo.RUB_DOWN
    SURFACE = "surface", "Rough or uneven surface", Redo.RUB_DOWN
    CHIPPED = "chipped", "Chipped or scratched", Redo.RUB_DOWN
    SOFT = "soft", "Not baked enough", Redo.BAKE
    ADHESION = "adhesion", "Coating comes off", Redo.BARE
    THICK = "thick", "Coating too thick", Redo.BARE
    PINHOLES = "pinholes", "Pinholes (gas from the metal)", Redo.BARE
    COLOUR = "colour", "Wrong colour", Redo.BARE
    WAITED = "waited", "Too long between blast and coat", Redo.BLAST
    OTHER = "other", "Something else", Redo.BARE

    def __new__(cls, value: str, title: str = "", redo: Redo = Redo.BARE) -> "Fault":
        """Bind the shown title and the kind of rework to the stored value."""
        member = str.__new__(cls, value)
        member._value_ = value
        member.title = title
        member.redo = redo
        return member

    def target(self, plan: PartPlan) -> PartStage:
        """Return the stage at which this fault of a part is put right."""
        return redo_from(self.redo, plan)

    def said(self, words: str) -> Message:
        """Return the fault with what somebody wrote beside it."""
        if not words:
            return Message(self.title)
        return Message("{fault}: {words}", fault=self, words=words)


# what the next hands do: powder holds on a cured coat that was scuffed; a coat that does not hold
# must come off
HOW: Mapping[Redo, Message] = {
    Redo.FURTHER_COAT: Message(
        "Scuff the whole surface. Don't blast it. Then spray one more coat."
    ),
    Redo.RUB_DOWN: Message(
        "Rub the fault down until it is smooth, and scuff the rest. Don't blast it. Then spray one "
        "more coat."
    ),
    Redo.BAKE: Message("Bake it again at the powder's own temperature and time. No new coat."),
    Redo.BARE: Message("Take the coating off down to the metal. Then all coats again."),
    Redo.BLAST: Message("Blast it again. Touch it with clean gloves only, and coat it at once."),
}
# of those that come back, the share of each kind of rework: common practice
REDO_MIX: Mapping[Redo, float] = {
    Redo.FURTHER_COAT: 0.25,
    Redo.RUB_DOWN: 0.45,
    Redo.BAKE: 0.05,
    Redo.BARE: 0.25,
}
# minutes by hand before the booth, beside those of the coat itself: common practice
BENCH_MINUTES: Mapping[Redo, float] = {Redo.FURTHER_COAT: 8.0, Redo.RUB_DOWN: 15.0}


def redo_from(redo: Redo, plan: PartPlan) -> PartStage:
    """Return the stage at which a kind of rework begins for a part with this plan."""
    begins = (one for one in ROUTE if redo in one.row.redo and plan.asks_for(one))
    return next(begins, BARED)  # a part without a coat has nothing to keep


def coats_kept(stage: PartStage, coats_done: int, target: PartStage) -> int:
    """Return how many coats count as done when a part goes back from `stage` to `target`.

    From bare metal on there are none. Otherwise the last coat is sprayed, or baked, again: the
    one that waits for its cure, or where all have theirs the last of them.
    """
    if not target.row.per_coat:
        return 0
    return coats_done if stage.row.per_coat else max(coats_done - 1, 0)


def faults_for(stage: PartStage, plan: PartPlan) -> tuple[Fault, ...]:
    """Return the faults for which a part that stands at a stage can be sent back."""
    if not stage.may_be_reworked:
        return ()
    return tuple(one for one in Fault if one.target(plan).is_before(stage))
