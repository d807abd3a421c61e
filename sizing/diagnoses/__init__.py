"""From what was told and measured to causes, hazards, next steps and devices, for one dealer's enquiry."""
