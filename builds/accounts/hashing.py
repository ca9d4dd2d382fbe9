"""Hashing passwords in bounded memory: an attacker who signs in a hundred times at once must not fill the machine."""

from threading import BoundedSemaphore

from django.contrib.auth.hashers import Argon2PasswordHasher

AT_ONCE = 2  # in a process; the others wait their turn
_turns = BoundedSemaphore(AT_ONCE)


class ModestArgon2(Argon2PasswordHasher):
    """Argon2id with 19 MiB, two passes and one lane: the least that the OWASP Password Storage Cheat Sheet asks for
    (figures from memory). A password hashed with more before is hashed again at the next sign-in."""

    memory_cost, time_cost, parallelism = 19 * 1024, 2, 1

    def encode(self, password, salt):
        with _turns:
            return super().encode(password, salt)

    def verify(self, password, encoded):
        with _turns:
            return super().verify(password, encoded)
