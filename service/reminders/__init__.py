"""The outbox of messages."""
