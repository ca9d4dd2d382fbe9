"""The site as it is served, with two more addresses to measure against: a bare INSERT, and who is signed in."""

from django.core.wsgi import get_wsgi_application

application = get_wsgi_application()

from django.http import HttpResponse  # noqa: E402
from django.urls import path  # noqa: E402

import builds.urls  # noqa: E402
from builds.accounts.access import anyone  # noqa: E402
from builds.bench.models import Build, MadeSafe  # noqa: E402

first = Build.objects.order_by("pk").values_list("pk", flat=True)[0]


def insert(request):
    MadeSafe.objects.create(build_id=first, typed="2", volts=2.0, is_safe=True)
    return HttpResponse("ok")


def who(request):
    return HttpResponse(str(request.user))


builds.urls.urlpatterns += [path("bare/", anyone(insert)), path("who/", anyone(who))]
