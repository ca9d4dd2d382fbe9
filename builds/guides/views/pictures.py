"""Pictures of a draft: add some, delete one, turn, crop and mark one."""

from itertools import zip_longest

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext, ngettext
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides import access
from builds.guides.editor.conflicts import Clash
from builds.guides.editor.edits import keep_picture_edit, one_edit
from builds.guides.editor.kept_files import kept_files
from builds.guides.pictures.editing import CutOff, EditedMeanwhile, picture_version, put_marks, reframe
from builds.guides.pictures.forms import FrameForm, MarksForm, frame_text, mark_text, row_of_mark
from builds.guides.pictures.geometry import Frame
from builds.guides.pictures.uploads import Uploads, add_uploads, newest_picture
from builds.guides.points_map.places import forget_picture, seen_version
from builds.ui.formatting import listed
from builds.ui.row_numbers import row_number


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
@limited("upload")
def add_picture(request, kit, letter):
    """Add pictures, or put new ones in the place of those with the same name."""
    draft = access.draft_revision(request.user, kit, letter)
    wrong: list[str] = []
    if request.method == "POST":
        files, before = request.FILES.getlist("picture"), kept_files(draft)
        seen = row_number(request.POST.get("newest", ""))
        made = add_uploads(draft, files, seen) if files else Uploads(wrong=[gettext("Choose a picture first.")])
        if made.names:
            keep_picture_edit(draft, request.user, "picture-add", listed(made.names), before)
            _report_uploaded(request, made)
        wrong = made.wrong
        if not wrong:
            return redirect("guides:revision", kit, letter)
    context = {"revision": draft, "wrong": wrong, "newest": newest_picture(draft)}
    return render(request, "guides/picture.html", context, status=422 if wrong else 200)


def _report_uploaded(request, made: Uploads) -> None:
    if made.added:
        done = ngettext("Added the picture %(names)s.", "Added the pictures %(names)s.", len(made.added))
        messages.success(request, done % {"names": listed(made.added)})
    if made.replaced:
        done = ngettext(
            "Replaced the picture %(names)s. Check that its marks and points still fit.",
            "Replaced the pictures %(names)s. Check that their marks and points still fit.",
            len(made.replaced),
        )
        messages.success(request, done % {"names": listed(made.replaced)})
    for asked_name, name in made.renamed:
        sentence = gettext(
            "%(wanted)s was added or replaced elsewhere in the meantime. Nothing has been "
            "overwritten: your picture is saved as %(name)s. Compare the two, and delete the one that "
            "is not needed."
        )
        messages.warning(request, sentence % {"wanted": asked_name, "name": name})


@may_design
@require_POST
def delete_picture(request, kit, letter, name):
    draft = access.draft_revision(request.user, kit, letter)
    with one_edit(draft, request.user, "picture-delete", name):
        picture = get_object_or_404(draft.pictures, name=name)
        is_as_seen = seen_version(picture, draft.points.all()) == request.POST.get("version")
        if is_as_seen:
            picture.delete()
            forget_picture(draft, name)
    if not is_as_seen:
        sentence = gettext(
            "%(name)s was edited elsewhere in the meantime and is still there. Check it and delete it again."
        )
        messages.warning(request, sentence % {"name": name})
        return redirect(f"{reverse('guides:revision', args=[kit, letter])}#points")
    messages.success(request, gettext("Deleted the picture %(name)s.") % {"name": name})
    return redirect("guides:revision", kit, letter)


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
@limited("compute")
def edit_picture(request, kit, letter, name):
    """Arrows, rings, numbers and words on a picture; its crop and how it is turned."""
    draft = access.draft_revision(request.user, kit, letter)
    picture = get_object_or_404(draft.pictures, name=name)
    wish = next((word for word in ("marks", "frame", "whole") if word in request.POST), "")
    has_marks = wish == "marks" or any(key.startswith("mark-") for key in request.POST)  # drawn before a crop
    marks = MarksForm(request.POST if has_marks else None, initial={"mark": _rows(picture)})
    frame = FrameForm(request.POST if wish == "frame" else None, initial=_edges(request.GET))
    wrong: list[str] = []
    clashes: tuple[Clash, ...] = ()
    if request.method == "POST":
        try:
            wrong = _save(request, draft, picture, wish, marks, frame)
        except EditedMeanwhile:
            picture = get_object_or_404(draft.pictures, name=name)  # as it is by now
            clashes, frame = _clashes(picture, marks, frame), FrameForm()  # edges of what was shown then
        if not (wrong or clashes or marks.errors or frame.errors):
            messages.success(request, gettext("Saved the picture %(name)s.") % {"name": name})
            edges = _edges(request.POST) if wish == "marks" and _edges(request.POST) != WHOLE else {}
            page = reverse("guides:edit-picture", args=[kit, letter, name])
            return redirect(f"{page}?{urlencode(edges)}" if edges else page)
    context = {"revision": draft, "picture": picture, "marks": marks, "frame": frame, "wrong": wrong}
    context |= {"clashes": clashes, "version": request.POST.get("version") if wrong else picture_version(picture)}
    status = 409 if clashes else 422 if request.method == "POST" else 200
    return render(request, "guides/edit-picture.html", context, status=status)


WHOLE = {"left": "0", "top": "0", "right": "100", "bottom": "100", "turn": "0"}


def _edges(sent) -> dict[str, str]:
    """The crop that somebody has begun to draw, and not yet asked for."""
    return {key: sent[key][:8] for key in ("left", "top", "right", "bottom", "turn") if key in sent}


def _clashes(picture, marks: MarksForm, frame: FrameForm) -> tuple[Clash, ...]:
    """What is saved by now beside what this person wanted: mark by mark, or the frame."""
    framed = (Clash(gettext("Crop and turn"), frame_text(picture.changes), frame.text()),) if frame.is_bound else ()
    if framed and not marks.is_bound:
        return framed
    saved, typed = (
        [mark_text(row) for row in rows] for rows in (_rows(picture), marks["mark"].value() if marks.is_bound else [])
    )
    lines = enumerate(zip_longest(saved, typed, fillvalue=""), 1)
    changed = [Clash(gettext("Mark %(n)d") % {"n": n}, was, now) for n, (was, now) in lines if was != now]
    return (*framed, *changed) or (Clash(gettext("Crop and turn"), frame_text(picture.changes), ""),)


def _rows(picture) -> list[dict]:
    return [row_of_mark(mark) for mark in (picture.changes or {}).get("mark", [])]


def _save(request, draft, picture, wish: str, marks: MarksForm, frame: FrameForm) -> list[str]:
    """What stands against saving, beside what the forms say themselves."""
    version, now = request.POST.get("version", ""), Frame.of(picture.changes)
    try:
        if wish == "marks" and marks.is_valid():
            put_marks(draft, request.user, picture.name, version, marks.cleaned_data["mark"])
        elif wish in ("frame", "whole") and (not marks.is_bound or marks.is_valid()):
            drawn = marks.cleaned_data["mark"] if marks.is_bound else None
            if wish == "whole" or frame.is_valid():
                to = Frame() if wish == "whole" else frame.frame(now)
                reframe(draft, request.user, picture.name, version, to, drawn)
    except CutOff as lost:
        cut = listed(lost.args[0])
        return [gettext("Nothing was changed: this would cut off %(names)s. Move them first.") % {"names": cut}]
    return []
