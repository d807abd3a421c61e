# One image for web, worker, beat and migrations; docker-compose.yml says which command each runs.
FROM python:3.11-slim-bookworm AS packages
ENV PIP_DISABLE_PIP_VERSION_CHECK=1 PIP_NO_CACHE_DIR=1
RUN python -m venv /venv
COPY requirements.lock .
RUN /venv/bin/pip install --require-hashes --compile -r requirements.lock

FROM python:3.11-slim-bookworm
# What the papers need; the subset library makes them half the time and the same bytes each time.
RUN apt-get update \
    && apt-get install -y --no-install-recommends \
        libglib2.0-0 libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 libfontconfig1 fontconfig fonts-dejavu-core \
    && rm -rf /var/lib/apt/lists/*
RUN useradd --system --uid 10001 --create-home --shell /usr/sbin/nologin tarnhouse \
    && install -d -o tarnhouse -g tarnhouse /var/lib/tarnhouse
COPY --from=packages /venv /venv
WORKDIR /srv/tarnhouse
COPY manage.py pyproject.toml ./
COPY service service
COPY customers customers
COPY sizing sizing
COPY templates templates
ENV PATH=/venv/bin:$PATH \
    PYTHONUNBUFFERED=1 \
    TARNHOUSE_VAR=/var/lib/tarnhouse \
    STATIC_STORAGE=whitenoise.storage.CompressedManifestStaticFilesStorage \
    WHITENOISE_USE_FINDERS=false
RUN python -m compileall -q service customers sizing
USER tarnhouse
# A page that names a missing static file fails here, not in front of a customer.
RUN SECRET_KEY=only-for-this-step python manage.py collectstatic --no-input
VOLUME /var/lib/tarnhouse
EXPOSE 8000
CMD ["gunicorn", "service.wsgi:application", "--bind", "0.0.0.0:8000", "--workers", "3", "--timeout", "120", \
     "--no-control-socket", "--worker-tmp-dir", "/dev/shm", "--access-logfile", "-"]
