"""Looking after the store: take an ingest back, copy, check, forget a name."""
