"""A second opinion on every train: written from the list of constraints, without the engine's own judgement."""
