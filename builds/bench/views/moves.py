"""The builder's side of a move to a later revision: what it would mean, taking it, declining it, and parts swapped."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.gates import gating
from builds.bench.moves import moving
from builds.ui.messages import moves as texts


@signed_in
@require_safe
def offer(request, pk):
    """What comes along and what is to be done again, before anything is moved."""
    build = access.own_build(request.user, pk)
    waiting = get_object_or_404(build.move_offers.select_related("revision", "by"), taken_at=None, declined_at=None)
    return render(
        request,
        "bench/move.html",
        {
            "build": build,
            "offer": waiting,
            "obstacle": moving.obstacle(build, waiting.revision),
            "plan": moving.make_plan(build, waiting.revision),
        },
    )


@signed_in
@require_POST
def take(request, pk):
    build = access.own_build(request.user, pk)
    waiting = get_object_or_404(build.move_offers.select_related("revision"), declined_at=None)
    try:
        new = moving.move(waiting)
    except ValueError as error:
        messages.error(request, str(error))
        return redirect("bench:move", build.pk)
    messages.success(request, texts.moved(new.revision.letter))
    return redirect("bench:build", new.pk)


@signed_in
@require_POST
def decline(request, pk):
    build = access.own_build(request.user, pk)
    build.move_offers.filter(taken_at=None, declined_at=None).update(declined_at=timezone.now())
    messages.success(request, texts.declined(build.revision.letter))
    return redirect("bench:build", build.pk)


@signed_in
@require_POST
def swapped(request, pk, swap):
    """A part was changed by hand: never while power is on record."""
    with transaction.atomic():  # power that comes on record at the same moment takes its turn
        build = access.locked_build(request.user, pk)
        row = get_object_or_404(build.part_swaps, pk=swap)
        if gating.find_power(build).needs_made_safe:
            return render(request, "bench/locked-part.html", {"build": build, "swap": row}, status=409)
        build.part_swaps.filter(pk=swap, done_at=None).update(done_at=timezone.now())
    return redirect("bench:build", build.pk)
