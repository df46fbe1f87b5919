"""People and programs: pages, HTTP API and command over the same queries."""
