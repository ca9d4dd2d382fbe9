"""Names that a reader takes for one are one, at sign-up and at sign-in. NFKC: Unicode Standard Annex 15; letters that
look alike: Unicode Technical Standard 39, by the package confusable-homoglyphs."""

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from builds.accounts.forms import NewPersonForm
from builds.accounts.names import clean_name, name_key
from tests import factories

PASSWORDS = {"password": factories.PASSWORD, "password_again": factories.PASSWORD}


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["山田１", "x²", "ﬁona", "Ａnna", "Zoë", "Builder 60"])
def test_whoever_can_sign_up_can_sign_in_again(name):
    form = NewPersonForm({"display_name": name} | PASSWORDS)
    assert form.is_valid(), form.errors
    factories.make_builder(name=form.cleaned_data["display_name"])
    for typed in (name, clean_name(name), name.upper()):
        answer = Client().post(reverse("accounts:sign-in"), {"username": typed, "password": factories.PASSWORD})
        assert answer.status_code == 302, typed


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["builder 61", "Вuilder 61", "Builder б1", "Ｂuilder 61", "Builder  61", "Builder 6l"])
def test_a_name_that_looks_like_anothers_is_taken(name):
    factories.make_builder(name="Builder 61")
    form = NewPersonForm({"display_name": name} | PASSWORDS)
    assert not form.is_valid() and form.errors.as_data()["display_name"][0].code == "taken"


@pytest.mark.django_db
def test_a_password_like_the_new_name_is_refused():
    same = {"password": "Bench Sixty-two", "password_again": "Bench Sixty-two"}
    assert not NewPersonForm({"display_name": "Bench Sixty-two"} | same).is_valid()


def test_names_that_differ_have_keys_that_differ():
    keys = {name_key(name) for name in ("Builder 02", "Builder 20", "Builder 12", "Anna", "Hanna", "Ann")}
    assert len(keys) == 6


@pytest.mark.lengthy
@given(st.text(min_size=1, max_size=60))
def test_a_key_is_the_key_of_the_clean_name(name):
    assert name_key(name) == name_key(clean_name(name))
