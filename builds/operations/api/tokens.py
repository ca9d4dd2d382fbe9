"""Access tokens: making and withdrawing them, and the mark of views that ask for one."""

import secrets
from datetime import timedelta
from functools import wraps
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts import limits
from builds.accounts.access import signed_in
from builds.accounts.account_forms import PasswordForm
from builds.accounts.events import record
from builds.accounts.models import hash_token
from builds.operations.models import AccessToken

LIFE = timedelta(days=365)


def needs_token(scope: str):
    """Mark a view for programs: it is called with a token of this scope, as the token's person, and never by a cookie.
    Nothing can be posted there by another site, so that it needs no other protection."""

    def mark(view):
        @wraps(view)
        def asked(request, *args, **kwargs):
            token = _find_token(request)
            if token is None:
                answer = problem(401, "token", _("Send a valid access token: Authorization: Bearer …"))
                answer["WWW-Authenticate"] = "Bearer"
                return answer
            if scope not in token.scopes:
                return problem(403, "scope", _("This token does not have permission for that."))
            if not limits.is_allowed("api", str(token.pk)):
                return problem(429, "often", _("Too many calls within an hour."))
            request.user = token.person
            try:
                return view(request, *args, **kwargs)
            except Http404:
                return problem(404, "missing", _("Not found, or this token has no access to it."))

        guarded: Any = csrf_exempt(asked)
        guarded.access = "token"
        return guarded

    return mark


def problem(status: int, code: str, text: str, **more) -> JsonResponse:
    return JsonResponse({"error": {"code": code, "text": text, **more}}, status=status)


def _find_token(request) -> AccessToken | None:
    kind, _space, secret = request.headers.get("Authorization", "").partition(" ")
    if kind.lower() != "bearer" or not secret:
        return None
    living = AccessToken.objects.filter(withdrawn_at=None, expires_at__gt=timezone.now(), person__is_active=True)
    return living.filter(token_hash=hash_token(secret.strip())).select_related("person").first()


class TokenForm(PasswordForm):
    name = forms.CharField(
        label=gettext_lazy("Name"), max_length=60, help_text=gettext_lazy("What uses it, such as the logging meter.")
    )
    scopes = forms.MultipleChoiceField(
        label=gettext_lazy("Permission"), choices=AccessToken.SCOPES, widget=forms.CheckboxSelectMultiple
    )
    field_order = ["name", "scopes", "old_password"]


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def tokens(request):
    """The list, and a new one: shown once."""
    form, made = TokenForm(request.POST or None, person=request.user), ""
    if request.method == "POST" and form.is_valid():
        made = make(request.user, form.cleaned_data["name"], form.cleaned_data["scopes"])
        form = TokenForm(person=request.user)
    rows = request.user.access_tokens.filter(withdrawn_at=None, expires_at__gt=timezone.now())
    status = 422 if form.errors else 200
    return render(request, "operations/tokens.html", {"form": form, "made": made, "tokens": rows}, status=status)


def make(person, name: str, scopes) -> str:
    token = secrets.token_urlsafe(32)
    AccessToken.objects.create(
        person=person, name=name, token_hash=hash_token(token), scopes=list(scopes), expires_at=timezone.now() + LIFE
    )
    record(person, "token-made", name=name)
    return token


@signed_in
@require_POST
def withdraw(request, pk):
    token = get_object_or_404(request.user.access_tokens, pk=pk)
    token.withdrawn_at = timezone.now()
    token.save(update_fields=["withdrawn_at"])
    record(request.user, "token-withdrawn", "", name=token.name)
    messages.success(request, _("Withdrawn. It no longer works."))
    return redirect("operations:tokens")
