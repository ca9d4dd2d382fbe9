"""Checking the meter on the kit's own pieces before it is trusted."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.readings import self_checks
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.readings.forms import MeterCheckForm
from builds.guides.guide_cache import load_guide
from checks.errors import ChecksError


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def meter_check(request, pk):
    """Each piece has its own small form; a post says which piece it read."""
    build = access.own_build(request.user, pk)
    pieces = self_checks.list_pieces(load_guide(build.revision))
    if not pieces:
        raise Http404(_("This kit has no parts to check a meter on."))
    if not build.meter:
        messages.error(request, _("Choose your meter first, under “Mains and meter”."))
        return redirect("bench:build", build.pk)
    forms = {part.ref: MeterCheckForm(prefix=part.ref, piece=piece) for part, piece in pieces}
    if request.method == "POST":
        part, piece = next(((p, x) for p, x in pieces if p.ref == request.POST.get("piece")), (None, None))
        if part is None:
            raise Http404(_("This kit has no such part."))
        form = forms[part.ref] = MeterCheckForm(request.POST, prefix=part.ref, piece=piece)
        if form.is_valid() and _take(request, build, part, piece, form):
            return redirect("bench:meter-check", build.pk)
    latest = self_checks.latest_checks(build)
    rows = [(part, piece, forms[part.ref], latest.get(part.pk)) for part, piece in pieces]
    return render(
        request,
        "bench/meter-check.html",
        {"build": build, "rows": rows, "done": all(r[3] for r in rows)},
        status=422 if request.method == "POST" else 200,
    )


def _take(request, build, part, piece, form) -> bool:
    data = form.cleaned_data
    try:
        meter = self_checks.find_meter(build)
        meant = None if data["sure"] else self_checks.likely_typing_error(piece, data["typed"], meter)
        if meant:
            form.put_question(meant, data["typed"])
            return False
        self_checks.take_self_check(build, part, piece, data["typed"], entry_key=data["entry_key"], by=request.user)
    except UsedKey as error:
        form.ask_again(error)
        return False
    except ChecksError as error:
        form.refuse(error)
        return False
    return True
