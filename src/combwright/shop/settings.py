"""Django's settings for the shop; what differs between shops comes from the environment.

COMBWRIGHT_DATA names the data folder, COMBWRIGHT_DATABASE a PostgreSQL database in place of SQLite,
COMBWRIGHT_HOSTS the names the shop is reached by, COMBWRIGHT_HTTPS=1 says that it is behind HTTPS.
"""

import os
from typing import Any

from combwright.shop.where import data_folder, database, secret_key

DATA_FOLDER = data_folder()
SECRET_KEY = secret_key(DATA_FOLDER)
DEBUG = False
ALLOWED_HOSTS = os.environ.get("COMBWRIGHT_HOSTS", "localhost 127.0.0.1 [::1]").split()
HTTPS = os.environ.get("COMBWRIGHT_HTTPS") == "1"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "combwright.shop.look",
    "combwright.shop.people",
    "combwright.shop.rack",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "combwright.shop.look.guard.content_security_policy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
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
LOGIN_REDIRECT_URL = "rack:heat"
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

LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = os.environ.get("COMBWRIGHT_TIME_ZONE", "UTC")

STATIC_URL = "static/"
STATIC_ROOT = DATA_FOLDER / "static"
STATIC_ROOT.mkdir(exist_ok=True)
WHITENOISE_USE_FINDERS = True

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 14 * 24 * 3600
CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 3600 * 24 * 30 if HTTPS else 0
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "INFO"},
}
