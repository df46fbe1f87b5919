"""Rows in columns: each distinct cell is judged once, by the same models."""
