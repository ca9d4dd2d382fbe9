"""What a browser calls itself, in words that tell its owner's devices apart."""

from django.utils.translation import gettext as _

# The first that is found: some call themselves by several names.
BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("FxiOS/", "Firefox"),
    ("CriOS/", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)
SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("CrOS", "ChromeOS"),
    ("Windows", "Windows"),
    ("Macintosh", "macOS"),
    ("Linux", "Linux"),
)


def device_words(agent: str) -> str:
    """ "Firefox, Android"; what it sent, cut short, where that is neither."""
    names = [next((name for mark, name in kinds if mark in agent), "") for kinds in (BROWSERS, SYSTEMS)]
    return ", ".join(filter(None, names)) or agent[:40] or _("Unknown browser")
