"""Findings and proposals as templates show them: the codes of checks/ with their sentences."""

from dataclasses import dataclass

from builds.ui.messages.findings import alternatives, claim, description
from builds.ui.messages.proposed_bands import basis, find_limit, why_withheld
from checks.statistics.agreement import Agreement
from checks.statistics.findings import CheckFinding, Kind
from checks.statistics.tolerance import Proposal, Withheld


@dataclass(frozen=True)
class ReadableFinding(CheckFinding):
    """`agreement`: do guide, circuit and builds agree about the check? A circuit that is with the guide turns what the
    builds alone would say of its figure."""

    agreement: Agreement | None = None

    @property
    def claim(self) -> str:
        return claim(self, self.agreement.verdict if self.agreement else "")

    @property
    def description(self) -> str:
        return description(self)

    @property
    def alternatives(self) -> str:
        return alternatives(self)

    @property
    def has_claim(self) -> bool:
        """Is there anything to decide on?"""
        return self.kind not in (Kind.FITS, Kind.NOT_ENOUGH)

    @property
    def is_about_builds(self) -> bool:
        """Is it about some of the builds, so that it gives no reason to change the guide's figures?"""
        return self.kind in (Kind.BATCH, Kind.SINGLES, Kind.SEVERAL)

    @property
    def is_about_figures(self) -> bool:
        return self.kind in (Kind.FIGURE_OFF, Kind.TOO_TIGHT)


class ReadableProposal(Proposal):
    @property
    def limit_text(self) -> str:
        return find_limit(self)

    @property
    def basis(self) -> str:
        return basis(self)


class ReadableWithheld(Withheld):
    @property
    def reason_text(self) -> str:
        return why_withheld(self)


def readable(proposal: Proposal | Withheld | None) -> ReadableProposal | ReadableWithheld | None:
    if proposal is None:
        return None
    return (ReadableProposal if isinstance(proposal, Proposal) else ReadableWithheld)(**vars(proposal))
