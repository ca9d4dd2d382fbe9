"""What the circuit model makes of a guide."""

from django.db import models
from django.utils import timezone


class CircuitFigures(models.Model):
    """Computed once for a circuit and its checks, by a hash of their content: revisions with the same circuit share it.

    `detail` holds {"checks": {"stage/check": figure}, "stresses": [...], "problems": [...], "samples": n}; never
    changed.
    """

    key = models.CharField(max_length=64, unique=True)
    detail = models.JSONField()
    made_at = models.DateTimeField(default=timezone.now)

    def __str__(self):
        return self.key[:12]


class StoredFaultDictionary(models.Model):
    """What every fault of a circuit would read at every place, prepared once (see circuit/book.py); `data` is a numpy
    archive."""

    key = models.CharField(max_length=64, unique=True)
    data = models.BinaryField()
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        db_table = "guides_faultbook"

    def __str__(self):
        return self.key[:12]
