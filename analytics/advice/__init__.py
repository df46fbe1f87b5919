"""Advice for the bench: likely fault, next check, verdict on a reading."""
