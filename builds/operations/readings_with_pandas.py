"""Load all readings of a revision into a pandas table and print the middle reading of each check.

    KIT_BUILDS_TOKEN=… python builds/operations/readings_with_pandas.py https://kits.example five-watt A

Make the token on your account page (it needs "read"). Needs pandas.
"""

import json
import os
import sys
from urllib.request import Request, urlopen

import pandas


def items(address: str, token: str):
    """All items, page after page."""
    while address:
        request = Request(address, headers={"Authorization": f"Bearer {token}"})
        with urlopen(request, timeout=30) as answer:
            page = json.load(answer)
        yield from page["items"]
        address = page["next"]


def load_readings(site: str, kit: str, letter: str, token: str) -> pandas.DataFrame:
    table = pandas.DataFrame(items(f"{site}/api/v1/kits/{kit}/{letter}/readings", token))
    if not table.empty:
        table["at"] = pandas.to_datetime(table["at"])
    return table


def main() -> None:
    site, kit, letter = sys.argv[1:]
    table = load_readings(site, kit, letter, os.environ["KIT_BUILDS_TOKEN"])
    print(table.groupby(["stage", "check"])["value"].describe()[["count", "50%", "min", "max"]])


if __name__ == "__main__":
    main()
