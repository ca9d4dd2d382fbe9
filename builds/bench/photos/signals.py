"""What the apps above are told of."""

from django.dispatch import Signal

photo_withdrawn = Signal()  # sent with `photo`, once its files are gone
