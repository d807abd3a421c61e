"""Settings, typed from the environment. With nothing set: SQLite, folder broker, file outbox, under ``var/``."""

from __future__ import annotations

import secrets
from pathlib import Path

import environ

from service.broker import broker_settings

BASE_DIR = Path(__file__).resolve().parent.parent
env = environ.Env()

VAR = Path(env.str("TARNHOUSE_VAR", default=str(BASE_DIR / "var"))).resolve()
VAR.mkdir(parents=True, exist_ok=True)


def _kept_secret() -> str:
    """The secret key of this installation, made once and kept readable by its owner only."""
    path = VAR / "secret-key"
    if not path.exists():
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(60))
    return path.read_text().strip()


DEBUG = env.bool("DEBUG", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or _kept_secret()
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["127.0.0.1", "localhost", "[::1]", "testserver"])
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
PUBLIC_URL = env.str("PUBLIC_URL", default=f"http://127.0.0.1:{env.str('PORT', default='8000')}").rstrip("/")
HTTPS = env.bool("HTTPS", default=PUBLIC_URL.startswith("https://"))

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "customers",
    "sizing",
    "service",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "service.headers.ContentSecurityMiddleware",
    "service.body_size.BodySizeMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "customers.tenancy.middleware.DealerScopeMiddleware",
    "service.local_time.LocalTimeMiddleware",
    "customers.people.second_factor.SecondFactorMiddleware",
]

ROOT_URLCONF = "service.urls"
WSGI_APPLICATION = "service.wsgi.application"
ASGI_APPLICATION = "service.asgi.application"

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
                "service.office.context.surroundings",
            ],
            "libraries": {
                "bench": "service.office.templatetags.bench",
                "look": "service.office.templatetags.look",
                "papers": "service.office.templatetags.papers",
                "reckoning": "service.office.templatetags.reckoning",
                "steps": "service.office.templatetags.steps",
                "strip": "service.field.templatetags.strip",
            },
        },
    },
]

DATABASES = {"default": env.db_url("DATABASE_URL", default=f"sqlite:///{VAR / 'db.sqlite3'}")}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["OPTIONS"] = {
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA busy_timeout=20000;",
        # A transaction that reads first and writes later is refused at once when another process wrote between
        # (SQLite's snapshot rule); one that says at its start that it will write waits its turn instead.
        "transaction_mode": "IMMEDIATE",
    }
else:
    DATABASES["default"]["CONN_MAX_AGE"] = env.int("CONN_MAX_AGE", default=60)
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TENANCY_ACTOR = "customers.people.actors.actor_for"
TENANCY_EXEMPT = ("/static/",)
CHECK_ROLE = env.bool("CHECK_ROLE", default=False)  # on where the application runs under its own role

REDIS_URL = env.str("REDIS_URL", default="")
globals().update(broker_settings(REDIS_URL, VAR))
CELERY_BEAT_SCHEDULE = {
    "tick": {"task": "service.tasks.tick", "schedule": env.float("TICK_SECONDS", default=60.0)},
    "post": {"task": "service.tasks.send_messages", "schedule": env.float("POST_SECONDS", default=15.0)},
}
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR / "beat-schedule")

CACHES = (
    {"default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": REDIS_URL}}
    if REDIS_URL
    else {
        "default": {
            "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
            "LOCATION": VAR / "cache",
        }
    }
)

# Mail: a folder of files unless a server is named.
EMAIL_URL = env.str("EMAIL_URL", default="")
if EMAIL_URL:
    globals().update(env.email_url("EMAIL_URL"))
else:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = str(VAR / "mail")
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL", default="post@tarnhouse.example")

# Sign-in
AUTH_USER_MODEL = "customers.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.ScryptPasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
ACCOUNT_ADAPTER = "customers.people.adapter.AccountAdapter"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_FORMS = {"request_login_code": "customers.people.code_form.CodeForm"}
ACCOUNT_LOGIN_BY_CODE_TIMEOUT = 600
ACCOUNT_LOGIN_BY_CODE_MAX_ATTEMPTS = 3
ACCOUNT_PREVENT_ENUMERATION = True
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_RATE_LIMITS = {"login_failed": "10/m/ip,5/5m/key", "request_login_code": "20/m/ip,5/m/key"}
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes"]
MFA_TOTP_ISSUER = "Tarnhouse"
MFA_TOTP_TOLERANCE = 1  # one step either way, as RFC 6238 (5.2) advises for delay and clock drift
SECOND_FACTOR = env.str("SECOND_FACTOR", default="required")  # "optional" in the demo only
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "home"
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
SESSION_COOKIE_AGE = 12 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.bool("BEHIND_PROXY", default=False) else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("fr", "Français")]
TIME_ZONE = "UTC"
USE_I18N = USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = VAR / "static"
STATIC_ROOT.mkdir(exist_ok=True)  # the static-file middleware warns about a folder that is not there
STATICFILES_DIRS: list[Path] = []
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": str(VAR / "files"), "file_permissions_mode": 0o600},
    },
    "staticfiles": {
        "BACKEND": env.str("STATIC_STORAGE", default="django.contrib.staticfiles.storage.StaticFilesStorage")
    },
}
WHITENOISE_USE_FINDERS = env.bool("WHITENOISE_USE_FINDERS", default=True)

MOST_BODY_BYTES = env.int("MOST_BODY_BYTES", default=64 * 1024 * 1024)  # four photographs of the largest kind

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_PAGINATION_CLASS": "rest_framework.pagination.LimitOffsetPagination",
    "PAGE_SIZE": 50,
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Tarnhouse",
    "DESCRIPTION": "Numbers are canonical; field names end in their unit (flow_l_min, cut_in_kpa). No result, and no "
    "set of results, proves a water fit to drink.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "ENUM_NAME_OVERRIDES": {
        "PlaceEnum": "customers.water_tests.models.Place",
        "SampleKindEnum": "customers.water_tests.models.SampleKind",
        "JobKindEnum": "service.jobs.models.JobKind",
        "JobStateEnum": "service.jobs.models.JobState",
        "TaskKindEnum": "service.jobs.models.TaskKind",
        "QuoteStateEnum": "sizing.quotes.models.QuoteState",
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", default="WARNING")},
}
