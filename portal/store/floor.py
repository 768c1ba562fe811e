"""Strip runs, oven loads, inspections, powders and their stock."""

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.craft.bakes import Bake
from portal.craft.messages import Message
from portal.craft.parts import Effect
from portal.shop.states import RunState, StockReason
from portal.shop.works import InspectionRule
from portal.store.base import Base
from portal.store.types import MessageText


class StripRun(Base):
    """A batch sent out to the chemical stripper."""

    __tablename__ = "strip_run"

    id: Mapped[int] = mapped_column(primary_key=True)
    leaves_on: Mapped[date]
    back_on: Mapped[date]
    state: Mapped[RunState]
    sent_at: Mapped[datetime | None]
    returned_at: Mapped[datetime | None]


class StripRunPart(Base):
    """A part in a strip run, and whether it was counted back in."""

    __tablename__ = "strip_run_part"

    run_id: Mapped[int] = mapped_column(sa.ForeignKey("strip_run.id"), primary_key=True)
    part_id: Mapped[int] = mapped_column(sa.ForeignKey("part.id"), primary_key=True, index=True)
    counted_back: Mapped[bool] = mapped_column(default=False)


class OvenLoad(Base):
    """What was in the oven together, at which set point, from when to when.

    `minutes` as planned; `baked_min` is what was stated of a load that came out before it was
    closed here, at its temperature.
    """

    __tablename__ = "oven_load"

    id: Mapped[int] = mapped_column(primary_key=True)
    set_point_c: Mapped[int]
    minutes: Mapped[int]
    started_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    kind: Mapped[Bake] = mapped_column(default=Bake.CURE)
    baked_min: Mapped[int | None]


class OvenLoadPart(Base):
    """A part in an oven load, and which coat was cured, 0 before the first.

    `out_at` is when it was taken out of a load that went on; its heat so far counts.
    """

    __tablename__ = "oven_load_part"

    load_id: Mapped[int] = mapped_column(sa.ForeignKey("oven_load.id"), primary_key=True)
    part_id: Mapped[int] = mapped_column(sa.ForeignKey("part.id"), primary_key=True, index=True)
    coat: Mapped[int]
    out_at: Mapped[datetime | None]


class OvenLoadBatch(Base):
    """From which batch of its maker a powder in an oven load came, as its box says."""

    __tablename__ = "oven_load_batch"

    load_id: Mapped[int] = mapped_column(sa.ForeignKey("oven_load.id"), primary_key=True)
    # as the part's card names it: it may have been renamed since
    powder_code: Mapped[str] = mapped_column(sa.String(16), primary_key=True, index=True)
    batch: Mapped[str] = mapped_column(sa.String(40), index=True)


class Inspection(Base):
    """Film readings and looks of one part, accepted or not by the shop's rule."""

    __tablename__ = "inspection"

    id: Mapped[int] = mapped_column(primary_key=True)
    part_id: Mapped[int] = mapped_column(sa.ForeignKey("part.id"), index=True)
    readings_um: Mapped[list[Any]]
    rule: Mapped[InspectionRule]
    accepted: Mapped[bool]
    says: Mapped[Message] = mapped_column(MessageText)
    adhesion_class: Mapped[int | None]
    gloss_gu: Mapped[int | None]
    photo_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class PowderRow(Base):
    """A powder of the shop, as craft.parts.Powder, with its stock in grams."""

    __tablename__ = "powder"

    code: Mapped[str] = mapped_column(sa.String(16), primary_key=True)
    name: Mapped[str] = mapped_column(sa.String(80))
    lab_l: Mapped[float]
    lab_a: Mapped[float]
    lab_b: Mapped[float]
    gloss_gu: Mapped[int]
    effect: Mapped[Effect]
    ral: Mapped[str] = mapped_column(sa.String(8), default="")
    density: Mapped[float]
    film_low_um: Mapped[int]
    film_high_um: Mapped[int]
    cure_c: Mapped[int]
    cure_min: Mapped[int]
    stock_g: Mapped[int]
    box_g: Mapped[int]
    lead_days: Mapped[int]
    offered: Mapped[bool] = mapped_column(default=True)
    version: Mapped[int] = mapped_column(default=1)


class StockMove(Base):
    """Powder used, bought or counted. Only ever added."""

    __tablename__ = "stock_move"

    id: Mapped[int] = mapped_column(primary_key=True)
    powder_code: Mapped[str] = mapped_column(sa.ForeignKey("powder.code"), index=True)
    grams: Mapped[int]
    why: Mapped[StockReason]
    at: Mapped[datetime]
    part_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part.id"))
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class PowderOrder(Base):
    """Powder that was ordered and has not come yet: closed when it came, or was called off."""

    __tablename__ = "powder_order"

    id: Mapped[int] = mapped_column(primary_key=True)
    powder_code: Mapped[str] = mapped_column(sa.ForeignKey("powder.code"), index=True)
    grams: Mapped[int]
    due_on: Mapped[date]
    ordered_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
