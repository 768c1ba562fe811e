"""Which browser asks, in two words: enough for a person to know their own devices again."""

# the first that a browser names counts: most of them also claim to be others
BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrom", "Chrome"),
    ("Safari", "Safari"),
)
SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("CrOS", "ChromeOS"),
    ("Mac OS", "Mac"),
    ("Linux", "Linux"),
)


def browser_words(agent: str) -> str:
    """Return browser and system of a `User-Agent` header, such as "Firefox, Linux", or ""."""
    found = (
        next((word for sign, word in signs if sign in agent), "") for signs in (BROWSERS, SYSTEMS)
    )
    return ", ".join(filter(None, found))
