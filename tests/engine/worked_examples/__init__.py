"""Published and computed examples, row by row, against the engine. The rows stand in ``tests/engine/data``."""
