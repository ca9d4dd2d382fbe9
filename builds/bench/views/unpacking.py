"""The builder's parts list, ticked at unpacking."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.unpacking import group_parts, save_parts_check
from builds.ui.row_numbers import row_number


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def parts(request, pk):
    """All parts by bag or by stage; a post keeps the ticks of the parts it shows."""
    by = "stage" if request.GET.get("by") == "stage" else "bag"
    if request.method == "POST":
        build = access.own_build(request.user, pk)
        shown, ticked = (_numbers(request.POST.getlist(name)) for name in ("shown", "found"))
        save_parts_check(build, request.user, shown, ticked)
        messages.success(request, _("Saved which parts you have found."))
        return redirect(f"{reverse('bench:parts', args=[build.pk])}?by={by}")
    build = access.visible_build(request.user, pk)
    groups = group_parts(build, by)
    context = {
        "build": build,
        "by": by,
        "groups": groups,
        "found": sum(group.number_found for group in groups),
        "total": sum(len(group.lines) for group in groups),
        "is_own": build.builder_id == request.user.pk,
    }
    return render(request, "bench/parts.html", context)


def _numbers(texts) -> set[int]:
    return {row_number(text) for text in texts}
