"""HTTP API: one router per question."""
