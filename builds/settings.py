"""Django settings. What a place may change comes from the environment (see environment.py)."""

from pathlib import Path

from csp.constants import NONE, SELF

from builds import environment as env

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = env.folder("DATA_DIR", BASE_DIR / "var")

DEBUG = env.switch("DEBUG")
SECRET_KEY = env.secret_key(DATA_DIR)
ALLOWED_HOSTS = env.hosts("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = env.origins("CSRF_TRUSTED_ORIGINS")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "django_tasks_db",
    "builds.jobs",
    "builds.ui",
    "builds.accounts",
    "builds.notifications",
    "builds.guides",
    "builds.bench",
    "builds.review",
    "builds.reports",
    "builds.operations",
]
MIDDLEWARE = [
    "builds.accounts.headers.private_headers",
    "builds.accounts.client_address.know_client_address",
    "builds.operations.logs.number_requests",
    "django.middleware.security.SecurityMiddleware",
    "builds.ui.static_files.HashedFilesMiddleware",
    "builds.ui.compression.CompressPages",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "builds.accounts.seen.remember_browsers",
    "builds.accounts.localisation.localise",
    "builds.operations.body_limits.limit_bodies",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
    "builds.accounts.plain_addresses.plain_addresses",
    "builds.accounts.methods.explain_refused_methods",
    "builds.accounts.not_saved.report_unsaved_writes",
    "builds.bench.offline.arrival.confirm_saved_entry",
    "builds.bench.offline.answered.mark_answered_forms",
]
ROOT_URLCONF = "builds.urls"
WSGI_APPLICATION = "builds.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
            "builtins": [
                "builds.ui.templatetags.formatting",
                "builds.ui.templatetags.moments",
                "builds.ui.templatetags.shares",
                "builds.guides.templatetags.guide_tags",
            ],
        },
    }
]

DATABASES = {"default": env.database(DATA_DIR)}
TASKS = {"default": {"BACKEND": env.tasks(), "QUEUES": ["default", "mail"]}}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

AUTH_USER_MODEL = "accounts.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "builds.accounts.hashing.ModestArgon2",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
_VALIDATION = "django.contrib.auth.password_validation"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": f"{_VALIDATION}.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("display_name", "email")},
    },
    {"NAME": f"{_VALIDATION}.MinimumLengthValidator"},
    {"NAME": f"{_VALIDATION}.CommonPasswordValidator"},
]
LOGIN_URL = "accounts:sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "accounts:sign-in"
# By name and address together: one builder's typing slips must not lock the whole bench out.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_USERNAME_FORM_FIELD = "username"  # the sign-in form's; the default would be the field of Person
AXES_CLIENT_IP_CALLABLE = "builds.accounts.throttling.find_address"
AXES_USERNAME_CALLABLE = "builds.accounts.throttling.make_name"
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_TEMPLATE = "accounts/locked-out.html"
AXES_HTTP_RESPONSE_CODE = 429
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False
OTP_TOTP_ISSUER = "Kit builds"
SESSION_COOKIE_AGE = 30 * 24 * 3600

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English"), ("de", "Deutsch")]  # each named in its own language
LOCALE_PATHS = [BASE_DIR / "builds" / "locale"]
TIME_ZONE = env.time_zone("TIME_ZONE", "UTC")  # for people whose browser says nothing of theirs
USE_TZ = True
USE_I18N = True

MESSAGE_STORAGE = "builds.bench.offline.unheard.MessagesForReaders"
STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)  # WhiteNoise warns at every start when it is not there
STATICFILES_DIRS = [BASE_DIR / "static"]
MEDIA_ROOT = DATA_DIR / "media"
MEDIA_URL = "/media/"  # never served as such: every file goes through a view that asks who is calling
STORAGES = {
    "default": env.media_store(),
    "staticfiles": {"BACKEND": "builds.ui.static_files.HashedStaticFiles"},
}
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.FileSystemFinder",
    "builds.ui.static_files.HashedNameFinder",
]
WHITENOISE_USE_FINDERS = True  # serves from static/ without a collect step
WHITENOISE_ALLOW_ALL_ORIGINS = False
DATA_UPLOAD_MAX_MEMORY_SIZE = 4 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 20_000  # a grid of a large guide's checks has 17 fields a row
PHOTO_MAX_BYTES = 20 * 1024 * 1024
BODY_MAX_BYTES = 12 * PHOTO_MAX_BYTES + 2**20  # twelve photos in one post
GUIDE_MAX_BYTES = 60 * 1024 * 1024

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "blob:"],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
    }
}
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "builds.accounts.views.from_elsewhere"
SECURE_REFERRER_POLICY = "same-origin"
HTTPS = env.switch("HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
# Whose word on the client's address and scheme is believed; a unix socket counts as the machine itself.
TRUSTED_PROXIES = env.networks("TRUSTED_PROXIES", "127.0.0.1,::1" if env.switch("BEHIND_PROXY") else "")
if env.switch("BEHIND_PROXY"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

globals().update(env.email())
SITE_URL = env.site_url()  # for links in mail, which no request tells
DEFAULT_FROM_EMAIL = SERVER_EMAIL = env.text("EMAIL_FROM", "kit-builds@localhost")
ADMINS = [("Owner", address) for address in env.listed("OWNER_EMAIL")]  # warned when nothing can be written
METRICS_TOKEN = env.text("METRICS_TOKEN")
LOGS_JSON = env.read_choice("LOGS", ("text", "json")) == "json"  # json: with a line for every request
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"json": {"()": "builds.operations.logs.JsonLines"}},
    "filters": {"no tokens": {"()": "builds.operations.logs.HideTokens"}},
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "filters": ["no tokens"],
            **({"formatter": "json"} if LOGS_JSON else {}),
        }
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "builds": {"level": "INFO" if LOGS_JSON else "WARNING"},
        "builds.security": {"level": "INFO"},
        # Without Django's own letters to ADMINS: anybody could have one sent by a wrong host name, from the thread that
        # answers them, and so hold all threads by way of a slow mail server.
        "django": {"handlers": [], "level": "INFO"},
    },
}
if not LOGS_JSON:  # a person at the terminal is not told of every wrong password
    LOGGING["loggers"]["builds.security"]["level"] = "ERROR"
# Names are unique whatever their case, by a constraint that this check does not see.
SILENCED_SYSTEM_CHECKS = ["auth.W004"]
