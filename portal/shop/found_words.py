"""What a test of ours found, as the customer is told: how many parts, which, and what it was."""

from portal.craft.check_kinds import Found
from portal.craft.messages import Plural

# each with a form for wheels and one for other parts
FOUND = {
    Found.LEAD: (
        Plural(
            "We found lead or chromate in the old finish of one wheel (number {numbers}). We don't "
            "sand or blast it. A licensed company strips it.",
            "We found lead or chromate in the old finish of {count} wheels (numbers {numbers}). We "
            "don't sand or blast them. A licensed company strips them.",
        ),
        Plural(
            "We found lead or chromate in the old finish of one part (number {numbers}). We don't "
            "sand or blast it. A licensed company strips it.",
            "We found lead or chromate in the old finish of {count} parts (numbers {numbers}). We "
            "don't sand or blast them. A licensed company strips them.",
        ),
    ),
    Found.BENT: (
        Plural(
            "We measured the bend of one wheel (number {numbers}): it is out of true or its edge "
            "is bent.",
            "We measured the bend of {count} wheels (numbers {numbers}): they are out of true or "
            "their edges are bent.",
        ),
        Plural(
            "We measured the bend of one part (number {numbers}): it is too much.",
            "We measured the bend of {count} parts (numbers {numbers}): it is too much.",
        ),
    ),
    Found.THIN: (
        Plural(
            "We measured the face of one wheel (number {numbers}): it can't spare the metal for "
            "diamond cutting.",
            "We measured the faces of {count} wheels (numbers {numbers}): they can't spare the "
            "metal for diamond cutting.",
        ),
        Plural(
            "We measured one part (number {numbers}): it can't spare the metal for diamond "
            "cutting.",
            "We measured {count} parts (numbers {numbers}): they can't spare the metal for "
            "diamond cutting.",
        ),
    ),
    Found.SEALED: (
        Plural(
            "We found a closed hollow without a vent hole in one wheel (number {numbers}).",
            "We found closed hollows without a vent hole in {count} wheels (numbers {numbers}).",
        ),
        Plural(
            "We found a closed hollow without a vent hole in one part (number {numbers}).",
            "We found closed hollows without a vent hole in {count} parts (numbers {numbers}).",
        ),
    ),
    Found.NO_CERTIFICATE: (
        Plural(
            "One part came without a gas-free certificate (number {numbers}).",
            "{count} parts came without a gas-free certificate (numbers {numbers}).",
        ),
    )
    * 2,
    Found.NO_PERMISSION: (
        Plural(
            "There is no written permission from the maker for one wheel (number {numbers}).",
            "There is no written permission from the maker for {count} wheels (numbers {numbers}).",
        ),
        Plural(
            "There is no written permission from the maker for one part (number {numbers}).",
            "There is no written permission from the maker for {count} parts (numbers {numbers}).",
        ),
    ),
    Found.PITS: (
        Plural(
            "We found rust pits under the old finish of one part (number {numbers}).",
            "We found rust pits under the old finish of {count} parts (numbers {numbers}).",
        ),
    )
    * 2,
    Found.BORE: (
        Plural(
            "We found a scored or rusty bore in one part (number {numbers}).",
            "We found scored or rusty bores in {count} parts (numbers {numbers}).",
        ),
    )
    * 2,
    Found.CRACK: (
        Plural(
            "The crack in one part is not repaired (number {numbers}).",
            "The cracks in {count} parts are not repaired (numbers {numbers}).",
        ),
    )
    * 2,
}
# paint of colours that can be lead chromate, seen on arrival
COLOURED = (
    Plural(
        "The old paint of one wheel is yellow, orange or red (number {numbers}).",
        "The old paint of {count} wheels is yellow, orange or red (numbers {numbers}).",
    ),
    Plural(
        "The old paint of one part is yellow, orange or red (number {numbers}). It can contain "
        "lead, so we test it first.",
        "The old paint of {count} parts is yellow, orange or red (numbers {numbers}). It can "
        "contain lead, so we test it first.",
    ),
)

# what a customer wasn't sure of, once we know it
METAL_OPEN = (
    Plural(
        "You weren't sure what one wheel is made of (number {numbers}). We found: {found}.",
        "You weren't sure what {count} wheels are made of (numbers {numbers}). We found: {found}.",
    ),
    Plural(
        "You weren't sure what one part is made of (number {numbers}). We found: {found}.",
        "You weren't sure what {count} parts are made of (numbers {numbers}). We found: {found}.",
    ),
)
LAYERS_OPEN = (
    Plural(
        "You weren't sure of the old finish on one wheel (number {numbers}). We found: {found}.",
        "You weren't sure of the old finish on {count} wheels (numbers {numbers}). We found: "
        "{found}.",
    ),
    Plural(
        "You weren't sure of the old finish on one part (number {numbers}). We found: {found}.",
        "You weren't sure of the old finish on {count} parts (numbers {numbers}). We found: "
        "{found}.",
    ),
)
SIZE_OPEN = (
    Plural(
        "You weren't sure of the size of one wheel (number {numbers}). We measured: {found}.",
        "You weren't sure of the size of {count} wheels (numbers {numbers}). We measured: {found}.",
    ),
    Plural(
        "You weren't sure of the size of one part (number {numbers}). We measured: {found}.",
        "You weren't sure of the size of {count} parts (numbers {numbers}). We measured: {found}.",
    ),
)
