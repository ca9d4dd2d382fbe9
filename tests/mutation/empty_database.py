"""The test that a nursery runs so that the database is made (nursery.py). By its name no other run collects it."""

import pytest


@pytest.mark.django_db
def test_that_the_database_is_made(db):
    assert db is None
