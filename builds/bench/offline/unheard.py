"""Messages for a request that no person waits for are not kept: they would stand on whichever page comes next.

A phone sends what it kept by script, hours later perhaps. "Made safe at 2.1 V" above the page of a later stop would
talk a builder out of switching off.
"""

from django.contrib.messages.storage.fallback import FallbackStorage

from builds.bench.offline.arrival import is_from_outbox


class MessagesForReaders(FallbackStorage):
    def add(self, level, message, extra_tags=""):
        if not is_from_outbox(self.request):
            super().add(level, message, extra_tags)
