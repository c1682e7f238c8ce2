"""Django's settings for the shop; what differs between shops comes from the environment.

COMBWRIGHT_DATA names the data folder, COMBWRIGHT_DATABASE a PostgreSQL database in place of SQLite,
COMBWRIGHT_HOSTS the names the shop is reached by, COMBWRIGHT_HTTPS=1 says that it is behind HTTPS,
COMBWRIGHT_MOST_A_SECOND how many requests a second one person may send. `serve --https` itself sets
COMBWRIGHT_AUTHORITY, and adds its names to COMBWRIGHT_HOSTS.
"""

import os
from typing import Any

from combwright.shop.where import authority, data_folder, database, most_a_second, secret_key

DATA_FOLDER = data_folder()
SECRET_KEY = secret_key(DATA_FOLDER)
DEBUG = False
ALLOWED_HOSTS = os.environ.get("COMBWRIGHT_HOSTS", "localhost 127.0.0.1 [::1]").split()
#: Whether a server before the shop speaks HTTPS, with a name that the whole world vouches for.
HTTPS = os.environ.get("COMBWRIGHT_HTTPS") == "1"
#: The folder of the workshop's own authority, where the shop speaks HTTPS itself (room `https`).
AUTHORITY = authority()
#: Whether this is the practice shop, which books nothing real (room `practice`).
PRACTICE = os.environ.get("COMBWRIGHT_PRACTICE") == "1"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "combwright.shop.look",
    "combwright.shop.people",
    "combwright.shop.jobs",
    "combwright.shop.designs",
    "combwright.shop.rack",
    "combwright.shop.counting",
    "combwright.shop.arrivals",
    "combwright.shop.papers",
    "combwright.shop.orders",
    "combwright.shop.plans",
    "combwright.shop.register",
    "combwright.shop.bench",
    "combwright.shop.tuning",
    "combwright.shop.repertoire",
    "combwright.shop.choosing",
    "combwright.shop.today",
    "combwright.shop.backups",
    "combwright.shop.practice",
    "combwright.shop.api",
]
MIDDLEWARE = [
    "combwright.shop.api.edge.json_only",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "combwright.shop.look.guard.content_security_policy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "combwright.shop.look.bodies.not_too_large",
    "combwright.shop.people.pace.not_too_many",
    "combwright.shop.people.door.people_only",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]
ROOT_URLCONF = "combwright.shop.urls"
ASGI_APPLICATION = "combwright.shop.asgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "combwright.shop.people.roles.what_one_may",
            ]
        },
    }
]
DATABASES: dict[str, dict[str, Any]] = {"default": database(DATA_FOLDER)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "people.Person"
LOGIN_URL = "people:login"
LOGIN_REDIRECT_URL = "today:next"
LOGOUT_REDIRECT_URL = "people:login"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("name", "full_name")},
    },
]

#: Where the rooms register their jobs and regular work (`jobs/registry.py`, `jobs/regular.py`).
JOB_MODULES = [
    "combwright.shop.jobs.tidying",
    "combwright.shop.plans.tasks",
    "combwright.shop.tuning.tasks",
    "combwright.shop.repertoire.tasks",
    "combwright.shop.choosing.tasks",
    "combwright.shop.backups.tasks",
    "combwright.shop.api.delivering",
]
#: A worker that is silent for so long is held to be gone, and its job is taken up by another one.
JOB_LEASE_SECONDS = 30

LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = os.environ.get("COMBWRIGHT_TIME_ZONE", "UTC")

STATIC_URL = "static/"
STATIC_ROOT = DATA_FOLDER / "static"
STATIC_ROOT.mkdir(exist_ok=True)
WHITENOISE_USE_FINDERS = True

# Ports do not part cookies: without names of their own both shops would log one another out.
SESSION_COOKIE_NAME = "practice-session" if PRACTICE else "sessionid"
CSRF_COOKIE_NAME = "practice-csrf" if PRACTICE else "csrftoken"
if PRACTICE:  # else they would be in a cookie too, whose name cannot be chosen
    MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 14 * 24 * 3600
CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS or AUTHORITY is not None
# Where the shop speaks HTTPS itself its port knows nothing else, so there is nothing to redirect;
# and a lasting promise would bind the machine's whole name: every plain page on it, on any port,
# and the shop itself should it be served without HTTPS again.
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 3600 * 24 * 30 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# The shop never asks to be put on the browsers' own list of names, which is hard to leave again.
SILENCED_SYSTEM_CHECKS = ["security.W021"]
if not HTTPS:
    # Inside the workshop: no lasting promise of HTTPS (W004), no redirect to it (W008).
    SILENCED_SYSTEM_CHECKS += ["security.W004", "security.W008"]
    if AUTHORITY is None:  # nobody vouches for a name: cookies go over HTTP
        SILENCED_SYSTEM_CHECKS += ["security.W012", "security.W016"]
#: The most that is sent at once: the largest file of an import, and the form around it.
MOST_BODY = 17 * 1024 * 1024
#: How many requests a second one person may send; ten seconds' worth of them at once.
MOST_A_SECOND = most_a_second()
DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000
#: Tunes come as hundreds of small files.
DATA_UPLOAD_MAX_NUMBER_FILES = 2000

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "INFO"},
}
