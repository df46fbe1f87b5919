"""Counts and answers: rollup to a snapshot, statistics, advice."""
