"""From the store to an immutable snapshot of narrow tables."""
