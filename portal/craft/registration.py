"""Where a vehicle is registered, and whether a wheel's maker allows that it is coated."""

from portal.craft.titled import Titled


class Country(Titled):
    """A country whose rules the customer can name: those we looked for, and any other."""

    GB = "GB", "United Kingdom"
    DE = "DE", "Germany"
    AT = "AT", "Austria"
    CH = "CH", "Switzerland"
    FR = "FR", "France"
    US = "US", "United States"
    OTHER = "other", "Another country"


class Permission(Titled):
    """Whether the maker of a wheel allows in writing that it is coated."""

    YES = "yes", "Yes, I have it"
    NO = "no", "No"
    UNKNOWN = "unknown", "Don't know"
