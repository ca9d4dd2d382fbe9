"""Placing points of the circuit on the designer's own pictures: by a click, or by figures where there is no mouse."""

from django import forms
from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.editor.conflicts import Clash
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.write import as_tables
from builds.guides.pictures.editing import frame_version
from builds.guides.points_map.drawing import picture_map
from builds.guides.points_map.places import Reframed, Replaced, Seen, list_places, put_point, seen_now
from builds.guides.points_map.points import MapPoint
from builds.guides.wiring.wires import ends_by_point
from builds.ui.drawings.chips import Chip
from builds.ui.formatting import number

WIDEST = 1000  # pixels a picture is shown at: a click is told in these
MOST_SHOWN = 4000


class PlaceForm(forms.Form):
    """Where a point is: a click on the picture (at.x, at.y of a picture `shown` so wide), or two percentages."""

    point = forms.CharField(max_length=60)
    shown = forms.IntegerField(required=False, min_value=1, max_value=MOST_SHOWN)
    across = forms.FloatField(required=False, min_value=0, max_value=100, label=gettext_lazy("From the left, %"))
    down = forms.FloatField(required=False, min_value=0, max_value=100, label=gettext_lazy("From the top, %"))

    def place_on(self, picture) -> tuple[float, float] | None:
        """Fractions of the picture's size; None where neither a click nor figures came."""
        x, y = self.data.get("at.x", ""), self.data.get("at.y", "")
        shown = self.cleaned_data.get("shown")
        if shown and x.isascii() and x.isdigit() and y.isascii() and y.isdigit() and len(x + y) < 12:
            high = shown * (picture.height or 1) / (picture.width or 1)
            return min(1.0, int(x) / shown), min(1.0, int(y) / high)
        across, down = self.cleaned_data.get("across"), self.cleaned_data.get("down")
        return None if across is None or down is None else (across / 100, down / 100)


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def place_points(request, kit, letter, name):
    draft = access.draft_revision(request.user, kit, letter)
    guide = load_guide(draft)
    picture = guide.pictures.get(name)
    if picture is None:
        raise Http404(_("There is no such picture."))
    nodes = _nodes(draft, guide)
    form = PlaceForm(request.POST or None)
    clash, is_reframed = None, False
    try:
        if request.method == "POST" and form.is_valid() and _placed(request, draft, guide, picture, nodes, form):
            return redirect(
                f"{reverse('guides:place-points', args=[kit, letter, name])}?after={form.cleaned_data['point']}"
            )
    except Reframed:
        is_reframed = True
    except Replaced:
        clash = _clash(draft, picture, form)
    if clash or is_reframed:
        guide = load_guide(draft)
        picture = guide.pictures.get(name, picture)
    points = [MapPoint(n, node, node, ()) for n, node in enumerate(_placed_nodes(guide, name), 1)]
    chosen = request.POST.get("point") or _next(nodes, points, request.GET.get("after", ""))
    return render(
        request,
        "guides/place-points.html",
        {
            "revision": draft,
            "picture": picture,
            "shown": min(picture.width or WIDEST, WIDEST),
            "high": round(min(picture.width or WIDEST, WIDEST) * (picture.height or 1) / (picture.width or 1)),
            "drawing": picture_map(guide, picture, points, lambda p: Chip(p.number, (p.red,)), ""),
            "placed": points,
            "nodes": nodes,
            "chosen": chosen,
            "form": form,
            "frame": frame_version(picture),
            "seen": [
                _seen_text(node, list_places(guide.probes.points[node])[name]) for node in _placed_nodes(guide, name)
            ],
            "clashes": [clash] if clash else [],
            "is_reframed": is_reframed,
            "typed": [round(100 * share, 2) for share in form.place_on(picture) or ()] if clash else [],
        },
        status=409 if clash or is_reframed else 422 if request.method == "POST" else 200,
    )


def _seen_text(node: str, place: tuple[float, float]) -> str:
    return f"{node} {place[0]!r} {place[1]!r}"


def _seen(post, node: str) -> Seen:
    """What the page that was posted from showed of the picture and of this point."""
    for line in post.getlist("seen"):
        name, *shares = line.rsplit(" ", 2)
        if name == node and len(shares) == 2:
            try:
                return Seen(post.get("frame", ""), (float(shares[0]), float(shares[1])))
            except ValueError:
                break
    return Seen(post.get("frame", ""), None)


def _clash(draft, picture, form: PlaceForm) -> Clash:
    """Where the point is by now, and where this person wanted it."""
    node = form.cleaned_data["point"]
    now = seen_now(draft, node, picture.name).place
    typed = None if "take-off" in form.data else form.place_on(picture)
    return Clash(node, _place_text(now), _place_text(typed))


def _place_text(place: tuple[float, float] | None) -> str:
    if place is None:
        return ""
    shares = {"across": number(100 * place[0], 1), "down": number(100 * place[1], 1)}
    return _("%(across)s %% from the left, %(down)s %% from the top") % shares


def _placed(request, draft, guide, picture, nodes: list[str], form: PlaceForm) -> bool:
    """Carry a good post out: place the point, or take it off."""
    node, at = form.cleaned_data["point"], form.place_on(picture)
    takes_off = "take-off" in request.POST
    if node not in nodes:
        form.add_error("point", _("%(node)s is not a point of this circuit.") % {"node": node})
    elif at is None and not takes_off:
        form.add_error(None, _("Click the picture, or enter both distances: from the left and from the top."))
    else:
        label, place = guide.probes.probe(node).location, None if takes_off else at
        put_point(draft, request.user, node, label, picture.name, place, _seen(request.POST, node))
        text = _("Removed %(node)s from this picture.") if takes_off else _("Placed %(node)s.")
        messages.success(request, text % {"node": node})
        return True
    return False


def _nodes(draft, guide) -> list[str]:
    """What may be placed: points that checks probe first, then the other points and nets."""
    probed = [p for stage in guide.stages for c in stage.checks.all() for p in (c.red, c.black)]
    nets = [net for net, _ends in ends_by_point(as_tables(draft, guide)["part"])]
    return [n for n in dict.fromkeys([*probed, *guide.probes.points, *nets]) if n and not n.startswith("=")]


def _placed_nodes(guide, name: str) -> list[str]:
    return [node for node, point in guide.probes.points.items() if name in list_places(point)]


def _next(nodes: list[str], points: list[MapPoint], after: str) -> str:
    """The first point after the last placed that is not on this picture yet."""
    placed = {point.red for point in points}
    start = nodes.index(after) + 1 if after in nodes else 0
    return next((node for node in [*nodes[start:], *nodes] if node not in placed), "")
