"""Powder: coverage, film, mass, boxes, and whether the stock bears a colour.

Coverage [m²/kg] = 1000 ÷ (density g/cm³ × film µm) × transfer (consultancy knowledge base
chemquest.com/?p=4283); [ft²/lb] = 192.3 ÷ (specific gravity × mil)
(powdercoatingonline.com/powder-coating-coverage-chart). 192.3 is rounded; exact units give 192.22.
Transfer is the share of the sprayed powder that ends on the part, 0 to 1: about 0.5–0.6 sprayed
to waste, 0.65–0.85 with reclaim (same sources).
"""

import math

from portal.craft.answers import Coat, PowderNeed
from portal.craft.colour_names import ColourName
from portal.craft.messages import CraftError, Message, Plural
from portal.craft.parts import Powder
from portal.craft.quantities import Quantity, Unit, fixed

ORDERED = Plural(
    "About {kg} of {name}. We have {stock}, so we order more: {count} working day.",
    "About {kg} of {name}. We have {stock}, so we order more: {count} working days.",
)


def coverage_m2_per_kg(density: float, film_um: float, transfer: float = 1.0) -> float:
    """Return the area in m² that 1 kg covers; density in g/cm³, film in µm."""
    _positive(density, film_um)
    return 1000 / (density * film_um) * _share(transfer)


def mass_kg(area_m2: float, film_um: float, density: float, transfer: float) -> float:
    """Return the powder to spray in kg for a film of `film_um` on `area_m2`."""
    _positive(area_m2)
    return area_m2 / coverage_m2_per_kg(density, film_um, transfer)


def film_um(sprayed_kg: float, area_m2: float, density: float, transfer: float) -> float:
    """Return the film in µm that `sprayed_kg` builds on `area_m2`."""
    _positive(sprayed_kg, area_m2, density)
    return sprayed_kg * _share(transfer) * 1000 / (area_m2 * density)


def boxes(kg: float, box_kg: float) -> int:
    """Return how many whole boxes hold `kg`; 0 for 0 kg."""
    _positive(box_kg)
    # a gram more than a full box is a rounding error of ours, not a second box
    return max(0, math.ceil(round(kg / box_kg, 4)))


def need(coat: Coat, area_m2_total: float, transfer: float) -> PowderNeed:
    """Return the powder that one coat of a whole set needs, and how the stock stands.

    `area_m2_total` is all parts of the set; the coat's own share of it and the middle of its film
    range are used. Without enough in stock the colour waits for the next delivery.
    """
    powder = coat.powder
    middle = sum(coat.film_um) / 2
    kg = mass_kg(area_m2_total * coat.share, middle, powder.density, transfer)
    short = kg - powder.stock_kg
    if short <= 0:
        said = Message(
            "About {kg} of {name}, in stock.", kg=_mass(kg), name=ColourName(powder.name)
        )
        return PowderNeed(powder, kg, 0, 0, said)
    count = boxes(short, powder.box_kg)
    return PowderNeed(powder, kg, count, powder.lead_days, _short(powder, kg))


def _short(powder: Powder, kg: float) -> Message:
    return ORDERED.of(
        powder.lead_days,
        kg=_mass(kg),
        name=ColourName(powder.name),
        stock=_mass(powder.stock_kg),
    )


def _mass(kg: float) -> Quantity:
    return Quantity(fixed(kg, 1 if kg >= 0.1 else 2), Unit.KG)


def _positive(*values: float) -> None:
    if not all(math.isfinite(value) and value > 0 for value in values):
        raise CraftError(Message("Area, film thickness and density must be above 0."))


def _share(transfer: float) -> float:
    if not 0 < transfer <= 1:
        raise CraftError(
            Message("Enter the transfer efficiency as a share between 0 and 1."), key="transfer"
        )
    return transfer
