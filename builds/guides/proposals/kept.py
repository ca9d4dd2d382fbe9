"""What the circuit proposes for a draft, worked out once for what the draft says, in each language that asks.

It is asked for when the page is shown, shown again after a refusal, and when what was ticked is applied. Read only.
"""

import json
from functools import lru_cache

from django.utils.translation import get_language

from builds.guides.editor.edits import row_version
from builds.guides.proposals.existing import Change, propose_changes
from builds.guides.proposals.proposal import Set
from builds.guides.proposals.propose import propose
from builds.guides.proposals.ranking import ranked

ASKED = ("kit", "part", "stage", "point", "fault")  # tables that proposals follow from


def proposals_for(tables: dict, with_signals: bool = False) -> Set:
    return _proposals(_token(tables), with_signals, get_language())


def ranked_for(tables: dict) -> Set:
    """With signals, by the faults that each check adds."""
    return _ranked(_token(tables), get_language())


def changes_for(tables: dict) -> tuple[Change, ...]:
    return _changes(_token(tables), get_language())


def circuit_version(tables: dict) -> str:
    """Of what the figures of the proposals follow from: a page of proposals is of one circuit."""
    return row_version({name: tables[name] for name in ("kit", "part")})


def _token(tables: dict) -> str:
    return json.dumps({name: tables[name] for name in ASKED}, sort_keys=True, ensure_ascii=False)


@lru_cache(maxsize=8)
def _proposals(token: str, with_signals: bool, _language: str | None) -> Set:
    return propose(json.loads(token), with_signals=with_signals)


@lru_cache(maxsize=8)
def _ranked(token: str, language: str | None) -> Set:
    proposals = _proposals(token, True, language)
    return proposals if proposals.error else ranked(json.loads(token), proposals)


@lru_cache(maxsize=8)
def _changes(token: str, _language: str | None) -> tuple[Change, ...]:
    return propose_changes(json.loads(token))
