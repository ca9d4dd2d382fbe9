"""Causes that the designer has confirmed: what the kit's fault weights learn from."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build
from builds.ui.messages.faults import fault_sentence
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.fault import Fault


class ConfirmedFault(models.Model):
    """That a build had this fault. Taken back, it stops counting and stays on record."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="confirmed_faults")
    fault = models.CharField(max_length=80)  # key in the kit's fault list
    code = models.CharField(max_length=40, default=FaultCode.OWN.value)
    params = models.JSONField(default=dict, blank=True)  # of its sentence, and `refs`, its parts
    words = models.CharField(max_length=300, blank=True)  # the designer's own, of a fault the designer added
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                "build", "fault", condition=models.Q(taken_back_at=None), name="one_confirmation_a_fault"
            )
        ]

    def __str__(self):
        return self.fault

    @classmethod
    def of(cls, fault: Fault, **fields) -> "ConfirmedFault":
        """Not saved yet."""
        params = {**fault.params, "refs": list(fault.refs)}
        return cls(fault=fault.key, code=fault.code.value, params=params, words=fault.words, **fields)

    @property
    def sentence(self) -> str:
        """What was wrong, in the reader's language; the designer's own words of a fault the designer added."""
        code, refs = FaultCode(self.code), tuple(self.params.get("refs", ()))
        if self.words or code is FaultCode.OWN:
            return self.words or self.fault
        return fault_sentence(Fault(self.fault, "", "", refs, 1.0, code=code, params=self.params))
