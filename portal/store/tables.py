"""Every table, imported once, so that the metadata is whole. Alembic and the tests read this."""

from portal.shop.roles import Role
from portal.store.base import Base
from portal.store.bookings import Booking, PromiseMade
from portal.store.checks import PartCheck
from portal.store.drafts import Draft, IdempotencyKey, Photo
from portal.store.firms import (
    Firm,
    FirmInvoice,
    FirmLink,
    FirmList,
    FirmPayment,
    FirmPaymentEntry,
    FirmPrice,
    FirmSession,
)
from portal.store.floor import (
    Inspection,
    OvenLoad,
    OvenLoadBatch,
    OvenLoadPart,
    PowderOrder,
    PowderRow,
    StockMove,
    StripRun,
    StripRunPart,
)
from portal.store.floors import SimulatedFloor
from portal.store.invoices import (
    Billing,
    Invoice,
    InvoiceBuyer,
    InvoiceJob,
    NumberSeries,
    TillClosing,
    TillEntry,
)
from portal.store.jobs import (
    Customer,
    Finding,
    HardwareBag,
    Job,
    JobForecast,
    JobNote,
    Part,
    Tag,
)
from portal.store.ledger import LedgerEntry
from portal.store.letters import Heartbeat, Letter, TellingChoice
from portal.store.moves import Move
from portal.store.people import (
    Audit,
    HeldForm,
    KnownDevice,
    Person,
    RecoveryCode,
    SecretFingerprint,
    SettingsEdition,
    SignInTry,
    StaffSession,
)
from portal.store.preparing import TakenOff
from portal.store.push import PushKey, PushSubscription
from portal.store.questions import EndedDraft, Question
from portal.store.threads import Thread, ThreadEntry

__all__ = [
    "Audit",
    "Base",
    "Billing",
    "Booking",
    "Customer",
    "Draft",
    "EndedDraft",
    "Finding",
    "Firm",
    "FirmInvoice",
    "FirmLink",
    "FirmList",
    "FirmPayment",
    "FirmPaymentEntry",
    "FirmPrice",
    "FirmSession",
    "HardwareBag",
    "Heartbeat",
    "HeldForm",
    "IdempotencyKey",
    "Inspection",
    "Invoice",
    "InvoiceBuyer",
    "InvoiceJob",
    "Job",
    "JobForecast",
    "JobNote",
    "KnownDevice",
    "LedgerEntry",
    "Letter",
    "Move",
    "NumberSeries",
    "OvenLoad",
    "OvenLoadBatch",
    "OvenLoadPart",
    "Part",
    "PartCheck",
    "Person",
    "Photo",
    "PowderOrder",
    "PowderRow",
    "PromiseMade",
    "PushKey",
    "PushSubscription",
    "Question",
    "RecoveryCode",
    "Role",
    "SecretFingerprint",
    "SettingsEdition",
    "SignInTry",
    "SimulatedFloor",
    "StaffSession",
    "StockMove",
    "StripRun",
    "StripRunPart",
    "Tag",
    "TakenOff",
    "TellingChoice",
    "Thread",
    "ThreadEntry",
    "TillClosing",
    "TillEntry",
]
