"""One file for every environment; environments differ by variables alone (see deploy/environment.py).

Without any variable the embedded default runs: SQLite in ``var/``, mail as files, jobs in a child worker that reads
a folder. DATABASE_URL and REDIS_URL switch to PostgreSQL and Redis.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured

from deploy import environment

ROOT = Path(__file__).resolve().parent.parent
VAR = Path(environment.text("VAR_DIR", str(ROOT / "var")))

DEMO = environment.flag("DEMO", default=True)
DEBUG = environment.flag("DEBUG", default=False)
# Links and sessions made with the key before this one go on working while it stands here.
SECRET_KEY_FALLBACKS = [old] if (old := environment.secret("SECRET_KEY_BEFORE", "")) else []
SECRET_KEY = environment.secret("SECRET_KEY", "only-for-the-demo-never-in-the-open" if DEMO else None)
ALLOWED_HOSTS = environment.words("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]")
SITE_ADDRESS = environment.text("SITE_ADDRESS", "http://127.0.0.1:8000")
if not SITE_ADDRESS.startswith(("http://", "https://")):
    raise ImproperlyConfigured(f"SITE_ADDRESS={SITE_ADDRESS!r}: begin with http:// or https://")
IS_SECURE = SITE_ADDRESS.startswith("https://")
CSRF_TRUSTED_ORIGINS = [SITE_ADDRESS]

INSTALLED_APPS = [
    "business.apps.BusinessConfig",
    "gardens.apps.GardensConfig",
    "scheduling.apps.SchedulingConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_filters",
    "django_htmx",
    "deploy.apps.DeployConfig",
]
MIDDLEWARE = [
    "deploy.request_ids.RequestIds",
    "deploy.metrics.CountRequests",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "business.views.middleware.OwnPagesOnly",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "business.views.middleware.WholeSignIn",
    "business.views.middleware.WhoActs",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]
ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [ROOT / "deploy" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "business.views.context.business_profile",
            ],
        },
    }
]

DATABASES: dict[str, dict[str, Any]] = {
    "default": environment.database("DATABASE_URL", f"sqlite:///{VAR / 'business.sqlite3'}")
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "business.Staff"
AUTHENTICATION_BACKENDS = ["business.services.sign_in_backend.StaffBackend"]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "today"
# Where a client's link leads, once it is exchanged for a key in the session.
CLIENT_DOOR_URL = "garden-door"
LOGOUT_REDIRECT_URL = "sign-in"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

LANGUAGE_CODE = "en-gb"
# Instants are stored in UTC; garden days belong to the zone of their site (business.clock).
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True

STATIC_URL = "static/"
STATIC_ROOT = VAR / "static"
STATICFILES_DIRS: list[Path] = []
MEDIA_ROOT = VAR / "media"
# Several machines without a shared folder keep pictures and papers in an object store: any Django storage class.
MEDIA_STORAGE = environment.text("MEDIA_STORAGE", "")
STORAGES = {
    "default": {"BACKEND": MEDIA_STORAGE, "OPTIONS": environment.options("MEDIA_STORAGE_OPTIONS")}
    if MEDIA_STORAGE
    else {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": str(MEDIA_ROOT)}},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Serve files straight from the rooms' static folders; a hashed copy is an option for a proxy (STATIC_ROOT).
WHITENOISE_USE_FINDERS = True

REDIS_URL = environment.secret("REDIS_URL", "")
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_TIME_LIMIT = 600
CELERY_TASK_SOFT_TIME_LIMIT = 540
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULE: dict[str, Any] = {
    # The odd seconds keep the sweeps from starting together.
    "send waiting messages": {"task": "business.tasks.send_waiting_messages", "schedule": 47.0},
    "forget old sessions": {"task": "business.tasks.forget_old_sessions", "schedule": 86_291.0},
    "forget old sign-in tries": {"task": "business.tasks.forget_old_tries", "schedule": 86_399.0},
    "write reminders": {"task": "scheduling.tasks.write_reminders", "schedule": 601.0},
    "write payment reminders": {"task": "business.tasks.write_payment_reminders", "schedule": 907.0},
    "take up lost closings": {"task": "scheduling.tasks.take_up_lost_closings", "schedule": 293.0},
    "take up lost papers": {"task": "business.tasks.take_up_lost_papers", "schedule": 307.0},
    "take up lost plans": {"task": "scheduling.tasks.take_up_lost_runs", "schedule": 61.0},
}
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR / "beat")
CELERY_TASK_ALWAYS_EAGER = False
if REDIS_URL:
    CELERY_BROKER_URL = REDIS_URL
    # A job whose worker died comes back within seconds instead of minutes.
    CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any] = {
        "visibility_timeout": 900,
        "unacked_restore_interval": 2,
        "unacked_restore_throttle": 1,
    }
else:
    CELERY_BROKER_URL = "filesystem://"
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        # One folder both ways: what the web process puts in, the child worker takes out.
        "data_folder_in": str(VAR / "jobs" / "queue"),
        "data_folder_out": str(VAR / "jobs" / "queue"),
        "control_folder": str(VAR / "jobs" / "control"),
        "processed_folder": str(VAR / "jobs" / "done"),
        "store_processed": False,
        "polling_interval": 0.2,
    }

# A road service of the business, asked for drives in the open table form; without it drives are estimated.
ROAD_MATRIX_URL = environment.web_address("ROAD_MATRIX_URL")

MAIL_FOLDER = VAR / "mail"
EMAIL_BACKEND = environment.text("EMAIL_BACKEND", "django.core.mail.backends.filebased.EmailBackend")
EMAIL_FILE_PATH = str(MAIL_FOLDER)
EMAIL_HOST = environment.text("EMAIL_HOST", "localhost")
EMAIL_PORT = environment.whole_number("EMAIL_PORT", 25)
EMAIL_HOST_USER = environment.text("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = environment.secret("EMAIL_HOST_PASSWORD", "")
EMAIL_USE_TLS = environment.flag("EMAIL_USE_TLS", default=False)
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = environment.text("MAIL_FROM", "office@localhost")

# "__Host-": browsers take such a cookie only over https, from this host alone (RFC 6265bis).
COOKIE_PREFIX = "__Host-" if IS_SECURE else ""
SESSION_COOKIE_NAME = f"{COOKIE_PREFIX}sessionid"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = IS_SECURE
# The longest any session lasts; those of the office end sooner (business.services.sessions).
SESSION_COOKIE_AGE = 30 * 24 * 3600
CSRF_COOKIE_NAME = f"{COOKIE_PREFIX}csrftoken"
CSRF_COOKIE_SECURE = IS_SECURE
CSRF_COOKIE_SAMESITE = "Lax"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_SSL_REDIRECT = IS_SECURE and environment.flag("SSL_REDIRECT", default=True)
SECURE_HSTS_SECONDS = 31_536_000 if IS_SECURE else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = IS_SECURE
SECURE_HSTS_PRELOAD = IS_SECURE
# A probe speaks http to this machine; a redirect would tell it nothing.
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$", r"^metrics$"]
BEHIND_PROXY = environment.flag("BEHIND_PROXY", default=False)
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
X_FRAME_OPTIONS = "DENY"
# Whoever brings this word may read /metrics; without it nothing is counted and there is no such page.
METRICS_TOKEN = environment.secret("METRICS_TOKEN", "")
DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "worker-src": ["'self'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:", "blob:"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"request": {"()": "deploy.logs.KnowsTheRequest"}},
    "formatters": {"line": {"()": "deploy.logs.Line"}, "json": {"()": "deploy.logs.Json"}},
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "filters": ["request"],
            "formatter": environment.text("LOG_FORMAT", "line"),
        }
    },
    "root": {"handlers": ["stderr"], "level": environment.text("LOG_LEVEL", "WARNING")},
}
