"""One dealer never sees another's anything: scope, managers, write guards, middleware, row security."""
