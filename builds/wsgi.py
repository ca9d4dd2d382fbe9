"""WSGI entry for a real server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
application = get_wsgi_application()
