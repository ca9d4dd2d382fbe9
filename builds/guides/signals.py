"""What the apps above are told of."""

from django.dispatch import Signal

revision_issued = Signal()  # sent with `revision`, inside the transaction that freezes it
