"""The dealer: the tenant, with its units, rules, prices of work and letterhead."""
