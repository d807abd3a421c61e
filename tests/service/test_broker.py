"""The broker settings, checked against the parts of Celery and kombu that read them."""

from __future__ import annotations

import kombu
import pytest
from celery import Celery
from celery.app.defaults import NAMESPACES, flatten
from kombu.transport.redis import Channel

from service.broker import HARD_LIMIT_SECONDS, SOFT_LIMIT_SECONDS, VISIBILITY_SECONDS, broker_settings


def test_folder_broker_carries_a_message_and_keeps_it_under_var(tmp_path):
    settings = broker_settings("", tmp_path)
    options = settings["CELERY_BROKER_TRANSPORT_OPTIONS"]
    with kombu.Connection(settings["CELERY_BROKER_URL"], transport_options=options) as connection:
        queue = connection.SimpleQueue("wake-up")
        queue.put({"visit": 7})
        waiting = [path for path in (tmp_path / "queue" / "messages").iterdir() if path.suffix == ".msg"]
        assert len(waiting) == 1
        message = queue.get(timeout=5)
        assert message.payload == {"visit": 7}
        message.ack()
        queue.close()
    assert not list((tmp_path / "queue" / "messages").iterdir())
    assert (tmp_path / "queue" / "control").is_dir()


def test_redis_leaves_no_folder_behind(tmp_path):
    broker_settings("redis://127.0.0.1:6379/0", tmp_path)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("redis_url", ["", "redis://127.0.0.1:6379/0"])
def test_celery_knows_every_setting_and_takes_its_value(tmp_path, redis_url):
    settings = broker_settings(redis_url, tmp_path)
    app = Celery("probe", set_as_current=False)
    app.config_from_object(settings, namespace="CELERY")
    known = {"CELERY_" + name.upper() for name, _ in flatten(NAMESPACES)}
    assert set(settings) <= known
    for name, value in settings.items():
        assert app.conf[name.removeprefix("CELERY_").lower()] == value


def test_a_task_ends_before_redis_hands_it_to_another_worker(tmp_path):
    options = broker_settings("rediss://queue.example:6380/1", tmp_path)["CELERY_BROKER_TRANSPORT_OPTIONS"]
    assert options["visibility_timeout"] == VISIBILITY_SECONDS
    assert SOFT_LIMIT_SECONDS < HARD_LIMIT_SECONDS < VISIBILITY_SECONDS


def test_abandoned_calls_are_swept_within_ten_seconds(tmp_path):
    """kombu's own channel holds the two numbers; their product is the time between sweeps."""
    options = broker_settings("redis://127.0.0.1:6379/0", tmp_path)["CELERY_BROKER_TRANSPORT_OPTIONS"]
    assert set(options) <= set(Channel.from_transport_options)
    assert Channel.unacked_restore_interval * Channel.unacked_restore_throttle == 100
    assert options["unacked_restore_interval"] * options["unacked_restore_throttle"] <= 10


@pytest.mark.parametrize("address", ["amqp://queue.example", "queue.example:6379", "redis:/queue.example"])
def test_another_broker_is_refused_by_name(tmp_path, address):
    with pytest.raises(ValueError, match="REDIS_URL") as refusal:
        broker_settings(address, tmp_path)
    assert address in str(refusal.value)
