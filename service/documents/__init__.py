"""Papers: quote, install sheet, worksheet, records, reports."""
