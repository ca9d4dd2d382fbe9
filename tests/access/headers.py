"""What every answer's headers must say: what a browser, a proxy and another site may keep of it or do with it."""

PAPERS = (
    "bag-labels build-parts build-record changes-csv csv fetch-archive guide-html guide-pdf json packing-slip "
    "parts-pdf pdf specification-json specification-pdf stage-pdf worksheet-pdf"
)
FILES = {f"reports:{name}" for name in PAPERS.split()} | {"guides:export", "guides:picture", "guides:schematic-file"}
FILES |= {"bench:photo", "bench:picture", "bench:schematic-file", "bench:signal"}  # names of addresses that give a file
SHOWN = ("image/png", "image/jpeg", "image/svg+xml")  # in a page, by its address; all other files are saved
DATA = ("application/json", "application/manifest+json")  # read by scripts and programs
TEXTS = ("text/html", "text/javascript", "text/plain", "application/openmetrics-text")


def kind_of(answer) -> str:
    return answer.get("Content-Type", "").partition(";")[0]


def is_file(answer) -> bool:
    """Something a browser shows or saves by itself, such as a photo, a paper or an export."""
    return bool(kind_of(answer)) and kind_of(answer) not in (*TEXTS, *DATA) or is_saved(answer)


def is_saved(answer) -> bool:
    return answer.get("Content-Disposition", "").startswith("attachment")


def faults_of(answer, is_private: bool) -> list[str]:
    """Codes of what this answer's headers leave open. `is_private`: it is for somebody who is signed in."""
    cached = {part.strip() for part in answer.get("Cache-Control", "").split(",")}
    asked_again = {"private", "no-cache"} <= cached  # may be kept by the one browser, which asks before it shows it
    policy = answer.get("Content-Security-Policy", "")
    return [
        code
        for code, is_fault in {
            "kept": is_private and not ("no-store" in cached or asked_again),
            "kept-unnamed": asked_again and is_file(answer) and answer.status_code == 200 and "ETag" not in answer,
            "shared": "public" in cached,
            "embedded": answer.get("Cross-Origin-Resource-Policy") != "same-origin",
            "framed": answer.get("X-Frame-Options") != "DENY" or "frame-ancestors 'none'" not in policy,
            "scripted": "default-src 'self'" not in policy or "unsafe" in policy or "object-src 'none'" not in policy,
            "guessed": answer.get("X-Content-Type-Options") != "nosniff",
            "sensed": "geolocation=()" not in answer.get("Permissions-Policy", ""),
            "named-to-others": answer.get("Referrer-Policy") != "same-origin",
            "opened-as-page": is_file(answer) and kind_of(answer) not in SHOWN and not is_saved(answer),
        }.items()
        if is_fault
    ]
